"""The program that skims a machine's waste board level: its area, what it goes round, and what is left standing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.common.units import MM_PER_INCH, in_units, show, size
from toolpaths.features.calibration.scrap import machine_job, scrap_setup
from toolpaths.features.calibration.skim import SkimBoard
from toolpaths.job.bit import Bit
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import setup_context_of
from toolpaths.job.stock import KeepOut, Stock, Thickness
from toolpaths.job.wood import Wood
from toolpaths.operations.bit_choice import must_be_flat

SETUP = "surface"
BIT = "planer"
TAKE = 0.3
"""What is taken in all where nothing else is asked for, mm."""
MOST = 3.0
"""More than this at once is a slip, or a board to be replaced, mm. Common practice, no source."""
MARGIN = 5.0
"""Of the travel, left free at each of its ends where no area is asked for, mm. Common practice, no source."""
OFF_THE_END = 2.0
"""How far the bit's edge runs past the area at the ends of its rows, where the travel allows it, mm."""
_PAST_THE_SIDE = 0.5
"""How far the outer rows reach past the area's sides, mm."""
_THICK = 12.0
"""Thickness of the waste board that is taken, mm: nothing depends on it."""
_TALLEST = 150.0
_FAR = 3000.0

MDF = Wood(
    "MDF",
    janka=1000,
    density=750,
    source="from memory: hardness about 1000, density 700 to 800",
    caution="Dust of MDF is very fine and holds resin: extraction and a respirator.",
    sources={"janka": "from memory", "density": "from memory"},
)

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Standing:
    """A piece of the area that stays as it was: x0, y0, x1, y1 from its corner, mm; `of`: what is kept clear there;
    `outline`: its edge from the same corner."""

    box: Box
    area: float
    of: tuple[str, ...]
    outline: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Surface:
    """The job in memory; length and width of the area in X and Y; `reach`: how far the bit's edge goes past it in X
    and in Y; `take`; `standing`: what is not skimmed. mm."""

    loaded: LoadedJob
    size: tuple[float, float]
    reach: tuple[float, float]
    take: float
    bit: str
    standing: tuple[Standing, ...]


def surface_of(
    machine: Machine,
    bits: Mapping[str, Bit],
    bit: str = BIT,
    wood: Wood = MDF,
    take: float = TAKE,
    area: tuple[float, float] | None = None,
    clear: Sequence[tuple[float, float, float, float, float]] = (),
) -> Surface:
    """The waste board of a machine to be skimmed. `clear`: x0, y0, x1, y1 from the area's corner, height; mm.

    Raises JobError with everything that cannot be.
    """
    problems = [*_bit_problems(machine, bits, bit), *_take_problems(machine, take)]
    if problems:
        raise JobError(problems)
    own = bits[bit]
    if take > own.cutting_length:
        words = f"{show(take, machine.units)} is deeper than the cutting edges of {bit} are long"
        raise JobError([_problem("--take", words, f"take at most {show(own.cutting_length, machine.units)}")])
    length, width = area or _default_area(machine, own)
    problems = _area_problems(machine, bit, own, (length, width), area is not None)
    if problems:
        raise JobError(problems)
    along: Literal["x", "y"] = "x" if length >= width else "y"
    past = _past(machine, own, (length, width), along)
    reach = (past[0] + own.radius, past[1] + own.radius)
    problems = _clear_problems(machine, clear, (length, width), reach)
    if problems:
        raise JobError(problems)
    # A sheet's places count from its left end and from the middle of its width.
    kept = [
        KeepOut.model_construct(
            name=f"box {i}",
            x=(x0, x1),
            y=(y0 - width / 2, y1 - width / 2),
            height=_THICK + high,
        )
        for i, (x0, y0, x1, y1, high) in enumerate(clear, 1)
    ]
    board = Stock.model_construct(length=length, width=width, thickness=Thickness(min=_THICK, max=_THICK))
    feature = SkimBoard(bit=bit, take=take, along=along, past=past).placed("skim", 0)
    setup = scrap_setup(SETUP, next(iter(machine.offsets)), board, [feature], hold=None, keep_out=kept)
    title = f"Waste board of {machine.name}, skimmed level"
    loaded = machine_job("surface.yaml", title, machine, wood, {bit: own}, setup)
    standing = _standing(loaded, feature)
    if sum(s.area for s in standing) > length * width - 1.0:
        hint = "take the obstacles away, or name a narrower bit"
        raise JobError([_problem("--clear", "these boxes leave nothing to skim", hint)])
    return Surface(loaded, (length, width), reach, take, bit, standing)


def room_of(machine: Machine) -> tuple[float, float]:
    """How far the machine truly goes in X and Y, mm: its travel, as a measured machine goes it."""
    return machine.travel.x / machine.correction[0], machine.travel.y / machine.correction[1]


# Private


def _default_area(machine: Machine, bit: Bit) -> tuple[float, float]:
    """The largest area whose rows, and the zero at its corner, lie in the travel; whole 5 mm or quarters of an inch."""
    room, step = room_of(machine), MM_PER_INCH / 4 if machine.units == "in" else 5.0
    off = (2 * (bit.radius + OFF_THE_END), 0.0)
    found = [
        math.floor((r - 2 * MARGIN - o) / step + 1e-9) * step
        for r, o in zip(room, off if room[0] >= room[1] else off[::-1], strict=True)
    ]
    return found[0], found[1]


def _past(machine: Machine, bit: Bit, area: tuple[float, float], along: str) -> tuple[float, float]:
    """How far the bit's middle goes past the area in X and Y, mm: off its ends as the travel allows; along its sides it
    stays inside, on the middle line of an area that is narrower than the bit."""
    longer, narrower = (area[0], area[1]) if along == "x" else (area[1], area[0])
    room = room_of(machine)[0 if along == "x" else 1]
    # Tenths of a mm less than there is: no rounding in the text can go too far.
    most = max(math.floor((room - longer) / 2 * 10 - 1) / 10, 0.0)
    ends = min(bit.radius + OFF_THE_END, most)
    sides = -min(bit.radius - _PAST_THE_SIDE, narrower / 2)
    return (ends, sides) if along == "x" else (sides, ends)


def _standing(loaded: LoadedJob, feature: SkimBoard) -> tuple[Standing, ...]:
    (setup,) = loaded.job.setups
    context = setup_context_of(loaded.job, loaded.machine, loaded.wood, setup)
    low = context.stock_box[1]
    out: list[Standing] = []
    for part in feature.standing(context):
        x0, y0, x1, y1 = part.bounds
        names = [
            f"box {i}"
            for i, k in enumerate(setup.keep_out, 1)
            if k.x[0] < x1 and k.x[1] > x0 and k.y[0] < y1 and k.y[1] > y0
        ]
        edge = tuple((x, y - low) for x, y in shapely.get_coordinates(part.simplify(0.1)).tolist())
        out.append(Standing((x0, y0 - low, x1, y1 - low), part.area, tuple(names), edge))
    return tuple(sorted(out, key=lambda s: s.box))


def _problem(option: str, words: str, hint: str) -> Problem:
    return Problem("command line", 0, 0, option, words, hint)


def _bit_problems(machine: Machine, bits: Mapping[str, Bit], bit: str) -> list[Problem]:
    if bit not in bits:
        return [_problem("--bit", f"no bit is called `{bit[:40]}`", f"the rack has {', '.join(bits)}")]
    try:
        must_be_flat(bit, bits[bit], "it cannot skim a board level", machine.units)
    except FeatureError as error:
        said = in_units(error.problem, machine.units)
        return [_problem("--bit", said, "take a wide flat bit, such as a surfacing bit")]
    return []


def _take_problems(machine: Machine, take: float) -> list[Problem]:
    if 0 < take <= MOST:
        return []
    words = f"{show(take, machine.units)} cannot be taken off"
    return [_problem("--take", words, f"take more than 0 and at most {size(MOST, machine.units)} at once")]


def _area_problems(machine: Machine, name: str, bit: Bit, area: tuple[float, float], asked: bool) -> list[Problem]:
    units, out = machine.units, []
    for axis, long, room in zip("XY", area, room_of(machine), strict=True):
        if long > room:
            words = f"{show(long, units)} along {axis} is more than the machine's travel, {show(room, units)}"
            out.append(_problem("--area", words, "give a smaller area; to skim the rest, move the board"))
        elif long < bit.diameter:
            words = f"{show(long, units)} along {axis} is less than the width of {name}, {show(bit.diameter, units)}"
            if asked:
                out.append(_problem("--area", words, "give a larger area, or name a narrower bit"))
            else:
                words = f"{name} is {show(bit.diameter, units)} wide, and does not fit into the travel along {axis}"
                out.append(_problem("--bit", words, "name a narrower bit"))
    return out


def _clear_problems(
    machine: Machine,
    clear: Sequence[tuple[float, float, float, float, float]],
    area: tuple[float, float],
    reach: tuple[float, float],
) -> list[Problem]:
    units, out = machine.units, []
    (length, width), (rx, ry) = area, reach
    for i, (x0, y0, x1, y1, high) in enumerate(clear, 1):
        words = ""
        if x1 <= x0 or y1 <= y0:
            words, hint = "has no size", "give x0,y0,x1,y1,height with x1 greater than x0, and y1 greater than y0"
        elif max(abs(v) for v in (x0, y0, x1, y1)) > _FAR or not 0 <= high <= _TALLEST:
            words = "is too far away, or its height is impossible"
            hint = f"its height above the waste board must be from 0 to {size(_TALLEST, units)}"
        elif x0 >= length + rx or x1 <= -rx or y0 >= width + ry or y1 <= -ry:
            words = "is out of the bit's reach"
            hint = (
                f"leave it out: the bit's edge reaches X {show(-rx, units)} to {show(length + rx, units)} and "
                f"Y {show(-ry, units)} to {show(width + ry, units)}"
            )
        if words:
            out.append(_problem("--clear", f"box {i} {words}", hint))
    return out
