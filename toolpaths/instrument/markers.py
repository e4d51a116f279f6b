"""Where position markers stand on the face of a board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size, marked
from toolpaths.instrument.boards import crossings, half_width
from toolpaths.instrument.fans import fret_line
from toolpaths.job.job import Instrument

USUAL = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24)
"""Frets that usually bear a marker. Common practice, no source."""
USUAL_DOUBLES = (12, 24)
"""Frets that usually bear two. Common practice, no source."""


Edge = Literal["bass", "treble"]


class Row(InputModel):
    """Markers in a row along one edge of the board."""

    edge: Edge = Field(description="Along which they stand.")
    offset: Size = Field(description="From that edge to the middle of a marker, straight across.")
    """From the edge to the middle of a marker, straight across, mm."""


@dataclass(frozen=True, slots=True)
class Marker:
    """The centre of one marker, mm, and the fret whose space it stands in. `side`: which of two, in words."""

    fret: int
    x: float
    y: float
    side: str = ""

    @property
    def name(self) -> str:
        """Its name in reports."""
        return f"marker at fret {self.fret}" + (f", {self.side}" if self.side else "")


def marker_places(
    instrument: Instrument,
    frets: Sequence[int] | None = None,
    doubles: Sequence[int] = USUAL_DOUBLES,
    double_spacing: float | None = None,
    row: Row | None = None,
) -> tuple[Marker, ...]:
    """Centres of the markers, in the order of `frets`; a double's lower y first.

    Each stands midway between its fret and the one before it, measured along the neck at its own y; a double has one
    on each side of the centreline.
    `frets`: which frets; the usual ones that the instrument has, if None.
    `double_spacing`: from centre to centre of a double, mm; half of the board's width there, if None.
    `row`: along an edge instead of the centreline; a double's two stand one behind the other then, the nut's side
    first, and half of the fret's space apart if `double_spacing` is None.
    Raises FeatureError for a fret that the instrument does not have, and for doubles that stand outside the board.
    Source: common practice, no source.
    """
    out: list[Marker] = []
    for fret in marked_frets(instrument, frets):
        x = _middle(instrument, fret, 0.0)
        if row is not None:
            out += _in_row(instrument, fret, row, double_spacing if fret in doubles else 0.0)
        elif fret in doubles:
            edge = half_width(instrument, x)
            aside = edge / 2 if double_spacing is None else double_spacing / 2
            if aside >= edge:
                raise FeatureError(
                    f"the two markers at fret {fret} would be outside the board",
                    f"keep them less than {marked(2 * edge)} apart",
                    "double_spacing",
                )
            sides = ((-aside, "bass side"), (aside, "treble side"))
            out += [Marker(fret, _middle(instrument, fret, y), y, side) for y, side in sides]
        else:
            out.append(Marker(fret, x, 0.0))
    return tuple(out)


def marked_frets(instrument: Instrument, frets: Sequence[int] | None) -> tuple[int, ...]:
    """The frets with markers: those named, else the usual ones on this board. Raises FeatureError for others."""
    wrong = [n for n in frets or () if not 1 <= n <= instrument.frets]
    if wrong:
        raise FeatureError(f"there is no fret {wrong[0]}", f"the instrument has {instrument.frets} frets", "frets")
    return tuple(f for f in USUAL if f <= instrument.frets) if frets is None else tuple(frets)


def space(instrument: Instrument, fret: int) -> tuple[float, float]:
    """x of the two frets that a fret's space lies between, mm: the nut is fret 0."""
    return fret_line(instrument, fret - 1).x, fret_line(instrument, fret).x


def _in_row(instrument: Instrument, fret: int, row: Row, spacing: float | None) -> list[Marker]:
    """One or two markers at the row's distance from the edge. `spacing`: 0 for one, None for half of the space."""
    side = 0 if row.edge == "bass" else 1
    lines = [fret_line(instrument, n) for n in (fret - 1, fret)]
    if any(row.offset >= 2 * float(half_width(instrument, line.x)) for line in lines):
        raise FeatureError(f"the marker at fret {fret} would be outside the board", "make `offset` smaller", "row")
    (x0, y0), (x1, y1) = (crossings(instrument, line, -row.offset)[side] for line in lines)
    aside = (x1 - x0) / 4 if spacing is None else spacing / 2
    if aside >= (x1 - x0) / 2:
        raise FeatureError(
            f"the two markers at fret {fret} would be past the frets beside them",
            f"keep them less than {marked(x1 - x0)} apart",
            "double_spacing",
        )
    out: list[Marker] = []
    for off, name in [(0.0, "")] if aside == 0 else [(-aside, "nut side"), (aside, "bridge side")]:
        part = 0.5 + off / (x1 - x0)
        out.append(Marker(fret, x0 + part * (x1 - x0), y0 + part * (y1 - y0), name))
    return out


def _middle(instrument: Instrument, fret: int, y: float) -> float:
    return (fret_line(instrument, fret - 1).at(y) + fret_line(instrument, fret).at(y)) / 2
