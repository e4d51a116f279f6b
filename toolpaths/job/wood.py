"""Data of a wood species for feeds, cautions and seasonal movement."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Wood:
    """`janka` side hardness in lbf; `density` kg/m3 at 12 % moisture; `source` where these two come from.

    `radial`, `tangential`, `volumetric`: shrinkage from green to oven-dry, percent; `radial_coefficient`,
    `tangential_coefficient`: change of size a percent of moisture, as a part of the size; None where not known.
    `sources`: where each value comes from, by the name of its field. `botanical`: the tree.
    `sensitises`: its dust can sensitise; `listed`: its genus is listed in CITES; `caution`: both in sentences.
    """

    name: str
    janka: float
    density: float
    source: str
    caution: str = ""
    botanical: str = ""
    radial: float | None = None
    tangential: float | None = None
    volumetric: float | None = None
    radial_coefficient: float | None = None
    tangential_coefficient: float | None = None
    sensitises: bool = False
    listed: bool = False
    sources: dict[str, str] = field(default_factory=dict, hash=False)
