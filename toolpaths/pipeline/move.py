"""Turn operations into toolpaths: each operation goes to the strategy of its type."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import assert_never

from toolpaths.job.bit import Bit
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import (
    Bore,
    Carve,
    Channel,
    Clear,
    Contour,
    Corners,
    Engrave,
    Lines,
    Operation,
    ProgramPlan,
    Raster,
    Rebate,
    Rulings,
    Skim,
    SurfaceRows,
)
from toolpaths.toolpath.cut_within import cut_within
from toolpaths.toolpath.strategies.bore import bore
from toolpaths.toolpath.strategies.carve import carve
from toolpaths.toolpath.strategies.channel import channel
from toolpaths.toolpath.strategies.clear import clear
from toolpaths.toolpath.strategies.contour import contour
from toolpaths.toolpath.strategies.corners import corners
from toolpaths.toolpath.strategies.engrave import engrave
from toolpaths.toolpath.strategies.lines import lines
from toolpaths.toolpath.strategies.raster import raster
from toolpaths.toolpath.strategies.rebate import rebate
from toolpaths.toolpath.strategies.rulings import rulings
from toolpaths.toolpath.strategies.skim import skim
from toolpaths.toolpath.strategies.surface_rows import surface_rows
from toolpaths.toolpath.toolpath import Section, Toolpath, ToolpathBuilder


def move(program_plan: ProgramPlan, context: SetupContext) -> Toolpath:
    """The toolpath of one program, in the setup's frame. Raises FeatureError where the bit cannot do it."""
    pen = ToolpathBuilder(safe=context.travel_height, z=context.travel_height, units=context.machine.units)
    sections: list[Section] = []
    owners: list[int] = []
    for i, operation in enumerate(program_plan.operations):
        bit, start = context.bits[operation.bit], (pen.x, pen.y, pen.z)
        cut: Iterable[Section] = _sections(operation, bit, pen)
        if operation.within is not None:
            cut = cut_within(list(cut), operation, bit, start, pen)
        sections += cut
        owners += [i] * (len(sections) - len(owners))
    return Toolpath(program_plan, tuple(sections), tuple(owners))


def _sections(operation: Operation, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    match operation:
        case Raster():
            return raster(operation, bit, pen)
        case Skim():
            return skim(operation, bit, pen)
        case Rebate():
            return rebate(operation, bit, pen)
        case Lines():
            return lines(operation, bit, pen)
        case Clear():
            return clear(operation, bit, pen)
        case Corners():
            return corners(operation, bit, pen)
        case Contour():
            return contour(operation, bit, pen)
        case Bore():
            return bore(operation, bit, pen)
        case Channel():
            return channel(operation, bit, pen)
        case Rulings():
            return rulings(operation, bit, pen)
        case SurfaceRows():
            return surface_rows(operation, bit, pen)
        case Engrave():
            return engrave(operation, bit, pen)
        case Carve():
            return carve(operation, bit, pen)
        case _:
            assert_never(operation)
