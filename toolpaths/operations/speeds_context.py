"""The state of one feature's feeds and speeds while they are chosen, with the reasons so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from toolpaths.common.units import MM_PER_INCH
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood
from toolpaths.operations.chip_load import Band
from toolpaths.operations.operation import Limit

WIDE, THIN, FINE = 12.7, 1.6, 1.0
"""Diameters in mm: wider than the first is a planing bit, up to the second a thin one, below the third a fine one."""
STOUT = 3.0
"""From this diameter on a bit, mm, bears all that the rules for plain bits say; between thin and stout evenly more."""
JOB = "the job"


def stoutness(diameter: float) -> float:
    """0 for a thin bit, 1 for a stout one, even between, so that no rule jumps. Common practice, no source."""
    return min(1.0, max(0.0, (diameter - THIN) / (STOUT - THIN)))


@dataclass(frozen=True, slots=True)
class SpeedsContext:
    """The inputs of one feature's feeds and speeds, and the reasons found so far."""

    feature: FeatureKeys
    bit: Bit
    wood: Wood
    machine: Machine
    band: Band
    slot: bool
    reasons: dict[str, str] = field(default_factory=dict)
    limits: dict[str, Limit] = field(default_factory=dict)

    def because(self, key: str, limit: Limit, words: str) -> None:
        """Note whose limit decided a value, and the reason in words."""
        self.reasons[key], self.limits[key] = words, limit

    def asked(
        self, key: Literal["rpm", "feed", "plunge", "pass_depth", "step_over", "finish_allowance"]
    ) -> float | None:
        """The job's own value of a key, noted as the reason for it; None where the job leaves it open."""
        value: float | None = getattr(self.feature, key)
        if value is not None:
            self.because(key, "job", JOB)
        return value

    def size(self) -> str:
        """The bit's diameter, in the machine's units."""
        if self.machine.units == "in":
            return f"{round(self.bit.diameter / MM_PER_INCH, 4):g} in"
        return f"{round(self.bit.diameter, 4):g} mm"
