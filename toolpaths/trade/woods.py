"""Woods that necks and boards are made of, with the figures that feeds and cautions need.

Figures are from the Wood Handbook of the USDA Forest Products Laboratory (FPL-GTR-190, 2010; FPL-GTR-282, 2021),
as `source` says for each; what the handbook does not give, or what is from memory, is named there.
"""

from __future__ import annotations

from toolpaths.core.job import OwnWood
from toolpaths.core.wood import Wood

_HANDBOOK = "Wood Handbook (USDA FPL-GTR-190 and -282)"
_DUST = "Dust of this tropical hardwood irritates and can sensitise skin and airways: extraction and a respirator."
_TRADE = "Its genus is listed in CITES: check the rules before shipping."


def density_at_12(gravity: float) -> float:
    """Density in kg/m3 at 12 % moisture from the specific gravity at 12 %.

    1120 times it: specific gravity is oven-dry mass over the volume at 12 %, and the water adds 12 % of mass.
    Source: the definition; see docs/sources.md.
    """
    return 1120.0 * gravity


def gravity_at_12(basic: float, volumetric_shrinkage: float) -> float:
    """Specific gravity at 12 % moisture from the basic one (green volume) and the shrinkage to oven-dry in percent.

    Linear shrinkage below 30 % moisture: at 12 % it is (30 - 12) / 30 of the whole.
    Source: derived from the Wood Handbook's rule of linear shrinkage (chapter 13).
    """
    return basic / (1.0 - volumetric_shrinkage / 100.0 * (30.0 - 12.0) / 30.0)


WOODS: dict[str, Wood] = {
    wood.name: wood
    for wood in (
        Wood(
            "hard maple",
            janka=1450,
            density=density_at_12(0.63),
            source=f"{_HANDBOOK}: sugar maple, hardness and specific gravity at 12 %, Table 5-3, as quoted elsewhere",
        ),
        Wood(
            "black walnut",
            janka=1010,
            density=density_at_12(0.55),
            source=f"{_HANDBOOK}: hardness and specific gravity at 12 %, Table 5-3, as quoted elsewhere",
        ),
        Wood(
            "black cherry",
            janka=950,
            density=density_at_12(0.50),
            source=f"{_HANDBOOK}: specific gravity at 12 %, Table 5-3, as quoted elsewhere; hardness from memory",
        ),
        Wood(
            "white ash",
            janka=1320,
            density=density_at_12(0.60),
            source=f"{_HANDBOOK}: specific gravity at 12 %, Table 5-3, as quoted elsewhere; hardness from memory",
        ),
        Wood(
            "mahogany",
            janka=800,
            density=density_at_12(gravity_at_12(0.45, 7.8)),
            source=f"{_HANDBOOK}: Swietenia, hardness, Table 5-5, as quoted elsewhere; basic specific gravity 0.45 "
            "from memory (quoted range 0.40 to 0.68), brought to 12 % by its shrinkage of 7.8 %",
            caution=f"{_DUST} {_TRADE}",
        ),
        Wood(
            "sapele",
            janka=1500,
            density=density_at_12(gravity_at_12(0.55, 14.0)),
            source=f"{_HANDBOOK}: hardness and basic specific gravity 0.55, Table 5-5, as quoted elsewhere, "
            "brought to 12 % by its shrinkage of 14.0 %",
            caution=_DUST,
        ),
        Wood(
            "indian rosewood",
            janka=3170,
            density=density_at_12(gravity_at_12(0.70, 8.5)),
            source=f"{_HANDBOOK}: Dalbergia latifolia, hardness and basic specific gravity 0.70, Table 5-5, "
            "brought to 12 % by its shrinkage of 8.5 %",
            caution=f"{_DUST} {_TRADE}",
        ),
        Wood(
            "ebony",
            janka=3000,
            density=density_at_12(0.90),
            source="Diospyros, from memory: hardness about 3000, specific gravity 0.9 to 1.1, the lower end taken; "
            "no public handbook figure found, so treat it as the hardest class",
            caution=f"{_DUST} {_TRADE}",
        ),
    )
}
"""Every wood that a job may name, by name."""


def wood_of(wood: str | OwnWood) -> Wood:
    """The wood of that name, or the one that the job describes. Raises KeyError for an unknown name."""
    if isinstance(wood, OwnWood):
        return Wood(wood.name, janka=wood.janka, density=wood.density, source="the job")
    return WOODS[wood]
