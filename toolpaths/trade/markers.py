"""Where position markers stand on the face of a board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.core.finding import Refusal
from toolpaths.core.job import Instrument
from toolpaths.trade.boards import half_width
from toolpaths.trade.fans import fret_line

USUAL = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24)
"""Frets that usually bear a marker. Common practice, no source."""
USUAL_DOUBLES = (12, 24)
"""Frets that usually bear two. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Marker:
    """The centre of one marker, mm, and the fret whose space it stands in."""

    fret: int
    x: float
    y: float


def marker_places(
    instrument: Instrument,
    frets: Sequence[int] | None = None,
    doubles: Sequence[int] = USUAL_DOUBLES,
    double_spacing: float | None = None,
) -> tuple[Marker, ...]:
    """Centres of the markers, in the order of `frets`; a double's lower y first.

    Each stands midway between its fret and the one before it, measured along the neck at its own y; a double has one
    on each side of the centreline.
    `frets`: which frets; the usual ones that the instrument has, if None.
    `double_spacing`: from centre to centre of a double, mm; half of the board's width there, if None.
    Raises Refusal for a fret that the instrument does not have, and for doubles that stand outside the board.
    Source: common practice, no source.
    """
    chosen = [f for f in USUAL if f <= instrument.frets] if frets is None else list(frets)
    out: list[Marker] = []
    for fret in chosen:
        if not 1 <= fret <= instrument.frets:
            raise Refusal(
                f"there is no fret {fret} to mark",
                f"the instrument has frets 1 to {instrument.frets}",
                "frets",
            )
        x = _middle(instrument, fret, 0.0)
        if fret in doubles:
            edge = half_width(instrument, x)
            aside = edge / 2 if double_spacing is None else double_spacing / 2
            if aside >= edge:
                raise Refusal(
                    f"the two markers at fret {fret} would stand outside the board",
                    f"keep them less than {2 * edge:.1f} mm apart",
                    "double_spacing",
                )
            out += [Marker(fret, _middle(instrument, fret, y), y) for y in (-aside, aside)]
        else:
            out.append(Marker(fret, x, 0.0))
    return tuple(out)


def _middle(instrument: Instrument, fret: int, y: float) -> float:
    return (fret_line(instrument, fret - 1).at(y) + fret_line(instrument, fret).at(y)) / 2
