"""Compare runs of one job with other bits to the run as written, feature by feature."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.operations.cutting_forces import cutting_forces, deflection
from toolpaths.reports.text.words import bit_words
from toolpaths.simulation.region_cells import covered
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome, SetupReport

AS_WRITTEN = "as written"
_LEAST_CORNER = 0.05
"""Smaller corners are left out, mm2."""


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One feature cut with one bit in one run, as it stands in `compare.json`. `bit_is`: the bit as one asks for it.

    `leans_mm`: how far the bit bends aside at most, for screening. `corner_mm2`: what is left in the
    corners of the feature, `highest_mm` how high it stands there; None but for the feature's last bit.
    """

    setup: str
    name: str
    bit: str
    bit_is: str
    diameter_mm: float
    width_mm: float | None
    passes: int
    pass_depth_mm: float
    feed_mm_min: float
    rpm: float
    chip_load_mm: float
    leans_mm: float
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

    def amounts(self, units: Units) -> str:
        """The volumes in words."""
        deeper, higher = (
            f"{v / MM_PER_INCH**3:.4f} in³" if units == "in" else f"{v:.1f} mm³"
            for v in (self.deeper_mm3, self.higher_mm3)
        )
        if deeper == higher and not float(deeper.split()[0]):
            return "it removes as much"
        return f"it removes {deeper} more and leaves {higher} more"


@dataclass(frozen=True, slots=True)
class ComparedRun:
    """One run of the job. `label` names what is changed; `refused`: why it cannot be cut, then the rest is empty.

    `findings` worst first; `same`: nothing of the job is changed by it.
    """

    label: str
    rows: tuple[ComparedRow, ...] = ()
    minutes: float = 0.0
    findings: tuple[Finding, ...] = ()
    stopped: bool = False
    refused: tuple[str, ...] = ()
    same: bool = False
    picture: Picture | None = None

    @property
    def by_place(self) -> dict[tuple[str, str, int], ComparedRow]:
        """Rows by setup, feature and which of the feature's bits."""
        out: dict[tuple[str, str, int], ComparedRow] = {}
        for row in self.rows:
            place = sum(key[:2] == (row.setup, row.name) for key in out)
            out[(row.setup, row.name, place)] = row
        return out

    @property
    def counts(self) -> dict[tuple[str, str], int]:
        """How many findings of each (code, severity), worst first."""
        return dict(Counter((f.code, str(f.severity)) for f in self.findings))

    def news(self, base: ComparedRun) -> tuple[Finding, ...]:
        """The first finding of each severity, code and feature that another run has none of."""
        old = {_kind(f) for f in base.findings}
        first = {_kind(f): f for f in reversed(self.findings)}
        return tuple(f for kind, f in reversed(first.items()) if kind not in old)

    @property
    def corner_mm2(self) -> float:
        """Area left in all corners, mm2."""
        return sum(r.corner_mm2 or 0.0 for r in self.rows)

    @property
    def highest_mm(self) -> float:
        """Largest height left in a corner, mm."""
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
    """The results of one run, as far as they are compared."""
    return ComparedRun(
        label=label,
        rows=tuple(row for setup in outcome.setups for row in _rows(setup, outcome.job.units)),
        minutes=sum(p.minutes for p in outcome.programs),
        findings=outcome.findings,
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


def _kind(finding: Finding) -> tuple[str, str, str]:
    return finding.severity, finding.code, finding.feature


def _rows(setup: SetupReport, units: Units) -> Iterator[ComparedRow]:
    """Each feature of a setup; wood left in corners is given for its last bit."""
    last = {f.name: f.bit for f in setup.features}
    for feature in setup.features:
        bit, cutting = setup.context.bits[feature.bit], feature.cutting
        area = highest = None
        if feature.bit == last[feature.name]:
            area, highest = corners_left(setup, [d for d in setup.demands if d.feature == feature.name])
        deep = min(cutting.pass_depth, feature.deepest_mm) if feature.deepest_mm > 0 else cutting.pass_depth
        yield ComparedRow(
            setup=setup.context.setup.name,
            name=feature.name,
            bit=feature.bit,
            bit_is=bit_words(bit, units),
            diameter_mm=bit.cut_diameter,
            width_mm=feature.width_mm,
            passes=feature.passes,
            pass_depth_mm=cutting.pass_depth,
            feed_mm_min=cutting.feed,
            rpm=cutting.rpm,
            chip_load_mm=feature.chip_load_mm,
            # At the highest force that a chip so thick may ask for.
            leans_mm=deflection(bit, cutting_forces(feature.chip_load_mm, deep)[1], deep),
            minutes=feature.minutes,
            corner_mm2=area,
            highest_mm=highest,
        )


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
