"""Data of a wood species for feeds, cautions and seasonal movement."""

from __future__ import annotations

from dataclasses import dataclass, field

from pydantic import Field

from toolpaths.common.input_model import InputModel, Positive


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


class Shrinkage(InputModel):
    """How much a wood shrinks from green to oven-dry, percent."""

    radial: Positive | None = Field(default=None, lt=30, description="Shrinkage across the growth rings.")
    tangential: Positive | None = Field(default=None, lt=30, description="Shrinkage along the growth rings.")
    volumetric: Positive | None = Field(default=None, lt=60, description="Shrinkage of the volume.")


class OwnWood(InputModel):
    """A wood that the job describes itself: Janka hardness in lbf, density in kg/m3 at 12 % moisture."""

    name: str = Field(min_length=1, max_length=60, description="Name of the wood.")
    janka: Positive = Field(description="Janka hardness on the side, lbf.")
    density: Positive = Field(description="Density at 12 % moisture, kg/m3.")
    shrinkage: Shrinkage | None = Field(default=None, description="Shrinkage from green to oven-dry, percent.")
    sensitises: bool = Field(default=False, description="Whether its dust can sensitise skin and airways.")
