"""Does enough wood stay under the fret slots, in the middle and at the edges, cut by the router or left to the saw?"""

from __future__ import annotations

import numpy as np
import shapely

from toolpaths.common.arrays import Array
from toolpaths.instrument.boards import crossings
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.handwork.sawing import LEAST_UNDER, slotted, under_saw
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import depth as typed
from toolpaths.verification.wording.walls import thin_under_cut_slot, thin_under_sawn_slot

_SPARE = 1e-3
_ACROSS = 41
"""Places across the board at which a slot's depth is read from the wood."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `thin-under-slot`, one a feature: slots that this program cuts, or whose lines for the saw it cuts."""
    if inputs.job.part != "board" or inputs.context.flipped or inputs.on_bed:
        return []
    here = {o.feature for o in inputs.operations} & inputs.finished
    features = [f for f in inputs.context.setup.features if f.name in here]
    found = [_cut(inputs, f.name) for f in features if CutKind.fret_slot in f.cuts]
    found += [_sawn(inputs, f.name) for f in features if CutKind.line in f.cuts]
    return [f for f in found if f is not None]


def _cut(inputs: CheckInput, feature: str) -> Finding | None:
    """Slots that the router cuts: as deep as the text truly cuts them."""
    context = inputs.context
    thick = min(context.glue, inputs.job.instrument.board.thickness)
    slots = [d for d in inputs.demands if d.feature == feature]
    places = np.concatenate([_along(d) for d in slots])
    under = thick - context.glue + inputs.standing.heights(places)
    worst = int(np.argmin(under))
    least, (x, y) = float(under[worst]), places[worst]
    if least >= LEAST_UNDER - _SPARE:
        return None
    said = thin_under_cut_slot(slots[worst // _ACROSS].name, least, LEAST_UNDER, units=inputs.job.units)
    return at_feature(inputs, "thin-under-slot", said, feature, (float(x), float(y)))


def _along(slot: Demand) -> Array:
    """Places (N, 2) along the middle of a slot, from edge to edge, mm."""
    x0, y0, x1, y1 = slot.asked.bounds
    inside = 1e-3 * (y1 - y0)
    ys = np.linspace(y0 + inside, y1 - inside, _ACROSS)
    rows = shapely.linestrings([[(x0 - 1.0, y), (x1 + 1.0, y)] for y in ys])
    bounds = shapely.bounds(shapely.intersection(rows, slot.asked))
    return np.column_stack([(bounds[:, 0] + bounds[:, 2]) / 2, ys])


def _sawn(inputs: CheckInput, feature: str) -> Finding | None:
    """Slots left to the saw, to `saw.depth` below the finished surface."""
    job = inputs.job
    instrument = job.instrument
    left = sorted(set(range(0 if instrument.zero_fret else 1, instrument.frets + 1)) - slotted(job))
    under, fret = min(((under_saw(job, n), n) for n in left), default=(np.inf, 0))
    if under >= LEAST_UNDER - _SPARE:
        return None
    # The edges lie lower than the crown: there the least is left.
    x, y = max(crossings(instrument, fret_line(instrument, fret)), key=lambda p: abs(p[1]))
    depth = job.saw.depth - (LEAST_UNDER - under)
    said = thin_under_sawn_slot(
        fret, float(under), LEAST_UNDER, saw=typed(depth, job.units) if depth > 0.1 else "", units=job.units
    )
    return at_feature(inputs, "thin-under-slot", said, feature, (x, inputs.context.mirror * y))
