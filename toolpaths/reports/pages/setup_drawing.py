"""The drawing on the setup sheet: the blank from above and from the side, with zero, dimensions and clamps (SVG)."""

from __future__ import annotations

from toolpaths.common.units import show
from toolpaths.reports.pages.template import part, raw
from toolpaths.reports.pictures.landmarks import landmarks_of
from toolpaths.reports.text.holding import patches_of
from toolpaths.reports.text.words import span
from toolpaths.verification.outcome import Outcome, SetupReport

_SIDE_GAP = 4.0
_THIN, _SIDE_SCALE = 15.0, 2.0
"""A blank thinner than this is drawn so much higher from the side, mm."""
_LETTERS = 42.0
"""Heights of a letter in the width of the drawing: 8 pt on paper that is 186 mm wide, the smallest ones included."""


def drawing(outcome: Outcome, setup: SetupReport) -> str:
    """An inline SVG, drawn in mm; lengths written in the job's units, text escaped."""
    context, units, marks = setup.context, outcome.job.units, landmarks_of(outcome, setup)
    x0, y0, x1, y1 = context.stock_box
    clamps = setup.obstacles
    left, _, right, high = marks.view
    text = max(5.0, (right - left) / _LETTERS)
    scale = _SIDE_SCALE if context.top < _THIN else 1.0
    bed = min([y0, *(it.bounds[1] for it in clamps)]) - _SIDE_GAP - 3.3 * text - context.top * scale
    # A clamp may stand where the dimension at the left end would go.
    crowded = any(it.bounds[0] < x0 for it in clamps)
    thickness = span(context.least, context.top, units)
    return part(
        "pages/drawing.html",
        t=text,
        box=[
            left - 4 * text,
            -high - 4.4 * text,
            right - left + (11 if crowded else 8) * text,
            high - bed + 6.7 * text,
        ],
        x=(x0, x1),
        y=(y0, y1),
        board=None if marks.board is None else raw(" ".join(f"{x:.2f},{-y:.2f}" for x, y in marks.board)),
        frets=[
            (name, line.at(y0 + 2), line.at(y1 - 2), name in ("1", "12", marks.frets[-1][0]))
            for name, line in marks.frets
        ],
        nut=context.setup.stock is None or context.setup.stand is not None,
        clamps=list(enumerate(clamps, 1)),
        patches=patches_of(setup),
        crowded=crowded,
        right=max([0.0, *(min(it.bounds[2], right) - x1 for it in clamps if it.bounds[1] < y1 and it.bounds[3] > y0)]),
        length=show(context.stock.length, units),
        width=show(context.stock.width, units),
        nut_at=show(context.setup.nut_at, units) if context.setup.nut_at > 0 else "",
        centre_at="" if context.apart else show(context.centre_at, units),
        at=context.zero,
        bed=bed,
        top=bed + context.top * scale,
        face=bed + context.face * scale,
        scale=scale,
        words=f"blank {thickness}, {context.surface} {show(context.above_bed(context.face), units)} above the bed",
    )
