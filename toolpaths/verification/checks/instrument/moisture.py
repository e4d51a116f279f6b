"""How far will the wood move with the seasons, across its grain?

Asked only where the job says in which air it is cut and in which the instrument will live. Wood takes on the moisture
of the air in time and changes its width by it; along the grain it stays. Frets do not move, but their ends stand out
of a board that has shrunk, and a slot narrows with the wood around it.
Formulas: Wood Handbook, Eq. 4-5 and 13-2; the limits are common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from toolpaths.common.units import show
from toolpaths.instrument.boards import board_end, half_width
from toolpaths.instrument.wood_movement import change_of_width, moisture_at
from toolpaths.job.job import Moisture
from toolpaths.operations.operation import Channel
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_places import at_feature

MOST = 0.3
"""How far the board's width may change before it is a warning, mm."""
CLEARANCE = 0.1
"""How far a slot along the grain may narrow before it is a warning, mm: the least clearance that is left for glue."""
_CODE = "moisture"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `moisture`: one for the board's width with a set's first program, one for each slot along the grain."""
    air = inputs.job.moisture
    if air is None:
        return []
    wood = inputs.context.wood
    coefficient = wood.tangential_coefficient if air.sawn == "flat" else wood.radial_coefficient
    first = inputs.program.number == 1
    if coefficient is None:
        return [_unknown(inputs, air)] if first else []
    out = [_width(inputs, air, coefficient)] if first else []
    done = {o.feature for o in inputs.operations} & inputs.finished
    slots: dict[str, Channel] = {}
    for operation in inputs.operations:
        if isinstance(operation, Channel) and operation.feature in done and across_grain(operation) > 0:
            slots.setdefault(operation.feature, operation)
    return out + [_slot(inputs, air, coefficient, slot) for slot in slots.values()]


def across_grain(channel: Channel) -> float:
    """How much of a channel's width lies across the grain, which runs along x: 0 for one that runs across itself."""
    run = np.diff(channel.ends[0], axis=0)[0]
    part = abs(float(run[0])) / math.hypot(float(run[0]), float(run[1]))
    return part if part > 0.1 else 0.0


def _changes(air: Moisture, coefficient: float, width: float) -> tuple[float, float]:
    """How far a width changes from the shop's air to the driest and the dampest of the home, mm."""
    shop = moisture_at(air.shop, air.temperature)
    home = (moisture_at(humidity, air.temperature) for humidity in air.home)
    dry, damp = (change_of_width(width, coefficient, shop, moisture) for moisture in home)
    return dry, damp


def _width(inputs: CheckInput, air: Moisture, coefficient: float) -> Finding:
    instrument, units = inputs.job.instrument, inputs.job.units
    width = 2 * max(float(half_width(instrument, x)) for x in (0.0, board_end(instrument)))
    dry, damp = _changes(air, coefficient, width)
    warn = max(abs(dry), abs(damp)) > MOST
    what = "the board" if inputs.job.part == "board" else "the face under the board"
    message = (
        f"{what}, {show(width, units)} at its widest, changes by {_signed(dry, inputs)} at {air.home[0]:g} % "
        f"humidity and by {_signed(damp, inputs)} at {air.home[1]:g} %: {inputs.context.wood.name}, "
        f"{air.sawn} sawn, cut at {_moisture(air, air.shop)} of moisture, at home {_moisture(air, air.home[0])} to "
        f"{_moisture(air, air.home[1])}"
    )
    if warn:
        message += f". More than {show(MOST, units)}: {_remedy(inputs, air, width, dry)}"
    return Finding.of(_CODE, message, program=inputs.program.name, severity=Severity.warn if warn else Severity.note)


def _remedy(inputs: CheckInput, air: Moisture, width: float, dry: float) -> str:
    said = ["let the blank rest in air like the home's before it is cut"]
    quarter = inputs.context.wood.radial_coefficient
    if air.sawn == "flat" and quarter is not None:
        most = max(abs(c) for c in _changes(air, quarter, width))
        said.append(f"take quarter-sawn wood ({show(most, inputs.job.units)} at most)")
    if -dry > MOST:
        said.append("or dress the fret ends again after the first dry season, for they will stand out")
    return ", ".join(said)


def _slot(inputs: CheckInput, air: Moisture, coefficient: float, slot: Channel) -> Finding:
    units = inputs.job.units
    dry, damp = (c * across_grain(slot) for c in _changes(air, coefficient, slot.width))
    narrows = -min(dry, damp)
    warn = narrows > CLEARANCE
    message = (
        f"the slot, {show(slot.width, units)} wide across the grain, changes by {_signed(dry, inputs)} at "
        f"{air.home[0]:g} % humidity and by {_signed(damp, inputs)} at {air.home[1]:g} %"
    )
    clearance = show(CLEARANCE, units)
    if warn:
        message += f": it narrows by more than {clearance}; leave that much more around what goes in"
    elif narrows > 0:
        message += f": leave {clearance} or more around what goes in, and it keeps fitting"
    return at_feature(inputs, _CODE, message, slot.feature, severity=Severity.warn if warn else Severity.note)


def _unknown(inputs: CheckInput, air: Moisture) -> Finding:
    way = "tangential" if air.sawn == "flat" else "radial"
    name = inputs.context.wood.name
    message = (
        f"how far {name} moves is not known here: describe it with its {way} shrinkage in percent, "
        f"wood: {{name: {name}, janka: ..., density: ..., shrinkage: {{{way}: ...}}}}"
    )
    return Finding.of(_CODE, message, program=inputs.program.name, severity=Severity.note)


def _moisture(air: Moisture, humidity: float) -> str:
    return f"{moisture_at(humidity, air.temperature):.1f} %"


def _signed(mm: float, inputs: CheckInput) -> str:
    """A change with its sign: `-0.21 mm`, `+0.012 in`."""
    return f"{'-' if mm < 0 else '+'}{show(abs(mm), inputs.job.units)}"
