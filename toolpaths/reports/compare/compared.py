"""Compare runs of one job with other bits to the run as written, feature by feature."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import Units
from toolpaths.job.bit import Bit
from toolpaths.operations.cutting_forces import cutting_forces, deflection
from toolpaths.reports.text.words import bit_words
from toolpaths.simulation.region_cells import covered
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.outcome import FeatureReport, Outcome, SetupReport

AS_WRITTEN = "as written"
_LEAST_CORNER = 0.05
"""Corners smaller than this are nobody's work, mm2."""


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One feature cut with one bit in one run. Lengths mm, area mm2. `bit_words`: the bit as one asks for it.

    `bend_mm`: how far the bit leans aside at most, for screening. `corner_mm2`: what is left in the
    corners of the feature, `highest_mm` how high it stands there; None but for the feature's last bit.
    """

    setup: str
    feature: str
    bit: str
    bit_words: str
    diameter_mm: float
    width_mm: float | None
    passes: int
    pass_mm: float
    feed_mm_min: float
    rpm: float
    chip_mm: float
    bend_mm: float
    minutes: float
    corner_mm2: float | None
    highest_mm: float | None


@dataclass(frozen=True, slots=True)
class Picture:
    """Where a run differs from the job as written. Volumes mm3; `file` is a plain name."""

    file: str
    png: bytes
    deeper_mm3: float
    higher_mm3: float


@dataclass(frozen=True, slots=True)
class Said:
    """One finding of a run, as far as it is told here."""

    code: str
    severity: str
    feature: str
    message: str

    @property
    def kind(self) -> tuple[str, str, str]:
        """Severity, code and feature."""
        return self.severity, self.code, self.feature


@dataclass(frozen=True, slots=True)
class ComparedRun:
    """One run of the job. `label` names what is changed; `refused`: why it cannot be cut, then nothing else is told.

    `findings` worst first; `same`: nothing of the job is changed by it.
    """

    label: str
    rows: tuple[ComparedRow, ...] = ()
    minutes: float = 0.0
    findings: tuple[Said, ...] = ()
    stopped: bool = False
    refused: tuple[str, ...] = ()
    same: bool = False
    picture: Picture | None = None

    @property
    def by_place(self) -> dict[tuple[str, str, int], ComparedRow]:
        """Rows by setup, feature and which of the feature's bits."""
        out: dict[tuple[str, str, int], ComparedRow] = {}
        for row in self.rows:
            place = sum(key[:2] == (row.setup, row.feature) for key in out)
            out[(row.setup, row.feature, place)] = row
        return out

    @property
    def counts(self) -> dict[tuple[str, str], int]:
        """How many findings of each (code, severity), worst first."""
        return dict(Counter((f.code, f.severity) for f in self.findings))

    def news(self, base: ComparedRun) -> tuple[Said, ...]:
        """The first finding of each severity, code and feature that another run has none of."""
        old = {f.kind for f in base.findings}
        first = {f.kind: f for f in reversed(self.findings)}
        return tuple(f for f in self.findings if first[f.kind] is f and f.kind not in old)

    @property
    def corner_mm2(self) -> float:
        """What is left in all corners."""
        return sum(r.corner_mm2 or 0.0 for r in self.rows)

    @property
    def highest_mm(self) -> float:
        """How high it stands there at most."""
        return max((r.highest_mm or 0.0 for r in self.rows), default=0.0)

    @property
    def usable(self) -> bool:
        """Whether its programs may be written."""
        return not (self.refused or self.stopped)


@dataclass(frozen=True, slots=True)
class Compared:
    """The job as written, and each variant of it in the order asked for."""

    written: Outcome
    base: ComparedRun
    variants: tuple[ComparedRun, ...]

    @property
    def stopped(self) -> bool:
        """Whether no variant may be written."""
        return not any(v.usable for v in self.variants)


def run_of(outcome: Outcome, label: str, picture: Picture | None = None) -> ComparedRun:
    """What one run comes to."""
    return ComparedRun(
        label=label,
        rows=tuple(row for setup in outcome.setups for row in _rows(setup, outcome.job.units)),
        minutes=sum(p.minutes for p in outcome.programs),
        findings=tuple(Said(f.code, str(f.severity), f.feature, f.message) for f in outcome.findings),
        stopped=outcome.stopped,
        picture=picture,
    )


def corners_left(setup: SetupReport, demands: Sequence[Demand]) -> tuple[float, float]:
    """(area, mm2; height, mm) of what round bits leave in the corners of demands: the area exact, the height above the
    floor from the map and, where a corner is smaller than its cells, from the wood itself."""
    area = highest = 0.0
    for demand in demands:
        region = demand.corner_region(setup.context.tolerance)
        if region.area <= _LEAST_CORNER:
            continue
        area += region.area
        for part in shapely.get_parts(region):
            highest = max(highest, _stands(setup, demand, part))
    return float(area), highest


def _rows(setup: SetupReport, units: Units) -> list[ComparedRow]:
    last = {f.name: f.bit for f in setup.features}
    return [_row(setup, f, f.bit == last[f.name], units) for f in setup.features]


def _row(setup: SetupReport, feature: FeatureReport, last: bool, units: Units) -> ComparedRow:
    context, cutting = setup.context, feature.cutting
    bit = context.bits[feature.bit]
    mine = [d for d in setup.demands if d.feature == feature.name]
    area, highest = corners_left(setup, mine) if last else (None, None)
    return ComparedRow(
        setup=context.setup.name,
        feature=feature.name,
        bit=feature.bit,
        bit_words=bit_words(bit, units),
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


def _stands(setup: SetupReport, demand: Demand, part: BaseGeometry) -> float:
    """How high the wood stands above a demand's floor within one corner, mm."""
    after = setup.after
    place = shapely.get_coordinates(part.representative_point())
    x, y = place[:, 0], place[:, 1]
    above = np.zeros(1)
    if setup.standing is not None:
        above = setup.standing.heights(place) - demand.floor.height(x, y)
    found = covered(part, after)
    if found is not None and found[2].any():
        rows, cols, mask = found
        x, y = np.broadcast_arrays(after.xs[None, cols], after.ys[rows, None])
        above = np.append(above, after.heights[rows, cols][mask] - demand.floor.height(x[mask], y[mask]))
    return max(0.0, float(above.max()))
