"""How far will the wood move with the seasons, across its grain?

Asked only where the job says in which air it is cut and in which the instrument will live. Wood takes on the moisture
of the air in time and changes its width by it; along the grain it stays. Frets do not move, but their ends stand out
of a board that has shrunk, and a slot narrows with the wood around it.
Formulas: Wood Handbook, Eq. 4-5 and 13-2; the limits are common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from toolpaths.instrument.boards import board_end, half_width
from toolpaths.instrument.wood_movement import change_of_width, moisture_at
from toolpaths.job.job import Moisture
from toolpaths.operations.operation import Channel
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording import instrument as words

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
    instrument = inputs.job.instrument
    width = 2 * max(float(half_width(instrument, x)) for x in (0.0, board_end(instrument)))
    dry, damp = _changes(air, coefficient, width)
    warn = max(abs(dry), abs(damp)) > MOST
    what = "the board" if inputs.job.part == "board" else "the face under the board"
    radial = inputs.context.wood.radial_coefficient
    quarter = None
    if air.sawn == "flat" and radial is not None:
        quarter = max(abs(c) for c in _changes(air, radial, width))
    said = words.width_moves(
        what, width, dry, damp, MOST, air=air.home, quarter=quarter, ends=-dry > MOST, units=inputs.job.units
    )
    return Finding.of(_CODE, said, program=inputs.program.name, severity=Severity.warn if warn else Severity.note)


def _slot(inputs: CheckInput, air: Moisture, coefficient: float, slot: Channel) -> Finding:
    dry, damp = (c * across_grain(slot) for c in _changes(air, coefficient, slot.width))
    severity = Severity.warn if -min(dry, damp) > CLEARANCE else Severity.note
    said = words.slot_moves(slot.width, dry, damp, CLEARANCE, air=air.home, units=inputs.job.units)
    return at_feature(inputs, _CODE, said, slot.feature, severity=severity)


def _unknown(inputs: CheckInput, air: Moisture) -> Finding:
    said = words.shrinkage_unknown(inputs.context.wood.name, "tangential" if air.sawn == "flat" else "radial")
    return Finding.of(_CODE, said, program=inputs.program.name, severity=Severity.note)
