"""A shop that is a little off: its machine, bits, tape, blank, hands and gauges, drawn from a seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

SCALE = 0.002
"""A machine's way may be so much longer or shorter than told, as a part of it."""
THINNER = 0.04
"""A bit may be so much thinner than it is called, mm."""
WEDGE = 0.3
"""A blank may be so much thicker at one place than at another, mm."""
TAPE = 0.2
"""Between bed and blank, and nobody has told the job, mm."""
TOUCH = 0.03
"""A bit may be set so much too high or too low, mm."""
ASIDE = 0.15
"""The second side may lie so much beside the first, along and across, mm."""
CALIPERS = 0.02
RULE = 0.1
REACH = 150.0
"""Longer ways than this are measured by a rule, mm."""


@dataclass(frozen=True)
class Shop:
    """Errors of one shop. Lengths mm; `scale`: of X, Y and Z; `thinner` by bit; `tape`, `aside` by setup.

    `corners`: thickness of the blank at its corners: left near, right near, left far, right far, as the first setup
    sees it.
    """

    seed: int
    scale: tuple[float, float, float]
    thinner: dict[str, float]
    tape: dict[str, float]
    aside: dict[str, tuple[float, float]]
    corners: tuple[float, float, float, float]
    touch: float = TOUCH
    calipers: float = CALIPERS
    rule: float = RULE

    @staticmethod
    def drawn(seed: int, bits: Sequence[str], setups: Sequence[str], thickness: tuple[float, float]) -> Shop:
        """A shop whose blank keeps to the job's `thickness`, least and greatest. The first setup lies as it lies."""
        draw = Random(f"shop {seed}")
        least, most = thickness
        wedge = draw.uniform(0.0, min(WEDGE, most - least))
        base = draw.uniform(least, most - wedge)
        along = draw.uniform(0.0, 1.0)
        rises = draw.choice((0.0, 1.0)), draw.choice((0.0, 1.0))
        corners = [
            base + wedge * (along * abs(x - rises[0]) + (1 - along) * abs(y - rises[1]))
            for y in (0.0, 1.0)
            for x in (0.0, 1.0)
        ]
        return Shop(
            seed=seed,
            scale=(1 + draw.uniform(-SCALE, SCALE), 1 + draw.uniform(-SCALE, SCALE), 1 + draw.uniform(-SCALE, SCALE)),
            thinner={name: draw.uniform(0.0, THINNER) for name in bits},
            tape={name: draw.uniform(0.0, TAPE) for name in setups},
            aside={
                name: (draw.uniform(-ASIDE, ASIDE), draw.uniform(-ASIDE, ASIDE)) if i else (0.0, 0.0)
                for i, name in enumerate(setups)
            },
            corners=(corners[0], corners[1], corners[2], corners[3]),
        )

    def set_off(self, program: int) -> float:
        """How much too high the bit of a program is set, mm: drawn for each anew, whatever was cut before."""
        return Random(f"touch {self.seed} {program}").uniform(-self.touch, self.touch)

    def shown(self, mark: int, truth: float, *, far: bool) -> float:
        """What a gauge shows of a length at a mark, mm."""
        most = self.rule if far else self.calipers
        return truth + Random(f"gauge {self.seed} {mark}").uniform(-most, most)
