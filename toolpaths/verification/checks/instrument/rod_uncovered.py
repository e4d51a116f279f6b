"""Does the board cover the rod's channel and the bars' slots from end to end?

The board reaches from the nut line to its end. The nut stands on the shaft's shelf just behind the nut line and covers
that. A pocket for the adjuster may lie open: under the rod's cover at the nut, or at the heel where a tool reaches it.
"""

from __future__ import annotations

from toolpaths.instrument.fans import far_end, nut_front
from toolpaths.instrument.necks import neck_end
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.neck import NUT_SHELF
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording.walls import before_the_nut, past_the_board

_SPARE = 1e-3


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `rod-uncovered`, one a feature: its end that shows most."""
    if inputs.job.part != "neck" or inputs.job.instrument.neck is None or inputs.on_bed:
        return []
    here = {o.feature for o in inputs.operations}
    worst: dict[str, tuple[float, Finding]] = {}
    for demand in inputs.demands:
        if demand.feature not in here or demand.kind not in (CutKind.rod_channel, CutKind.bar_slot):
            continue
        for shows, x in _ends(inputs, demand):
            if shows > worst.get(demand.feature, (_SPARE,))[0]:
                worst[demand.feature] = (shows, _finding(inputs, demand, shows, x))
    return [found for _, found in worst.values()]


def _ends(inputs: CheckInput, demand: Demand) -> list[tuple[float, float]]:
    """(how far it shows, x of that end) at the nut's end and at the heel's, mm."""
    instrument = inputs.job.instrument
    x0, _, x1, _ = demand.asked.bounds
    pockets = [
        d.asked.bounds for d in inputs.demands if d.kind is CutKind.adjuster_pocket and d.feature == demand.feature
    ]
    if demand.kind is CutKind.rod_channel:
        # It runs on into its pocket, as far as the pocket's rounded end asks.
        x1 = min([x1, *(p[0] for p in pockets if p[2] > x1)])
    at_nut = demand.kind is CutKind.rod_channel and any(p[0] < x0 for p in pockets)
    # A channel that runs out of the heel's end shows there on purpose; one that runs into its pocket does not.
    end = neck_end(instrument)
    open_there = demand.run_out is not None and demand.run_out.bounds[2] > end + _SPARE and x1 <= end + _SPARE
    runs_out = open_there and not any(p[2] > x1 + _SPARE for p in pockets)
    y = inputs.context.mirror * (demand.asked.bounds[1] + demand.asked.bounds[3]) / 2
    front = nut_front(instrument)
    covered = min(front.x, 0.0) + front.lean * y - NUT_SHELF
    return [
        (0.0 if at_nut else covered - x0, x0),
        (0.0 if runs_out else x1 - far_end(instrument).at(y), x1),
    ]


def _finding(inputs: CheckInput, demand: Demand, shows: float, x: float) -> Finding:
    said = (past_the_board if x > 0 else before_the_nut)(demand.name, shows, units=inputs.job.units)
    return at_feature(inputs, "rod-uncovered", said, demand, (x, 0.0))
