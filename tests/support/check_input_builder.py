"""CheckInput for the checks of shapes, from a few lines of program and a block of wood made for it.

The block is invented: 60 x 30 mm, 10 mm high, from x -10 to 50 and y -15 to 15; the bed is z 0.
Heights of its map are taken from the exact formula of each move, cell by cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, ClassVar, Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

from toolpaths.features.feature import Feature
from toolpaths.features.kinds import FEATURES
from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import Moves, Trace, flattened
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Board, Instrument, Job, Width
from toolpaths.job.machine import Axes, Collet, Machine, Park, Spindle
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.job.stage import Stage
from toolpaths.job.stock import KeepOut, Stock, Zero
from toolpaths.job.wood import Wood
from toolpaths.operations.operation import Clear, Cutting, Operation
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.bounds import Bounded
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.running_comparison import compare

TOP = 10.0
SCALE = 100.0

SIX = Flat(shape="flat", diameter=6.0, flutes=2, cutting_length=12.0, shank=5.9, stickout=30.0)
THIN = Flat(shape="flat", diameter=1.0, flutes=2, cutting_length=3.0, shank=3.0, stickout=12.0)
WIDE = Flat(shape="flat", diameter=20.0, flutes=2, cutting_length=12.0, shank=6.0, stickout=28.0, centre_cutting=False)
BITS: dict[int, tuple[str, Bit]] = {1: ("six", SIX), 2: ("thin", THIN), 3: ("wide", WIDE)}

MACHINE = Machine(
    name="test table",
    units="mm",
    travel=Axes(x=300, y=200, z=60),
    rapid=Axes(x=4000, y=4000, z=2000),
    feed_limit=Axes(x=3000, y=3000, z=1000),
    acceleration=Axes(x=200, y=200, z=150),
    spindle=Spindle(min_rpm=8000, max_rpm=24000, set_by="program", spin_up=4.0),
    offsets={"G54": None, "G55": None},
    decimals=3,
    arcs="xy",
    safe_height=5.0,
    park=Park(x=0.0, y=40.0),
    bed_allowance=0.2,
    collet=Collet(nut_diameter=19, nut_height=12, holder_diameter=40),
    ending="ngc",
)
CUTTING = Cutting(
    rpm=18000, feed=1000, plunge=200, ramp=700, pass_depth=2.0, step_over=0.4, finish_allowance=0.2,
    rough="conventional", finish="climb", ramp_angle=3,
)  # fmt: skip


class Asked(Feature):
    """A feature in name only."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.pocket})
    stage: ClassVar[Stage] = Stage.fill

    def demands(self, context: SetupContext) -> list[Demand]:
        return []

    def operations(self, context: SetupContext) -> list[Operation]:
        return []


def program(body: str, bit: int = 1, feature: str = "pocket") -> str:
    """A whole program around a few lines. Travel is at Z 16."""
    return (
        f"G21\nG17 G90 G94\nG54\nG0 Z16\nT{bit}\nS18000 M3\nG4 P4\n(Feature {feature}: test)\n"
        f"{body.strip()}\nG0 Z16\nM5\nG0 X0 Y40\nM30\n"
    )


def line_of(text: str, words: str) -> int:
    """The line, from 1, that holds just these words."""
    return text.splitlines().index(words) + 1


def kind_of(feature: str) -> CutKind:
    """The kind of cut that a feature of that key asks for first."""
    return min(FEATURES[feature].cuts, key=list(CutKind).index) if feature in FEATURES else CutKind.pocket


def demand(
    asked: BaseGeometry,
    floor: float,
    *,
    feature: str = "pocket",
    name: str = "pocket",
    radius: float = 3.0,
    kind: CutKind | None = None,
    **rest: Any,
) -> Demand:
    """A level floor wanted over a region."""
    return Demand(feature, 7, "face", name, asked, Level(floor), radius, kind=kind or kind_of(feature), **rest)


def operation(feature: str = "pocket", bit: str = "six", cutting: Cutting = CUTTING) -> Operation:
    """Some operation of a feature with a bit; the checks look at whose it is and how it cuts, not at its shape."""
    return Clear(feature, 7, bit, cutting, "test", TOP, 0.0, ())


def read_back(text: str, context: SetupContext, lift: float) -> tuple[Trace, Moves]:
    """The trace of a text, and its moves in the setup's frame with the lift taken off."""
    trace, down = read(text), np.array([0.0, 0.0, lift])
    moves = flattened(trace, context.zero)
    return trace, replace(moves, start=moves.start - down, end=moves.end - down)


def inputs(
    text: str,
    *,
    earlier: str | None = None,
    demands: Sequence[Demand] = (),
    operations: Sequence[Operation] | None = None,
    begun: Sequence[str] = ("pocket",),
    keep_out: Sequence[KeepOut] = (),
    clearance: float = 0.0,
    thickness: tuple[float, float] = (TOP, TOP),
    on: Machine = MACHINE,
    bits: dict[int, tuple[str, Bit]] | None = None,
    units: Literal["mm", "in"] = "mm",
    z: Literal["bed", "stock top"] = "bed",
    lift: float = 0.0,
    pitch: float = 0.25,
) -> CheckInput:
    """What the checks are given of a program's text, after the text of an earlier one. Features begun are finished."""
    bits = BITS if bits is None else bits
    setup = Setup(
        name="face",
        offset="G54",
        zero=Zero(x="nut", y="centreline", z=z),
        nut_at=10.0,
        keep_out=tuple(keep_out),
        clearance=clearance,
        features=(Asked(bit="six").placed("pocket", 7),),
    )
    board = Board(width=Width(nut=20, there=20, at="end"), overhang=4, thickness=6)
    job = Job(
        title="Block",
        units=units,
        machine="test table",
        wood="hard maple",
        instrument=Instrument(scale_length=SCALE, frets=5, strings=4, board=board),
        stock=Stock(length=60, width=30, thickness={"min": f"{thickness[0]} mm", "max": f"{thickness[1]} mm"}),  # type: ignore[arg-type]
        bits=dict(bits.values()),
        setups=(setup,),
    )
    context = setup_context_of(job, on, Wood("hard maple", 1450.0, 705.0, "invented for tests"), setup)
    shapes = {number: bit for number, (_, bit) in bits.items()}
    standing = StandingWood(context.stock_box, context.top)
    if earlier is not None:
        standing = standing.after(flattened(read(earlier), context.zero), shapes)
    before, first = _map(standing, pitch), standing.count
    trace, moves = read_back(text, context, lift)
    standing = standing.after(moves, shapes)
    after = _map(standing, pitch)
    bounded = [Bounded.of(d, context.tolerance) for d in demands if d.feature in begun]
    names = tuple(dict.fromkeys(bits[int(n)][0] for n in moves.bit))
    return CheckInput(
        context=context,
        program=Program("01-face-test.ngc", text, "face", names, 1, 1, 1.0, None, {}),
        trace=trace,
        moves=moves,
        bits=bits,
        expected=names,
        operations=(operation(),) if operations is None else tuple(operations),
        demands=tuple(demands),
        begun=frozenset(begun),
        finished=frozenset(begun),
        standing=standing,
        first=first,
        before=before,
        after=after,
        comparison=compare(after, standing, bounded, bounded),
        job_hash="0123456789ab",
        at_machine=moves,
        as_written=trace,
        lift=lift,
    )


def _map(standing: StandingWood, pitch: float) -> DepthMap:
    blank = DepthMap.over(standing.box, standing.top, pitch)
    x, y = np.meshgrid(blank.xs, blank.ys)
    heights = standing.heights(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(x.shape)
    return blank.with_heights(heights.astype(np.float32))
