"""Data for the replay: the moves that were read back, the bits, and the uncut wood of a setup.

The page works out heights for itself, exactly, from the moves and the shapes of the bits; no map is sent.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Ints
from toolpaths.gcode.reader.trace import RAPID, Trace
from toolpaths.job.bit import Bit
from toolpaths.reports.preview.packed import packed
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import Outcome, Run, SetupReport

RAPIDLY, CUTTING, PLUNGING = 0, 1, 2
NO_BIT = 255
_QUANTUM = 1e-6
"""Places are sent in whole millionths of a mm: far finer than any text, and edges of bits stay where they are."""
_LARGEST = 2**31 - 1
_CELLS = 250_000
_UPRIGHT = 1e-6


def replay_data(outcome: Outcome, setup: SetupReport) -> dict[str, Any]:
    """One setup's moves in time order, JSON-safe. Lengths mm in the setup's frame, heights above the bed.

    `start`: (N, 3) whole `quantum`s from each move's start back to the end of the one before, the first from 0;
    `run`: (N, 3) from its start to its end. The first `earlier` moves were made before this setup's programs, and have
    nothing beside their `bit`; then come those of the setup: `kind` (0 rapid, 1 cutting, 2 straight down), `seconds`,
    `program`, `feature`, `line` (each less the one before), `bit` (255: one that is not known, which cuts nothing).
    `onBed`: by program, whether it cuts the bare bed. `bits`: their shapes. `box`, `top`: the blank.
    `grid`: cells for a map in motion, `x0`, `y0` the centre of the first.
    """
    runs = [(name, setup.traces[name], run) for name, run in setup.runs.items()]
    on_bed = {p.name for p in outcome.programs if p.on_bed}
    bits = _Bits(setup)
    earlier = list(_earlier(setup, on_bed, bits))
    features: dict[str, int] = {}
    starts = [start for start, _, _ in earlier] + [run.moves.start for _, _, run in runs]
    ends = [end for _, end, _ in earlier] + [run.moves.end for _, _, run in runs]
    start, end = _joined(starts, 3), _joined(ends, 3)
    quantum = max(_QUANTUM, float(np.abs(np.concatenate([start, end])).max(initial=0.0)) * 2.1 / _LARGEST)
    first, last = (np.rint(places / quantum).astype(np.int64) for places in (start, end))
    before = np.concatenate([np.zeros((1, 3), dtype=np.int64), last])[:-1]
    lines = _joined([trace.line[run.moves.parent] for _, trace, run in runs])
    count = [len(run.moves) for _, _, run in runs]
    box = setup.context.stock_box
    return {
        "quantum": quantum,
        "earlier": sum(len(a) for a, _, _ in earlier),
        "start": packed(first - before, "i4"),
        "run": packed(last - first, "i4"),
        "bit": packed(_joined([n for _, _, n in earlier] + [bits.of_moves(run) for _, _, run in runs]), "u1"),
        "kind": packed(_joined([_kinds(trace, run) for _, trace, run in runs]), "u1"),
        "seconds": packed(_joined([run.seconds for _, _, run in runs]), "f4"),
        "program": packed(np.repeat(np.arange(len(runs)), count), "u2"),
        "feature": packed(_joined([_features(trace, run, features) for _, trace, run in runs]), "u2"),
        "line": packed(np.diff(lines, prepend=0), "i4"),
        "programs": [name for name, _, _ in runs],
        "onBed": [name in on_bed for name, _, _ in runs],
        "features": list(features),
        "bits": bits.shapes,
        "box": list(box),
        "top": setup.context.top if setup.standing is None else setup.standing.top,
        "grid": _grid(box),
    }


class _Bits:
    """The bits of a replay, in the order in which they are used first."""

    def __init__(self, setup: SetupReport) -> None:
        self.known = {number: (setup.context.bits[name], name) for number, name in setup.bits.items()}
        self._names: dict[Bit, str] = {}

    def index(self, bit: Bit, name: str = "") -> int:
        """Index of a bit in `shapes`; a new bit is added."""
        self._names.setdefault(bit, name)
        return list(self._names).index(bit)

    def of_moves(self, run: Run) -> Ints:
        """Index (M,) of each move's bit."""
        out = np.full(len(run.moves), NO_BIT, dtype=np.int64)
        for number in np.unique(run.moves.bit).tolist():
            if number in self.known:
                out[run.moves.bit == number] = self.index(*self.known[number])
        return out

    @property
    def shapes(self) -> list[dict[str, Any]]:
        """Name, shape and sizes of each bit, mm and degrees."""
        return [
            {"name": name, "shape": bit.shape, "radius": bit.radius}
            | {
                key: float(value)
                for key, value in bit.model_dump(exclude=set(Bit.model_fields)).items()
                if isinstance(value, int | float)
            }
            for bit, name in self._names.items()
        ]


def _earlier(setup: SetupReport, on_bed: set[str], bits: _Bits) -> Iterator[tuple[Array, Array, Ints]]:
    """Start, end and bit of what was cut on this side of the blank before the setup's own programs."""
    if setup.standing is None:
        return
    own = [run.moves.bit for name, run in setup.runs.items() if name not in on_bed]
    made = setup.standing.count - sum(int(np.isin(b, list(bits.known)).sum()) for b in own)
    for bit, start, end in setup.standing.made_before(made):
        yield start, end, np.full(len(start), bits.index(bit), dtype=np.int64)


def _kinds(trace: Trace, run: Run) -> Ints:
    moves = run.moves
    aside = np.abs(moves.end - moves.start)[:, :2].max(axis=1, initial=0.0)
    down = (aside < _UPRIGHT) & (moves.end[:, 2] < moves.start[:, 2])
    return np.where(trace.kind[moves.parent] == RAPID, RAPIDLY, np.where(down, PLUNGING, CUTTING))


def _features(trace: Trace, run: Run, features: dict[str, int]) -> Ints:
    """Index (M,) of each move's feature among the names, which grow as they come up; "" before the first."""
    index = [features.setdefault(name, len(features)) for name, _ in (*trace.sections, ("", ""))]
    return np.array(index, dtype=np.int64)[trace.section[run.moves.parent]]


def _joined(parts: Sequence[NDArray[Any]], width: int = 0) -> NDArray[Any]:
    return np.concatenate(parts) if parts else np.zeros((0, width) if width else 0)


def _grid(box: tuple[float, float, float, float]) -> dict[str, float]:
    x0, y0, x1, y1 = box
    cells = DepthMap.over(box, 0.0, math.sqrt((x1 - x0) * (y1 - y0) / _CELLS))
    rows, cols = cells.heights.shape
    return {"rows": rows, "cols": cols, "x0": cells.x0, "y0": cells.y0, "pitch": cells.pitch}
