"""A sentence that tells lengths."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tests.unit.figures.cut_jobs import Cut
from toolpaths.verification.outcome import SetupReport

LENGTH = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (mm|in)\b(?![²³])")


@dataclass
class Told:
    """A sentence's lengths, mm, and where it stands."""

    cut: Cut
    setup: SetupReport | None
    text: str
    mm: list[float]

    def places(self) -> list[float]:
        """x and y of each `5 at 17.00, -42.00`, mm."""
        by = 25.4 if " in):" in self.text else 1.0
        return [float(v) * by for xy in re.findall(r" at (-?[\d.]+), (-?[\d.]+)", self.text) for v in xy]

    def bits(self) -> list[float]:
        return [v for b in self.cut.outcome.job.bits.values() for v in (b.cut_diameter, b.cut_diameter / 2, b.stickout)]


def near(*pairs: tuple[float, float]) -> bool:
    return all(abs(a - b) < 0.0131 for a, b in pairs)
