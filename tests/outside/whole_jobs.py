"""Whole small works of every shape of bit against exact solids: what the product holds the wood to be, point by point.

    python -m tests.outside.whole_jobs      makes the tables of docs/proof.md anew

Programs are read by an independent RS-274/NGC interpreter where NECKPATH_INTERPRETER names its folder.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.outside.cut_work import PITCH, SHAPES, Work, by_hand, read_by, works_of
from tests.outside.exact_wood import Left, left
from tests.outside.swept_volume import volumes

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

PAGE = Path(__file__).parents[2] / "docs" / "proof.md"
POINTS = 100_000
SEED = 2026
JOBS = ("shapes_board", "shapes_neck")
ROWS = (
    ("shapes_board, face", ("flat", "ball", "bull", "vee", "drill")),
    ("shapes_neck, face", ("flat", "vee", "drill")),
    ("shapes_neck, back", ("flat",)),
    *((f"by hand, {shape}", (shape,)) for shape in SHAPES),
)
"""Works, and the shapes of bits that leave wood in them."""
WITH_VOLUME = ("shapes_board, face", *(f"by hand, {shape}" for shape in SHAPES))

ROUNDING = 5e-7
"""A map keeps heights in single precision: half of its last digit below 16 mm, mm."""
CHORD = 0.002
"""How far the chords of an arc may stray from it, mm."""
ANYWHERE = 1e-4
"""A probe's error, mm: a tenth of a micrometre."""
WALL = 20 * CHORD
"""Where a step of CHORD aside changes the height by more than this, mm, an arc's wall stands."""
_STRAYS = (0.0005, 0.001, 0.0015, CHORD, 0.003, 0.01)


@dataclass(frozen=True)
class Cells:
    """N points of a work: the map's error and that of the exact heights anywhere (N each, mm); what left the points.

    `shape` (N,) index into SHAPES, -1 where nothing cut; `curved`: an arc is within CHORD of leaving the point;
    `wall`: an arc's wall is within CHORD. `strays`: how far aside from arcs the heights lie at most, mm.
    """

    error: Array
    shape: NDArray[np.int64]
    curved: Flags
    wall: Flags
    strays: float

    def where(self, keep: Flags) -> Cells:
        """Some of them."""
        return Cells(self.error[keep], self.shape[keep], self.curved[keep], self.wall[keep], self.strays)


@dataclass(frozen=True)
class Compared:
    """A work's map at its cells' centres, and its exact heights anywhere."""

    name: str
    cells: Cells
    anywhere: Cells


def compared(work: Work, points: int, seed: int = SEED) -> Compared:
    """So many random cells, and as many random places."""
    rng = np.random.default_rng(seed)
    rows, cols = (rng.integers(0, count, points) for count in work.map.heights.shape)
    centres = np.stack([work.map.xs[cols], work.map.ys[rows]], axis=1)
    x0, y0, x1, y1 = work.box
    places = np.stack([rng.uniform(x0, x1, points), rng.uniform(y0, y1, points)], axis=1)
    return Compared(
        work.name,
        _set_beside(work, centres, work.map.heights[rows, cols].astype(np.float64)),
        _set_beside(work, places, work.anywhere(places)),
    )


def _set_beside(work: Work, points: Array, heights: Array) -> Cells:
    exact = left(work.forms, work.pieces, points, work.top)
    low, high = _between(work, points, CHORD)
    shapes = np.array([*(SHAPES.index(work.forms[p.bit].kind) for p in work.pieces), -1])
    arcs = np.array([*(p.is_arc for p in work.pieces), False])
    by_arc = arcs[exact.piece] | arcs[low.piece]
    return Cells(
        error=np.abs(heights - exact.heights),
        shape=shapes[np.where(arcs[low.piece], low.piece, exact.piece)],
        curved=by_arc,
        wall=by_arc & (high.heights - low.heights > WALL),
        strays=_strays(work, points[by_arc], heights[by_arc]),
    )


def _between(work: Work, points: Array, aside: float) -> tuple[Left, Left]:
    return (
        left(work.forms, work.pieces, points, work.top, aside),
        left(work.forms, work.pieces, points, work.top, -aside),
    )


def _strays(work: Work, points: Array, heights: Array) -> float:
    """The least of some distances from arcs that explains every height; infinite where none does."""
    for aside in _STRAYS:
        low, high = _between(work, points, aside)
        fits = (heights >= low.heights - ROUNDING) & (heights <= high.heights + ROUNDING)
        if fits.all():
            return aside
        points, heights = points[~fits], heights[~fits]
    return np.inf


def all_works() -> list[Work]:
    """In the order of the table."""
    works = [work for job in JOBS for work in works_of(job)] + [by_hand(shape) for shape in SHAPES]
    by_name = {work.name: work for work in works}
    return [by_name[name] for name, _ in ROWS]


def table(found: Sequence[Compared]) -> str:
    """Errors of each work and shape, and of each shape in all."""
    rows = [_HEAD, "|---" * _HEAD.count(" | ") + "|---|"]
    for one in found:
        rows += [_row(one.name, shape, [one]) for shape in _shapes_in(one)]
    rows += [_row("**all**", shape, found) for shape in SHAPES]
    uncut = sum(int((one.cells.shape < 0).sum()) for one in found)
    worst = max((float(one.cells.error[one.cells.shape < 0].max(initial=0.0)) for one in found), default=0.0)
    return "\n".join(rows) + f"\n\nAt {uncut:,} further centres nothing cuts; the map is off there by {worst:g} mm.\n"


_HEAD = (
    "| work | bit | centres | mean | 99.9 % | worst | anywhere | by arcs | mean | 99.9 % | worst | at walls | strays |"
)


def _shapes_in(one: Compared) -> list[str]:
    return [shape for k, shape in enumerate(SHAPES) if (one.cells.shape == k).any()]


def _row(name: str, shape: str, found: Sequence[Compared]) -> str:
    k = SHAPES.index(shape)
    cells = [f.cells.where(f.cells.shape == k) for f in found]
    anywhere = [f.anywhere.where(f.anywhere.shape == k) for f in found]
    straight = np.concatenate([c.error[~c.curved] for c in cells]) * 1e6
    curved = np.concatenate([c.error[c.curved & ~c.wall] for c in cells]) * 1e3
    elsewhere = np.concatenate([c.error[~c.curved] for c in anywhere]) * 1e6
    walls = sum(int(c.wall.sum()) for c in cells)
    strays = max((c.strays for each in (cells, anywhere) for c in each if c.curved.any()), default=0.0) * 1e3
    cut = sum(len(c.error) for c in cells)
    arcs = [f"{len(curved) + walls:,}", *_three(curved), str(walls), f"{strays:g}"] if len(curved) else [""] * 6
    values = [name, shape, f"{cut:,}", *_three(straight), f"{elsewhere.max(initial=0.0):.2g}", *arcs]
    return "| " + " | ".join(values) + " |"


def _three(errors: Array) -> list[str]:
    return [f"{v:.2g}" for v in (errors.mean(), np.quantile(errors, 0.999), errors.max())]


def volume_table(works: Sequence[Work]) -> str:
    """What the reports say was removed, and what the boolean library's solids take."""
    rows = [
        "| work | the map, mm3 | solids inside, mm3 | solids around, mm3 | outside of both |",
        "|---|---|---|---|---|",
    ]
    for work in works:
        low, high = volumes(work.forms, work.pieces, work.box, work.top)
        print(f"{work.name}: {low:.1f} {work.removed:.1f} {high:.1f} mm3", file=sys.stderr)
        off = outside(work.removed, low, high)
        rows.append(f"| {work.name} | {work.removed:,.1f} | {low:,.1f} | {high:,.1f} | {100 * off:.2f} % |")
    return "\n".join(rows) + "\n"


def outside(value: float, low: float, high: float) -> float:
    """By what part of a volume a value lies outside its bounds."""
    return max(low - value, value - high, 0.0) / low


def main() -> None:
    """Measures, and writes both tables."""
    works = all_works()
    found = []
    for work in works:
        found.append(compared(work, POINTS))
        print(f"{work.name}: {len(work.pieces)} moves", file=sys.stderr)
    text = (
        f"{POINTS:,} cells at random in each work, and as many places anywhere; cells of {PITCH} mm, seed {SEED}; "
        f"programs read by {read_by()}.\n\n"
        + table(found)
        + "\n"
        + volume_table([work for work in works if work.name in WITH_VOLUME])
    )
    page = PAGE.read_text(encoding="utf-8")
    new, count = re.subn(
        r"(?<=<!-- solids -->\n).*?(?=<!-- end of solids -->)", lambda _: text, page, count=1, flags=re.S
    )
    if count != 1:
        sys.exit(f"{PAGE} has no place for the tables")
    PAGE.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    main()
