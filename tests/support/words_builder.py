"""CheckInput for the checks of words and numbers, from a small program text and a job made for it.

The board is invented: scale 300 mm, five frets, 40 mm wide, a blank of 120 x 60 x 8 mm planed to 6.
The program scores three of the fret lines with a bit of 0.6 mm and, where asked, does more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, ClassVar, Literal

import numpy as np

from tests.support.check_input_builder import MACHINE as SMALL_TABLE
from tests.support.check_input_builder import read_back
from toolpaths.features.feature import Feature
from toolpaths.gcode.program import Program
from toolpaths.geometry.loop import box_polygon
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.vee import Vee
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Board, Instrument, Job, Saw, Width
from toolpaths.job.machine import Axes, Collet, Machine, Park
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.job.stage import Stage
from toolpaths.job.stock import Stock, Zero
from toolpaths.job.wood import Wood
from toolpaths.operations.operation import Cutting, Lines, Operation
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.bounds import Comparison, Probes
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding

HASH = "3f2a9c1b7d20"
SCORE_DEPTH = 0.5
FRETS = {1: 16.838, 2: 32.73, 3: 47.731}
"""300 (1 - 2^(-n/12)), rounded to the output's digits. Derived."""

CUTTING = Cutting(
    rpm=18000, feed=240, plunge=80, ramp=180, pass_depth=0.25, step_over=0.4, finish_allowance=0.2,
    rough="conventional", finish="climb", ramp_angle=2,
)  # fmt: skip


class Asked(Feature):
    """A feature in name only: these checks look at its key, its name and its line."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset()
    stage: ClassVar[Stage] = Stage.off_router
    order: ClassVar[Literal["face", "inside", "free"]] = "inside"
    leave: float | None = None

    def demands(self, context: SetupContext) -> list[Demand]:
        return []

    def operations(self, context: SetupContext) -> list[Operation]:
        return []


class AskedPlane(Asked):
    key: ClassVar[str] = "plane"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.face})


class AskedLines(Asked):
    key: ClassVar[str] = "score_lines"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.line})


class AskedPockets(Asked):
    key: ClassVar[str] = "marker_pockets"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.marker})


class AskedRadius(Asked):
    key: ClassVar[str] = "radius"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.top})


SCORER = Flat(shape="flat", diameter=0.6, flutes=2, cutting_length=2.5, shank=3.175, stickout=15)
PLANER = Flat(shape="flat", diameter=25.0, flutes=2, cutting_length=10, shank=6.35, stickout=25, max_rpm=16000)
QUARTER = Flat(shape="flat", diameter=6.35, flutes=2, cutting_length=20, shank=6.35, stickout=25)
VEE = Vee(shape="vee", angle=60.0, tip=0.1, diameter=6.0, flutes=2, cutting_length=6, shank=6.0, stickout=20)
BITS: dict[int, tuple[str, Bit]] = {
    1: ("planer", PLANER),
    2: ("scorer", SCORER),
    3: ("quarter", QUARTER),
    4: ("vee60", VEE),
}

MACHINE = SMALL_TABLE.model_copy(
    update={
        "travel": Axes(x=600, y=400, z=80),
        "line_length": 80,
        "park": Park(x=0.0, y=80.0),
        "bed_allowance": Machine.model_fields["bed_allowance"].default,
        "collet": Collet(nut_diameter=19, nut_height=12, holder_diameter=65),
    }
)
"""The table of `check_input_builder`, larger."""


def machine(**changes: Any) -> Machine:
    """The test table with other properties; those of its spindle are named `spindle_...`."""
    spindle = {k.removeprefix("spindle_"): v for k, v in changes.items() if k.startswith("spindle_")}
    rest = {k: v for k, v in changes.items() if not k.startswith("spindle_")}
    return MACHINE.model_copy(update={"spindle": MACHINE.spindle.model_copy(update=spindle), **rest})


def job(
    *,
    radius: float | None = None,
    kerf: float = 0.58,
    units: Literal["mm", "in"] = "mm",
    z: Literal["bed", "stock top"] = "bed",
    hold: Any = None,
    keep_out: Sequence[Any] = (),
    features: Sequence[Feature] = (),
    stock: Stock | None = None,
    instrument: Instrument | None = None,
) -> Job:
    """The invented board."""
    board = Board(width=Width(nut=40, there=40, at="end"), overhang=8, thickness=6, radius=radius)
    setup = Setup(
        name="face",
        offset="G54",
        zero=Zero(x="nut", y="centreline", z=z),
        nut_at=12.0,
        hold=hold,
        keep_out=tuple(keep_out),
        features=tuple(features)
        or (
            AskedPlane(bit="planer", leave=6.0).placed("plane", 30),
            AskedLines(bit="scorer").placed("score_lines", 31),
            AskedPockets(bit="scorer").placed("marker_pockets", 32),
        ),
    )
    return Job(
        title="Short board",
        units=units,
        machine="test table",
        wood="hard maple",
        instrument=instrument or Instrument(scale_length=300, frets=5, strings=4, board=board),
        stock=stock or Stock(length=120, width=60, thickness=8.0),
        bits=dict(BITS.values()),
        saw=Saw(kerf=kerf),
        setups=(setup,),
    )


def score_lines(cutting: Cutting = CUTTING, floor: float = 6 - SCORE_DEPTH, bit: str = "scorer") -> Lines:
    """The operation that scores the three lines."""
    return Lines(
        feature="score_lines",
        job_line=31,
        bit=bit,
        cutting=cutting,
        title="score",
        lines=np.array([[[x, -21.3], [x, 21.3]] for x in FRETS.values()]),
        names=tuple(f"fret {n}" for n in FRETS),
        top=6.0,
        floor=floor,
    )


def line_demands(width: float = 0.6) -> tuple[Demand, ...]:
    """The three lines wanted."""
    return tuple(
        Demand("score_lines", 31, "face", f"fret {n}", box_polygon(x - width / 2, -20, x + width / 2, 20),
               Level(6 - SCORE_DEPTH), width / 2, kind=CutKind.line, fret=n)
        for n, x in FRETS.items()
    )  # fmt: skip


HEADER = """\
(Title: Short board)
(neckpath 0.1.0, job 3f2a9c1b7d20)
(Program 2 of 4, setup face)
(Bit 2: scorer, flat 0.600 mm, 2 flutes, 15.000 mm out of the collet)
(Touch off: bed, Z 0.000 mm)
G21
G17 G90 G94
G54
G0 Z13
T2
S18000 M3
G4 P4
"""

END = """\
G0 Z13
M5
G0 X0 Y80
M30
"""


def scored(feed: str = "F240", depths: Sequence[float] = (5.75, 5.5)) -> str:
    """The lines, pass after pass, each from the operator's side in the waste."""
    out = ["(Feature score_lines: all lines)"]
    for x in FRETS.values():
        for depth in depths:
            out += [
                f"G0 X{x:g} Y-21.3",
                "G1 Z6.5 F80",
                f"G1 Z{depth:g} F80",
                f"G1 Y21.3 {feed}",
                "G0 Z13",
            ]
    return "\n".join(out) + "\n"


def good() -> str:
    """A program in which every word is right."""
    return HEADER + scored() + END


def changed(text: str, old: str, new: str, count: int = 1) -> str:
    """The text with its first occurrences of `old` replaced; there must be that many."""
    assert text.count(old) >= count, f"{old!r} is not in the text {count} times"
    return text.replace(old, new, count)


def inputs(
    text: str | None = None,
    *,
    of: Job | None = None,
    on: Machine = MACHINE,
    operations: tuple[Operation, ...] | None = None,
    demands: tuple[Demand, ...] | None = None,
    expected: tuple[str, ...] = ("scorer",),
    before: DepthMap | None = None,
    lift: float = 0.0,
    janka: float = 1450.0,
) -> CheckInput:
    """What the checks are given. The blank lies planed to 6 mm before the program, unless a map says otherwise."""
    text = good() if text is None else text
    of = of or job()
    wood = Wood("hard maple", janka, 705, "invented for tests")
    context = setup_context_of(of, on, wood, of.setups[0])
    trace, moves = read_back(text, context, lift)
    known = {number: bit for number, (_, bit) in BITS.items()}
    moves_of_known = replace(moves, bit=np.where(np.isin(moves.bit, list(known)), moves.bit, 2))
    blank = DepthMap.over(context.stock_box, context.face, 0.5)
    empty = np.empty(0)
    probes = Probes(np.empty((0, 2)), empty, empty, np.empty(0, dtype=np.int64))
    return CheckInput(
        context=context,
        program=Program("02-face-scorer.ngc", text, "face", expected, 2, 4, 1.0, None, {}),
        trace=trace,
        moves=moves,
        bits=BITS,
        expected=expected,
        operations=(score_lines(),) if operations is None else operations,
        demands=line_demands() if demands is None else demands,
        begun=frozenset({"plane", "score_lines"}),
        finished=frozenset({"plane", "score_lines"}),
        standing=StandingWood(context.stock_box, context.face).after(moves_of_known, known),
        first=0,
        before=blank if before is None else before,
        after=blank,
        comparison=Comparison(blank.heights, blank.heights, probes, empty),
        job_hash=HASH,
        at_machine=moves,
        as_written=trace,
        lift=lift,
    )


def messages(found: list[Finding]) -> list[str]:
    """What they say."""
    return [f.message for f in found]
