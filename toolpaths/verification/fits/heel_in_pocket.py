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
from toolpaths.verification.wording import fits as words

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
        todo = words.glue_face_too_low(-above, units)
    elif over > _SAME and above < CLEAR - _ROUND:
        verdict = Verdict.look
        todo = words.board_near_body(over, max(above, 0.0), CLEAR, units)
    pocket = f"pocket {show(heel.pocket.depth, units)}"
    yield FitRow("glue face above the body", pocket, f"heel {show(high, units)}", signed(above, units), verdict, todo)
    corner = heel.pocket.corner
    if corner is None:
        return
    name = "corners of heel and pocket"
    if corner > 0:
        todo = words.corners_differ(corner, units)
        yield FitRow(name, f"pocket {show(corner, units)}", "square", "", Verdict.look, todo)
    else:
        yield FitRow(name, "square", "square", "")


def _board_past_the_heel(board: Instrument, heel: Heel) -> float:
    """How far the board reaches past the heel, at its end or beside it, mm; 0 or less where it lies on it wholly."""
    end = furthest_end(board)
    x = np.linspace(heel.start, max(min(end, heel.to), heel.start), 32)
    beside = max(float(half_width(board, float(at))) for at in x) - heel.width / 2
    return max(end - heel.to, beside)
