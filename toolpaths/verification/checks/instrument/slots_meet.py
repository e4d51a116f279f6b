"""Do the rod's channel, the bars' slots and what else is cut into the glue face keep clear of each other?

A rod needs a wall on both sides that glue and bars cannot break into: 1.5 mm, common practice, no source.
Bolts, and bores among themselves, are asked about elsewhere.
"""

from __future__ import annotations

from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from toolpaths.common.units import show
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding

LEAST = 1.5
"""Wood between the rod's channel and a bar's slot, and between two bars' slots, mm."""
_SLOTS = ("truss_rod_channel", "reinforcement_slots")
_OTHERS = ("pin_bores", "tuner_bores", "pocket", "marker_pockets")
"""What must not run into a slot, nor a slot into it. Two pockets may overlap: an inlay in an inlay."""
_SPARE = 1e-3


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `slots-meet`, the worst of each two features, told with the program that cuts the later one."""
    if evidence.job.part != "neck" or evidence.on_bed:
        return []
    kinds = {f.name: f.key for f in evidence.scene.setup.features}
    here = {o.feature for o in evidence.operations}
    cut = [d for d in evidence.demands if d.feature in evidence.begun and d.may and not d.everywhere]
    worst: dict[tuple[str, str], tuple[float, Demand, Demand]] = {}
    for a, b in combinations(cut, 2):
        least = _least(kinds.get(a.feature, ""), kinds.get(b.feature, ""), a, b)
        if least is None or not {a.feature, b.feature} & here:
            continue
        gap = _gap(a, b)
        pair = (a.feature, b.feature)
        if gap < least - _SPARE and (pair not in worst or gap < worst[pair][0]):
            worst[pair] = (gap, a, b)
    return [_finding(evidence, *found) for found in worst.values()]


def _least(kind_a: str, kind_b: str, a: Demand, b: Demand) -> float | None:
    """Least wood between two cuts, mm; None where they may do as they like."""
    if kind_a in _SLOTS and kind_b in _SLOTS:
        # The rod's channel runs into its own adjuster's pocket.
        return None if a.feature == b.feature and kind_a == "truss_rod_channel" else LEAST
    return _SPARE * 2 if (kind_a in _SLOTS and kind_b in _OTHERS) or (kind_b in _SLOTS and kind_a in _OTHERS) else None


def _gap(a: Demand, b: Demand) -> float:
    """Wood between two cuts, their open ends' runs counted, mm; below 0 how far they overlap (never beyond a width)."""
    one, two = _whole(a), _whole(b)
    away = float(one.distance(two))
    if away > 0:
        return away
    x0, y0, x1, y1 = one.intersection(two).bounds
    return -min(x1 - x0, y1 - y0)


def _whole(demand: Demand) -> BaseGeometry:
    return demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)


def _finding(evidence: CheckInput, gap: float, a: Demand, b: Demand) -> Finding:
    units = evidence.job.units
    later = b if b.feature in {o.feature for o in evidence.operations} else a
    one, two = _whole(a), _whole(b)
    common = one.intersection(two)
    place = nearest_points(one, two)[0] if common.is_empty else common.centroid
    x, y = float(place.x), float(place.y)
    both = " and ".join(f"{d.name} (line {d.job_line})" if d.job_line else d.name for d in (a, b))
    between = f"only {show(gap, units)} of wood stand between {both}" if gap > 0 else f"{both} run into each other"
    must = f"; {show(LEAST, units)} must" if gap > 0 else ""
    return Finding.of(
        "slots-meet",
        f"{between} at x {show(x, units)}, y {show(y, units)}{must}: move one of them, or make it narrower or shorter",
        feature=later.feature,
        job_line=later.job_line,
        program=evidence.program.name,
        place=(x, y),
    )
