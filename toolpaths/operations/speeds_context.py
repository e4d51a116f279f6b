"""The state of one feature's feeds and speeds while they are chosen, with the reasons so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from toolpaths.common.units import size
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood
from toolpaths.operations import limit_words as words
from toolpaths.operations.bit_strength import EDGE_RADIUS
from toolpaths.operations.chip_load import Band
from toolpaths.operations.operation import Limit

WIDE, THIN, FINE = 12.7, 1.6, 1.0
"""Diameters in mm: wider than the first is a planing bit, up to the second a thin one, below the third a fine one."""
STOUT = 3.0
"""From this diameter on a bit, mm, bears all that the rules for plain bits say; between thin and stout evenly more."""
ROUNDED = 1.03
"""By how much, as a factor, a feed may be rounded up before it is written."""
IN_BAND, IN_BAND_SLOT, IN_BAND_FINE = 0.4, 0.25, 0.9
"""How far up its band the chip load of a default feed lies: beside wood, in a slot as wide as the bit, and with a bit
under 1 mm, whose chips are thinner than the runout anyway. Common practice, no source."""


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

    @property
    def fine(self) -> bool:
        """Whether the bit is so thin that its strength is asked; for a pointed one no bar's formula holds."""
        return self.bit.weak_diameter <= THIN and self.slender

    @property
    def slender(self) -> bool:
        """Whether it may be too long for its passes: less and less until it is stout."""
        return self.bit.weak_diameter < STOUT and not self.bit.is_pointed and self.bit.shape != "drill"

    @property
    def careful(self) -> bool:
        """Whether the job asks for the careful pace of lines."""
        return self.feature.careful

    @property
    def runout(self) -> float:
        """Runout of bit or spindle, total reading, mm."""
        return self.machine.runout if self.bit.runout is None else self.bit.runout

    @property
    def wanted_chip(self) -> float:
        """The chip load wanted, mm a tooth, before any limit of the machine.

        A fine bit's chip is near the top of its band, for a thinner one rubs; it is no thinner than its edge is round.
        """
        part = IN_BAND_SLOT if self.slot else IN_BAND
        if not self.fine or self.careful:
            return self.band.at(part)
        part = float(np.interp(self.bit.working_diameter, (FINE, THIN), (IN_BAND_FINE, part)))
        return min(max(self.band.at(part), EDGE_RADIUS[self.bit.material]), self.band.high)

    def because(self, key: str, limit: Limit, words: str) -> None:
        """Note whose limit decided a value, and the reason in words."""
        self.reasons[key], self.limits[key] = words, limit

    def asked(
        self, key: Literal["rpm", "feed", "plunge", "pass_depth", "step_over", "finish_allowance"]
    ) -> float | None:
        """The job's own value of a key, noted as the reason for it; None where the job leaves it open."""
        value: float | None = getattr(self.feature, key)
        if value is not None:
            self.because(key, "job", words.JOB)
        return value

    def size(self) -> str:
        """The bit's diameter, in the machine's units."""
        return size(self.bit.diameter, self.machine.units)
