"""The replay of the preview page, run in a browser without a window, and what the same moments are in Python."""

from __future__ import annotations

import html
import json
import re
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.support.closed_forms import unpacked
from tests.support.needs import CHROME
from tests.support.patience import LONGEST
from tests.support.setup_builder import context
from toolpaths.gcode.reader.trace import FEED, Header, Moves, Trace
from toolpaths.job.bit import Bit
from toolpaths.reports.preview.viewer_data import replay_data
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.verification.outcome import Outcome, Run, SetupReport

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

SCRIPTS = ("sweeps", "mill", "nearby", "path", "cutting")
_FOLDER = Path(__file__).parents[2] / "toolpaths" / "reports" / "preview" / "viewer"
_QUIET = ("background-networking", "component-update", "sync", "gpu")
_FLAGS = ("--headless", "--no-sandbox", "--no-first-run", "--dump-dom", *(f"--disable-{what}" for what in _QUIET))
_KINDS = """
const KIND = { f4: Float32Array, u1: Uint8Array, u2: Uint16Array, u4: Uint32Array, i4: Int32Array };
const data = JSON.parse(document.getElementById("data").textContent, (key, value) =>
  value && value.list ? new KIND[value.kind](value.list) : value);
"""


@dataclass(frozen=True)
class Asked:
    """Places (N, 2), the moves (N,) and the fractions (N,) of them after which the height there is asked for."""

    points: Array
    moves: Ints
    fractions: Array

    @staticmethod
    def at_random(count: int, box: Sequence[float], moves: int, seed: int = 3) -> Asked:
        """Somewhere in a box x0, y0, x1, y1, at any moment."""
        rng = np.random.default_rng(seed)
        points = np.column_stack([rng.uniform(box[0], box[2], count), rng.uniform(box[1], box[3], count)])
        return Asked(points, rng.integers(0, moves, count), rng.uniform(0, 1, count))

    @property
    def plain(self) -> list[list[float]]:
        """x, y, move, fraction of each."""
        return np.column_stack([self.points, self.moves, self.fractions]).tolist()


def replay_of(outcome: Outcome, setup: SetupReport, **changed: Any) -> dict[str, Any]:
    """What the page gets, with its arrays as lists."""
    data = {**replay_data(outcome, setup), **changed}
    return {key: _listed(value) for key, value in data.items()}


def in_page(data: Any, script: str, more: Sequence[str] = ()) -> Any:
    """What a script makes of the data (`data`, in a page that holds the replay's scripts, and `more` of the page's):
    the value it returns."""
    scripts = "\n".join((_FOLDER / f"{name}.js").read_text(encoding="utf-8") for name in (*SCRIPTS, *more))
    run = f"const said = (() => {{ {script} }})();"
    page = (
        f'<!doctype html><body><script type="application/json" id="data">{json.dumps(data)}</script>'
        f"<script>'use strict';{scripts}\n{_KINDS}{run}\n"
        "const out = document.createElement('pre'); out.id = 'said'; out.textContent = JSON.stringify(said);"
        "document.body.replaceChildren(out);</script>"
    )
    with TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(page, encoding="utf-8")
        command = [str(CHROME), *_FLAGS, f"--user-data-dir={folder}/profile", file.as_uri()]
        done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST)
    said = re.search(r'<pre id="said">(.*?)</pre>', done.stdout, re.S)
    assert said is not None, done.stderr[-2000:]
    return json.loads(html.unescape(said.group(1)))


def exact(outcome: Outcome, setup: SetupReport, asked: Asked) -> Array:
    """Heights (N,) as the index over all earlier moves has them, with the part of the move under way taken off too."""
    assert setup.standing is not None
    bits = {number: setup.context.bits[name] for number, name in setup.bits.items()}
    bare = {p.name for p in outcome.programs if p.on_bed}
    moves = [run.moves for run in setup.runs.values()]
    cuts = np.concatenate([np.isin(r.moves.bit, list(bits)) & (name not in bare) for name, r in setup.runs.items()])
    start, end, bit = (np.concatenate([getattr(m, part) for m in moves]) for part in ("start", "end", "bit"))
    number = setup.standing.count - int(cuts.sum()) + np.cumsum(cuts) - cuts
    heights = setup.standing.heights(asked.points, before=number[asked.moves])
    under_way = np.nonzero(cuts[asked.moves])[0]
    for kind in np.unique(bit[asked.moves[under_way]]):
        i = under_way[bit[asked.moves[under_way]] == kind]
        m = asked.moves[i]
        to = start[m] + (end[m] - start[m]) * asked.fractions[i, None]
        heights[i] = np.minimum(heights[i], bits[int(kind)].swept_height(start[m], to, asked.points[i]))
    return heights


def setup_of(
    bits: dict[str, Bit],
    moves: Sequence[tuple[Sequence[float], Sequence[float], str]],
    earlier: Sequence[tuple[Sequence[float], Sequence[float], str]] = (),
) -> tuple[Outcome, SetupReport]:
    """A setup in which just those moves are made: start, end (mm, in the setup's frame), name of the bit.

    The blank: x from -15 to 495, y from -35 to 35, 8 thick.
    """
    made = context(bits=bits)
    numbers = {name: i for i, name in enumerate(bits, start=1)}
    shapes = {numbers[name]: bit for name, bit in bits.items()}
    run = _moves(moves, numbers)
    standing = StandingWood(made.stock_box, made.top).after(_moves(earlier, numbers), shapes).after(run, shapes)
    count = len(run)
    nothing = np.zeros(count, dtype=np.int64)
    trace = Trace(
        Header(), nothing + FEED, run.start, run.end, np.full((count, 3), np.nan), nothing + 17, 1 + np.arange(count),
        np.full(count, 600.0), np.full(count, 18000.0), run.bit, nothing, ("G54",), nothing, (("pocket", "pass 1"),),
        (), count, True,
    )  # fmt: skip
    blank = DepthMap.over(made.stock_box, made.top, 1.0)
    report = SetupReport(
        made, blank, blank, 0.0, (), (), {"one.ngc": trace}, standing,
        {"one.ngc": Run(run, np.full(count, 0.5))}, {number: name for name, number in numbers.items()},
    )  # fmt: skip
    outcome: Any = SimpleNamespace(programs=())
    return outcome, report


def _moves(moves: Sequence[tuple[Sequence[float], Sequence[float], str]], numbers: dict[str, int]) -> Moves:
    start, end = (np.array([m[k] for m in moves], dtype=np.float64).reshape(-1, 3) for k in (0, 1))
    return Moves(start, end, np.arange(len(moves)), np.array([numbers[m[2]] for m in moves], dtype=np.int64))


def _listed(value: Any) -> Any:
    if isinstance(value, dict) and "data" in value:
        return {"kind": value["kind"], "list": unpacked(value).tolist()}
    return value
