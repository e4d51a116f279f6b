"""Small whole works cut with every shape of bit: jobs written and proven the whole way, and programs by hand.

Each comes out as moves (from an independent RS-274/NGC interpreter where it is there), shapes of bits read a second
time from the YAML, and what the product holds the wood to be.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from ruamel.yaml import YAML

from tests.outside.exact_wood import Form, Piece
from tests.outside.interpreter import FOLDER, Canonical, Move, canonical
from tests.support.made import made as make
from tests.tamper.described import Setting, document, mm, setting_of
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.drill import Drill
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.tapered_ball import TaperedBall
from toolpaths.job.bits.vee import Vee
from toolpaths.job.changes import Changes
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate
from toolpaths.simulation.standing_wood import StandingWood

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]

FOLDER_OF_JOBS = Path(__file__).parent / "solids"
ROOT = Path(__file__).parents[2]
PITCH = 0.1
SHAPES = ("flat", "ball", "bull", "tapered ball", "vee", "drill")
_PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}


@dataclass(frozen=True)
class Work:
    """One blank cut from one side, in the setup's frame, mm. `anywhere`: exact heights (N,) at points (N, 2)."""

    name: str
    forms: dict[int, Form]
    pieces: list[Piece]
    box: Box
    top: float
    map: DepthMap
    removed: float
    anywhere: Callable[[Array], Array]


def read_by() -> str:
    """Who reads the programs."""
    return "an independent RS-274/NGC interpreter" if FOLDER else "the product's own reader"


def works_of(job: str) -> list[Work]:
    """A job of `solids/` made the whole way, side by side."""
    path = FOLDER_OF_JOBS / f"{job}.yaml"
    outcome = make(path, Changes(pitch=PITCH))
    out = []
    for setup in outcome.setups:
        name = setup.context.setup.name
        forms, pieces, setting = cut_by(path, name, [p.text for p in outcome.programs if p.setup == name])
        x, y = -setting.nut, -setting.centre
        box = (setting.box[0] + x, setting.box[1] + y, setting.box[2] + x, setting.box[3] + y)
        assert setup.standing is not None
        out.append(
            Work(
                name=f"{job}, {name}",
                forms=forms,
                pieces=pieces,
                box=box,
                top=setting.top - setting.bed,
                map=setup.after,
                removed=setup.removed_mm3,
                anywhere=setup.standing.heights,
            )
        )
    return out


def cut_by(path: Path, setup: str, texts: Sequence[str]) -> tuple[dict[int, Form], list[Piece], Setting]:
    """Bits by number and moves of a setup's programs, in the setup's frame; and where its zero lies."""
    setting = setting_of(path, setup, texts[0])
    shift = -np.array([setting.nut, setting.centre, setting.bed])
    numbers = {int(n): name for text in texts for n, name in re.findall(r"\(Bit (\d+): ([^,]+),", text)}
    forms = {number: form_of(path, name) for number, name in numbers.items()}
    return forms, [piece for text in texts for piece in pieces_of(text, shift)], setting


def by_hand(shape: str) -> Work:
    """A program by hand for one bit: level lines, ramps, arcs in three planes, helices; for a drill plunges alone."""
    box, top = (0.0, 0.0, 42.0, 32.0), 10.0
    bit, form = _BITS[shape]
    text = _DRILLED if shape == "drill" else _FLOURISH
    moves = flattened(read(text), (0.0, 0.0, 0.0))
    before = DepthMap.over(box, top, PITCH)
    after = simulate(before, moves, {1: bit})
    return Work(
        name=f"by hand, {shape}",
        forms={1: form},
        pieces=pieces_of(text, np.zeros(3)),
        box=box,
        top=top,
        map=after,
        removed=float((before.heights.astype(np.float64) - np.maximum(after.heights, 0.0)).sum() * PITCH**2),
        anywhere=StandingWood(box, top).after(moves, {1: bit}).heights,
    )


def form_of(job: Path, name: str) -> Form:
    """A bit of a job or of the rack, from the YAML."""
    rack = YAML(typ="safe").load((ROOT / "machines" / "bits.yaml").read_text(encoding="utf-8"))
    own = document(job).get("bits", {}).get(name)
    given, units = (rack["bits"][name], rack["units"]) if own is None else (own, document(job)["units"])
    kind = str(given["shape"])
    return Form(
        kind,
        mm(given["diameter"], units) / 2,
        mm(given.get("tip", 0.0), units),
        float(given.get("angle", 118.0 if kind == "drill" else 0.0)),
        mm(given.get("corner", 0.0), units),
    )


def pieces_of(text: str, shift: Array) -> list[Piece]:
    """A program's moves, with the bit in the collet, in the setup's frame."""
    run = canonical(text) if FOLDER else _by_own_reader(text)
    changer = any(word == "M6" for word, *_ in run.words)
    changes = [(before, int(value)) for word, before, value in run.words if word == ("M6" if changer else "T")]
    out: list[Piece] = []
    here: Array | None = None
    for i, move in enumerate(run.moves):
        end = np.array(move.end) + shift
        bit = max(((before, k, n) for k, (before, n) in enumerate(changes) if before <= i), default=(0, 0, 0))[2]
        if here is not None and bit:
            out.append(_piece(bit, here, end, move, shift))
        here = end
    return out


def _piece(bit: int, start: Array, end: Array, move: Move, shift: Array) -> Piece:
    if move.kind < 2:
        return Piece(bit, start, end)
    a, b, n = _PLANES[move.plane]
    cx, cy = move.centre[0] + shift[a], move.centre[1] + shift[b]
    first = math.atan2(start[b] - cy, start[a] - cx)
    last = math.atan2(end[b] - cy, end[a] - cx)
    turn = (first - last if move.kind == 2 else last - first) % (2 * math.pi)
    turn = turn if turn > 1e-9 else 2 * math.pi
    return Piece(bit, start, end, (a, b, n), (cx, cy), -turn if move.kind == 2 else turn)


def _by_own_reader(text: str) -> Canonical:
    trace = read(text)
    found = Canonical()
    for i in range(len(trace)):
        a, b, _ = _PLANES[int(trace.plane[i])]
        centre = (float(trace.centre[i][a]), float(trace.centre[i][b]))
        end = [float(v) for v in np.nan_to_num(trace.end[i])]
        found.moves.append(Move(int(trace.kind[i]), (end[0], end[1], end[2]), centre, int(trace.plane[i]), 0, 0, "", 0))
    found.words = [(e.word, e.before, e.value) for e in trace.events if e.word in ("T", "M6")]
    return found


_COMMON = {"cutting_length": 20, "shank": 6, "stickout": 30}
_BITS: dict[str, tuple[Bit, Form]] = {
    "flat": (Flat(shape="flat", diameter=5, **_COMMON), Form("flat", 2.5)),
    "ball": (Ball(shape="ball", diameter=6, **_COMMON), Form("ball", 3.0)),
    "bull": (Bull(shape="bull", diameter=6, corner=1.25, **_COMMON), Form("bull", 3.0, corner=1.25)),
    "tapered ball": (
        TaperedBall(shape="tapered ball", diameter=6, tip=1.5, angle=24, **_COMMON),
        Form("tapered ball", 3.0, 1.5, 24.0),
    ),
    "vee": (Vee(shape="vee", diameter=6, angle=70, tip=0.3, **_COMMON), Form("vee", 3.0, 0.3, 70.0)),
    "drill": (Drill(shape="drill", diameter=4, angle=118, **_COMMON), Form("drill", 2.0, 0.0, 118.0)),
}
_HEAD = "G21\nG17 G90 G94\nG54\nG0 Z15\nT1\nS9000 M3\nG4 P5\n"
_TAIL = "G0 Z15\nM5\nM30\n"
# Down, a ramp, level lines on a slant and along the axes, level arcs both ways, a steep way out; then a helix down and
# a full turn; then arcs upright in both planes; then a bow that falls.
_FLOURISH = (
    _HEAD
    + """G0 X6 Y5
G1 Z8.5 F300
G1 X14.2 Y7.1 Z7.2
G1 X21.3 Y5.3
G1 X27
G3 X32 Y10.3 J5
G1 Y14 Z6.6
G2 X36 Y18 I4
G1 X36.4 Y18.2 Z9.3
G0 Z15
G0 X12 Y18
G1 Z8.8 F300
G2 X12 Y18 Z7.4 I4
G2 X12 Y18 I4
G0 Z15
G0 X21 Y16
G1 Z9 F300
G18 G2 X31 Z9 I5 K5
G17
G1 Y21 Z8
G19 G3 Y29 Z8 J4 K3
G17
G1 X24 Y27.5 Z7.7
G3 X20 Y23.5 Z6.9 J-4
G1 X20 Y25 Z7.9
"""
    + _TAIL
)
_DRILLED = (
    _HEAD
    + "".join(
        f"G0 X{x} Y{y}\nG1 Z{z} F200\nG0 Z15\n"
        for x, y, z in (
            (6.013, 6.478, 7.5),
            (6.271, 14.049, 9.2),
            (7.386, 22.133, 4),
            (9.642, 23.017, 5.1),
            (18.024, 7.362, 2.2),
            (20.557, 8.491, 6.7),
            (28.115, 20.086, 9.8),
            (30.139, 19.447, 0.6),
            (29.063, 22.328, 3.3),
            (37.091, 9.275, 8.9),
            (40.534, 30.512, 1.4),
        )
    )
    + _TAIL
)
