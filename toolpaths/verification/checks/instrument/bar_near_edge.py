"""Do the slots for the bars keep inside the taper, where the neck is narrowest?

At least 3 mm between slot and edge: common practice, no source. The bars' corners are what shows first when the
neck's sides are trimmed and its back is rounded.
"""

from __future__ import annotations

import numpy as np
import shapely

from toolpaths.common.units import show
from toolpaths.instrument.necks import half_width_at
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding

LEAST = 3.0
"""Wood beside a bar's slot, mm."""
_SPARE = 1e-6


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `bar-near-edge`, one a slot that this program cuts: its place nearest to the board's edge."""
    if evidence.job.part != "neck" or evidence.job.instrument.neck is None:
        return []
    here = {o.feature for o in evidence.operations}
    found = []
    for demand in evidence.demands:
        if demand.feature in here and demand.name.startswith("bar slot"):
            found += _near(evidence, demand)
    return found


def _near(evidence: CheckInput, demand: Demand) -> list[Finding]:
    """The slot's edge is a polygon and the neck's side is made of straight lines: a vertex is nearest."""
    units = evidence.job.units
    x, y = shapely.get_coordinates(demand.asked).T
    beside = half_width_at(evidence.job.instrument, x) - np.abs(y)
    i = int(np.argmin(beside))
    least = float(beside[i])
    if least >= LEAST - _SPARE:
        return []
    left = f"{show(least, units)} from the trimmed side" if least > 0 else "not inside the trimmed neck"
    message = (
        f"the {demand.name} is {left} at x {show(float(x[i]), units)}; keep {show(LEAST, units)}: "
        "a smaller `offset`, `follow: taper`, or begin farther from the nut"
    )
    return [
        Finding.of(
            "bar-near-edge",
            message,
            feature=demand.feature,
            job_line=demand.job_line,
            program=evidence.program.name,
            place=(float(x[i]), float(y[i])),
        )
    ]
