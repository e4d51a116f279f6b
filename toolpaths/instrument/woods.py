"""Woods for necks and boards, with the figures for feeds, cautions and seasonal movement.

Figures are from the Wood Handbook of the USDA Forest Products Laboratory (FPL-GTR-190, 2010; FPL-GTR-282, 2021).
Beside each stands where it was read: in the handbook's own table, in another text that quotes it, or that it is
derived, or from memory.
"""

from __future__ import annotations

from toolpaths.instrument.wood_movement import coefficient_from_shrinkage
from toolpaths.job.wood import OwnWood, Shrinkage, Wood

_HANDBOOK = "Wood Handbook (USDA FPL-GTR-190 and -282)"
_READ, _QUOTED, _MEMORY = "read", "as quoted elsewhere", "from memory"
_DOMESTIC, _IMPORTED = ("Table 5-3", "Table 4-3"), ("Table 5-5", "Table 4-4")
"""Tables of strength (hardness, specific gravity) and of shrinkage."""

_DUST = "Dust of hard woods irritates skin and airways, and fine dust does lasting harm: extraction and a respirator."
_SENSITISES = (
    "Dust of this tropical hardwood irritates and can sensitise skin and airways: extraction and a respirator, "
    "sleeves down, and wash before you eat."
)
_TRADE = "Its genus is listed in CITES: check the rules before shipping."
_JOB = "the job"
_ROUGH = "derived from the shrinkage, rough"
_OWN = "The job says that this wood's dust can sensitise skin and airways: extraction and a respirator."

_Marked = tuple[float, str]
_Sizes = tuple[float, float, float, str]
_Coefficients = tuple[float, float, str]


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


def _wood(
    name: str,
    botanical: str,
    tables: tuple[str, str],
    janka: _Marked,
    gravity: _Marked,
    shrinkage: _Sizes,
    coefficients: _Coefficients | None = None,
    *,
    basic: bool = False,
    sensitises: bool = False,
    listed: bool = False,
) -> Wood:
    """One row of the table. `gravity` at 12 % moisture, or `basic`; without coefficients they are derived."""
    strength, shrinking = tables
    radial, tangential, volumetric, mark = shrinkage
    hardness = f"{strength}, {janka[1]}"
    weight = f"specific gravity {gravity[0]:.2f} at 12 %, {strength}, {gravity[1]}"
    at_12 = gravity[0]
    if basic:
        weight = f"basic specific gravity {gravity[0]:.2f}, {gravity[1]}, brought to 12 % by its shrinkage"
        at_12 = gravity_at_12(gravity[0], volumetric)
    c_radial, c_tangential, c_source = coefficients or (
        round(coefficient_from_shrinkage(radial), 5),
        round(coefficient_from_shrinkage(tangential), 5),
        f"not listed; {_ROUGH}",
    )
    moves = f"Table 13-5, {c_source}" if coefficients else c_source
    return Wood(
        name,
        janka=janka[0],
        density=density_at_12(at_12),
        source=f"{_HANDBOOK}: hardness, {hardness}; {weight}",
        caution=" ".join([_SENSITISES if sensitises else _DUST, *([_TRADE] if listed else [])]),
        botanical=botanical,
        radial=radial,
        tangential=tangential,
        volumetric=volumetric,
        radial_coefficient=c_radial,
        tangential_coefficient=c_tangential,
        sensitises=sensitises,
        listed=listed,
        sources={
            "janka": hardness,
            "density": weight,
            **dict.fromkeys(("radial", "tangential", "volumetric"), f"{shrinking}, {mark}"),
            **dict.fromkeys(("radial_coefficient", "tangential_coefficient"), moves),
        },
    )


_EBONY = Wood(
    "ebony",
    janka=3000,
    density=density_at_12(0.90),
    source="Diospyros, from memory: hardness about 3000, specific gravity 0.9 to 1.1, the lower end taken; "
    "no public handbook figure found, so treat it as the hardest class",
    caution=f"{_SENSITISES} {_TRADE}",
    botanical="Diospyros",
    sensitises=True,
    listed=True,
    sources={
        "janka": "about 3000, from memory: treat it as the hardest class",
        "density": "specific gravity 0.9 to 1.1, the lower end taken, from memory",
    },
)

WOODS: dict[str, Wood] = {
    wood.name: wood
    for wood in (
        _wood(
            "hard maple",
            "Acer saccharum, sugar maple",
            _DOMESTIC,
            janka=(1450, _QUOTED),
            gravity=(0.63, _QUOTED),
            shrinkage=(4.8, 9.9, 14.7, _QUOTED),
            coefficients=(0.00165, 0.00353, _QUOTED),
        ),
        _wood(
            "black walnut",
            "Juglans nigra",
            _DOMESTIC,
            janka=(1010, _QUOTED),
            gravity=(0.55, _QUOTED),
            shrinkage=(5.5, 7.8, 12.8, _READ),
            coefficients=(0.00190, 0.00274, _QUOTED),
        ),
        _wood(
            "black cherry",
            "Prunus serotina",
            _DOMESTIC,
            janka=(950, _MEMORY),
            gravity=(0.50, _QUOTED),
            shrinkage=(3.7, 7.1, 11.5, _READ),
            coefficients=(0.00126, 0.00248, _QUOTED),
        ),
        _wood(
            "white ash",
            "Fraxinus americana",
            _DOMESTIC,
            janka=(1320, _MEMORY),
            gravity=(0.60, _QUOTED),
            shrinkage=(4.9, 7.8, 13.3, _READ),
            coefficients=(0.00169, 0.00274, _QUOTED),
        ),
        _wood(
            "mahogany",
            "Swietenia",
            _IMPORTED,
            janka=(800, _QUOTED),
            gravity=(0.45, "from memory (quoted range 0.40 to 0.68)"),
            basic=True,
            shrinkage=(3.0, 4.1, 7.8, _QUOTED),
            # Larger than the shrinkages of Table 4-4 would give: the two tables disagree, and the larger is taken.
            coefficients=(0.00172, 0.00238, _QUOTED),
            sensitises=True,
            listed=True,
        ),
        _wood(
            "sapele",
            "Entandrophragma cylindricum",
            _IMPORTED,
            janka=(1500, _QUOTED),
            gravity=(0.55, f"Table 5-5, {_QUOTED}"),
            basic=True,
            shrinkage=(4.6, 7.4, 14.0, _QUOTED),
            sensitises=True,
        ),
        _wood(
            "indian rosewood",
            "Dalbergia latifolia",
            _IMPORTED,
            janka=(3170, _READ),
            gravity=(0.70, f"Table 5-5, {_READ}"),
            basic=True,
            shrinkage=(2.7, 5.8, 8.5, _READ),
            sensitises=True,
            listed=True,
        ),
        _EBONY,
    )
}
"""Every wood that a job may name, by name."""


def wood_of(wood: str | OwnWood) -> Wood:
    """The wood of that name, or the one that the job describes. Raises KeyError for an unknown name."""
    if not isinstance(wood, OwnWood):
        return WOODS[wood]
    size = wood.shrinkage or Shrinkage()
    known = {"janka": _JOB, "density": _JOB}
    known |= {k: _JOB for k in ("radial", "tangential", "volumetric") if getattr(size, k) is not None}
    known |= {f"{k}_coefficient": _ROUGH for k in ("radial", "tangential") if getattr(size, k) is not None}
    return Wood(
        wood.name,
        janka=wood.janka,
        density=wood.density,
        source=_JOB,
        caution=_OWN if wood.sensitises else "",
        radial=size.radial,
        tangential=size.tangential,
        volumetric=size.volumetric,
        radial_coefficient=None if size.radial is None else coefficient_from_shrinkage(size.radial),
        tangential_coefficient=None if size.tangential is None else coefficient_from_shrinkage(size.tangential),
        sensitises=wood.sensitises,
        sources=known,
    )
