"""Runs of one job with different bits, laid beside the run as written: what each feature comes to, and the set."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.core.bit import Bit
from toolpaths.core.depthmap import DepthMap
from toolpaths.core.outcome import FeatureReport, Outcome, SetupReport
from toolpaths.core.raster import covered
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand
from toolpaths.trade.beams import cutting_forces, deflection

AS_WRITTEN = "as written"
_LEAST_CORNER = 0.05
"""Corners smaller than this are nobody's work, mm2."""


@dataclass(frozen=True, slots=True)
class Row:
    """One feature cut with one bit in one run. Lengths mm, area mm2.

    `bend_mm`: how far the bit leans aside at most, for screening. `corner_mm2`: what is left in the
    corners of the feature, `highest_mm` how high it stands there; with its last bit alone, else 0.
    """

    setup: str
    feature: str
    bit: str
    diameter_mm: float
    width_mm: float | None
    passes: int
    pass_mm: float
    feed_mm_min: float
    rpm: float
    chip_mm: float
    bend_mm: float
    minutes: float
    corner_mm2: float
    highest_mm: float


@dataclass(frozen=True, slots=True)
class Picture:
    """Where a run differs from the job as written. Volumes mm3; `file` is a plain name."""

    file: str
    png: bytes
    deeper_mm3: float
    higher_mm3: float


@dataclass(frozen=True, slots=True)
class Run:
    """One run of the job. `label` names what is changed; `refused`: why it cannot be cut, then nothing else is told.

    `findings`: (code, severity, how many), worst first; `same`: nothing of the job is changed by it.
    """

    label: str
    rows: tuple[Row, ...] = ()
    minutes: float = 0.0
    findings: tuple[tuple[str, str, int], ...] = ()
    stopped: bool = False
    refused: tuple[str, ...] = ()
    same: bool = False
    picture: Picture | None = None

    @property
    def corner_mm2(self) -> float:
        """What is left in all corners."""
        return sum(r.corner_mm2 for r in self.rows)

    @property
    def highest_mm(self) -> float:
        """How high it stands there at most."""
        return max((r.highest_mm for r in self.rows), default=0.0)

    @property
    def usable(self) -> bool:
        """Whether its programs may be written."""
        return not (self.refused or self.stopped)


@dataclass(frozen=True, slots=True)
class Compared:
    """The job as written, and each variant of it in the order asked for."""

    written: Outcome
    base: Run
    variants: tuple[Run, ...]

    @property
    def stopped(self) -> bool:
        """Whether no variant may be written."""
        return not any(v.usable for v in self.variants)


def run_of(outcome: Outcome, label: str, picture: Picture | None = None) -> Run:
    """What one run comes to."""
    counts = Counter((f.code, str(f.severity)) for f in outcome.findings)
    return Run(
        label=label,
        rows=tuple(row for setup in outcome.setups for row in _rows(setup)),
        minutes=sum(p.minutes for p in outcome.programs),
        findings=tuple((code, severity, n) for (code, severity), n in counts.items()),
        stopped=outcome.stopped,
        picture=picture,
    )


def corners_left(scene: Scene, demands: Sequence[Demand], after: DepthMap) -> tuple[float, float]:
    """(area, mm2; height, mm) of what round bits leave in the corners of demands: exact area, height from the map."""
    area = highest = 0.0
    for demand in demands:
        region = demand.corner_region(scene.tolerance)
        if region.area <= _LEAST_CORNER:
            continue
        area += region.area
        for part in shapely.get_parts(region):
            highest = max(highest, _stands(demand, part, after))
    return float(area), highest


def _rows(setup: SetupReport) -> list[Row]:
    last = {f.name: f.bit for f in setup.features}
    return [_row(setup, f, f.bit == last[f.name]) for f in setup.features]


def _row(setup: SetupReport, feature: FeatureReport, last: bool) -> Row:
    scene, cutting = setup.scene, feature.cutting
    bit = scene.bits[feature.bit]
    mine = [d for d in setup.demands if d.feature == feature.name and last]
    area, highest = corners_left(scene, mine, setup.after)
    return Row(
        setup=scene.setup.name,
        feature=feature.name,
        bit=feature.bit,
        diameter_mm=bit.cut_diameter,
        width_mm=feature.width_mm,
        passes=feature.passes,
        pass_mm=cutting.pass_depth,
        feed_mm_min=cutting.feed,
        rpm=cutting.rpm,
        chip_mm=feature.chip_load_mm,
        bend_mm=_bend(feature, bit),
        minutes=feature.minutes,
        corner_mm2=area,
        highest_mm=highest,
    )


def _bend(feature: FeatureReport, bit: Bit) -> float:
    """How far the bit leans in a pass at the highest force that a chip so thick may ask for, mm; screening only."""
    deep = (
        feature.cutting.pass_depth if feature.deepest_mm <= 0 else min(feature.cutting.pass_depth, feature.deepest_mm)
    )
    return deflection(bit, cutting_forces(feature.chip_load_mm, deep)[1], deep)


def _stands(demand: Demand, region: BaseGeometry, after: DepthMap) -> float:
    """How high the map stands above a demand's floor within a region, mm."""
    found = covered(region, after)
    if found is None or not found[2].any():
        return 0.0
    rows, cols, mask = found
    x, y = np.broadcast_arrays(after.xs[None, cols], after.ys[rows, None])
    above = after.heights[rows, cols][mask] - demand.floor.height(x[mask], y[mask])
    return max(0.0, float(above.max()))
