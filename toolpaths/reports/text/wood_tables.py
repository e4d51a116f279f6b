"""Tables of woods: all of them side by side, and one with the source of each figure."""

from __future__ import annotations

from collections.abc import Mapping

from toolpaths.job.wood import Wood
from toolpaths.operations.chip_load import softness
from toolpaths.reports.text.tables import Table

_NEWTONS = 4.4482216152605
"""A pound-force in newtons; exact by definition."""
_MOVES = "{:.5f} of its width\na percent of moisture"


def woods_table(woods: Mapping[str, Wood]) -> Table:
    """Name, density, hardness, class for chip loads, shrinkage, and cautions about dust and trade."""
    rows = tuple(
        (name, f"{w.density:.0f}", f"{w.janka:.0f}", counted(w), _shrinkage(w), caution_words(w))
        for name, w in woods.items()
    )
    headers = ("wood", "kg/m3", "Janka\nlbf", "counts\nas", "shrinkage\n%", "caution")
    return Table("Woods", headers, rows, {1, 2})


def wood_table(wood: Wood) -> Table:
    """Each figure of one wood with its source."""
    figures = [
        ("density at 12 % moisture", f"{wood.density:.0f} kg/m3", "density"),
        ("Janka side hardness", f"{wood.janka:.0f} lbf ({wood.janka * _NEWTONS:.0f} N)", "janka"),
        ("shrinkage, radial", _known(wood.radial, "{:.1f} %"), "radial"),
        ("shrinkage, tangential", _known(wood.tangential, "{:.1f} %"), "tangential"),
        ("shrinkage, volume", _known(wood.volumetric, "{:.1f} %"), "volumetric"),
        ("moves, quarter sawn", _known(wood.radial_coefficient, _MOVES), "radial_coefficient"),
        ("moves, flat sawn", _known(wood.tangential_coefficient, _MOVES), "tangential_coefficient"),
    ]
    rows = [(what, value, wood.sources.get(key, "no public figure was found")) for what, value, key in figures]
    soft = softness(wood.janka)
    rows.insert(2, ("counts as", counted(wood), f"{1 - soft:.0%} of the way from soft to hard".replace("%", " %")))
    of = f" ({wood.botanical})" if wood.botanical else ""
    return Table(f"{wood.name}{of}", ("figure", "value", "source"), tuple(rows))


def counted(wood: Wood) -> str:
    """Class of a wood for its chip load: `hard`, `soft` or `between`."""
    soft = softness(wood.janka)
    return "hard" if soft == 0.0 else "soft" if soft == 1.0 else "between"


def caution_words(wood: Wood) -> str:
    """What its dust does, and whether its trade is controlled (CITES)."""
    said = ["dust can sensitise" if wood.sensitises else "dust irritates"]
    return "; ".join([*said, "CITES"] if wood.listed else said)


def _shrinkage(wood: Wood) -> str:
    sizes = (wood.radial, wood.tangential, wood.volumetric)
    return "not known" if None in sizes else " ".join(f"{s:.1f}" for s in sizes if s is not None)


def _known(value: float | None, form: str) -> str:
    return "not known" if value is None else form.format(value)
