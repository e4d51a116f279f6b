"""A wood, as feeds and cautions need it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wood:
    """`janka` side hardness in lbf; `density` kg/m3 at 12 % moisture; `source` where the figures come from."""

    name: str
    janka: float
    density: float
    source: str
    caution: str = ""
