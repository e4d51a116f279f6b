"""Is a face planed all over while a clamp stands on it? Then it cannot be planed whole."""

from __future__ import annotations

import numpy as np

from toolpaths.job.obstacles import ObstacleKind
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording.collisions import clamp_on_face

_ON_TOP = (ObstacleKind.clamp, ObstacleKind.keep_out)


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `covered-clamp`: clamps that reach over the blank and stand higher than the planed face."""
    context, units = inputs.context, inputs.job.units
    x0, y0, x1, y1 = context.stock_box
    here = {o.feature for o in inputs.operations}
    found: list[Finding] = []
    for demand in (d for d in inputs.demands if d.everywhere and d.feature in here):
        for clamp in (o for o in inputs.obstacles if o.kind in _ON_TOP):
            cx0, cx1 = max(x0, clamp.box[0]), min(x1, clamp.box[2])
            cy0, cy1 = max(y0, clamp.box[1]), min(y1, clamp.box[3])
            if cx0 >= cx1 or cy0 >= cy1:
                continue
            x, y = (cx0 + cx1) / 2, (cy0 + cy1) / 2
            face = float(demand.floor.height(np.array([x]), np.array([y]))[0])
            if clamp.top <= face:
                continue
            message = clamp_on_face(clamp.name, cx1 - cx0, cy1 - cy0, clamp.top - face, units)
            found.append(at_feature(inputs, "covered-clamp", message, demand, (x, y)))
    return found
