"""Whether the heel of a bolt-on neck goes into the body's pocket: how high the glue face comes to stand, its corners.

Asked where the instrument says how the pocket is (`neck.heel.pocket`). Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.instrument.boards import furthest_end, half_width
from toolpaths.instrument.necks import neck_of
from toolpaths.job.job import Instrument
from toolpaths.job.neck import Heel
from toolpaths.verification.fits.fit_parts import FitRow, Verdict, signed

CLEAR = 0.5
"""Air that the board needs over the body where it reaches past the heel, so that it does not press on it, mm. Common
practice, no source."""
_SAME = 0.02
"""Lengths that differ by no more are the same, mm: what a router holds."""
_ROUND = 1e-6


def heel_in_pocket(board: Instrument, neck: Instrument, units: Units) -> Iterator[FitRow]:
    """Rows where the neck's instrument has a heel and says how its pocket is; `board`: the board's instrument."""
    heel = neck_of(neck).heel
    if heel is None or heel.pocket is None:
        return
    high = heel.thickness - neck.board.thickness
    above, over = high - heel.pocket.depth, _board_past_the_heel(board, heel)
    verdict, todo = Verdict.fits, ""
    if above < -_SAME:
        verdict = Verdict.no
        todo = (
            f"the glue face would lie {show(-above, units)} below the body's top, and the board on the body before the "
            "heel is down: a shallower pocket or a thicker heel"
        )
    elif over > _SAME and above < CLEAR - _ROUND:
        verdict = Verdict.look
        air = show(max(above, 0.0), units)
        todo = (
            f"the board reaches {show(over, units)} past the heel over the body, and has {air} of air there: "
            f"{show(CLEAR, units)} keep it from pressing on the body"
        )
    pocket = f"pocket {show(heel.pocket.depth, units)}"
    yield FitRow("glue face above the body", pocket, f"heel {show(high, units)}", signed(above, units), verdict, todo)
    corner = heel.pocket.corner
    if corner is None:
        return
    todo = (
        f"the heel's end corners are square, the pocket's have a radius of {show(corner, units)}: round the heel's, or "
        "square the pocket's"
    )
    verdict = Verdict.look if corner > 0 else Verdict.fits
    words = "square" if corner == 0 else f"pocket {show(corner, units)}"
    yield FitRow("corners of heel and pocket", words, "square", "", verdict, todo if corner > 0 else "")


def _board_past_the_heel(board: Instrument, heel: Heel) -> float:
    """How far the board reaches past the heel, at its end or beside it, mm; 0 or less where it lies on it wholly."""
    end = furthest_end(board)
    x = np.linspace(heel.start, max(min(end, heel.to), heel.start), 32)
    beside = max(float(half_width(board, float(at))) for at in x) - heel.width / 2
    return max(end - heel.to, beside)
