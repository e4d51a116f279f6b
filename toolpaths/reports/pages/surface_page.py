"""The page that goes with a program for the waste board, and its tables: when and how it is skimmed."""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import MM_PER_INCH, Units, show, size
from toolpaths.features.calibration.skim import SCREWS
from toolpaths.features.calibration.surface import Surface
from toolpaths.gcode.program import Program
from toolpaths.reports.pages.template import page
from toolpaths.reports.text.page_head import head_of_files
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import bit_words, minutes, verdict, weight
from toolpaths.verification.outcome import Outcome


def surface_table(made: Surface, outcome: Outcome, program: Program) -> Table:
    """What the program does, in figures."""
    units, (x, y), (past_x, past_y) = outcome.job.units, made.size, made.reach
    (feature,) = outcome.setups[0].features
    rows = (
        ("bit", f"{made.bit}, {bit_words(outcome.job.bits[made.bit], units)}"),
        ("area", f"X {_long(x, units)}, Y {_long(y, units)}"),
        ("taken", f"{_short(made.take, units)} off the highest place, in {_levels(feature.passes)}"),
        ("bit's edge", f"X {_span(-past_x, x + past_x, units)}, Y {_span(-past_y, y + past_y, units)}"),
        ("time", f"about {minutes(program.minutes)}"),
    )
    return Table("The waste board skimmed level", ("what", "how much"), rows)


def standing_table(made: Surface) -> Table:
    """What stays as it was, piece by piece; no rows where all is skimmed."""
    units = made.loaded.job.units
    rows = []
    for piece in made.standing:
        x0, y0, x1, y1 = piece.box
        where = f"X {_span(x0, x1, units)}, Y {_span(y0, y1, units)}"
        rows.append((where, f"{_long(x1 - x0, units)} x {_long(y1 - y0, units)}", _why(piece.of)))
    return Table("Left standing", ("where", "size", "why"), tuple(rows))


def steps_on_screen(made: Surface) -> list[str]:
    """The least that must be known at the machine, a sentence or two a line."""
    units = made.loaded.job.units
    return [
        "X and Y zero: left front corner of the area. Z zero: where the board is highest.",
        "Touch off at many places and take the highest: the program cannot find it.",
        f"No screw of the board may lie within {_deep(made, units)} of its top: look first.",
        "Take off the blank and the clamps. Extraction and respirator on: fine dust.",
        "Run it again until the whole surface shows marks of the bit.",
    ]


def surface_page(made: Surface, outcome: Outcome, program: Program) -> str:
    """The whole page, for screen and printer."""
    units, (x, y), (past_x, past_y) = outcome.job.units, made.size, made.reach
    trace = outcome.setups[0].traces[outcome.programs[0].name]
    head = head_of_files(
        "Waste board skimmed level",
        outcome.machine.name,
        [(program.name, outcome)],
        f"board of {outcome.wood.name}",
    )
    # With the zero itself, and with the place where the bit waits at the end.
    ends = np.concatenate([trace.end[:, :2], np.zeros((1, 2))])
    (low_x, low_y), (high_x, high_y) = np.nanmin(ends, axis=0).tolist(), np.nanmax(ends, axis=0).tolist()
    return page(
        "pages/surface.html",
        title=head.page_title,
        head=head,
        outcome=outcome,
        lifted=outcome.changes.air > 0,
        weight=weight(outcome),
        verdict=verdict(outcome),
        facts=surface_table(made, outcome, program),
        standing=standing_table(made),
        take=_short(made.take, units),
        deep=_deep(made, units),
        spare=_short(SCREWS, units),
        way={"x": _span(low_x, high_x, units), "y": _span(low_y, high_y, units)},
        corner=f"{_long(x, units)} by {_long(y, units)}",
        gap=size(0.1, units),
        picture={
            "x": x,
            "y": y,
            "past_x": past_x,
            "past_y": past_y,
            "text": max(x + 2 * past_x, 1.6 * y) / 36,
            "along": "X" if x >= y else "Y",
            "boxes": [
                {"x": k.x[0], "y": y / 2 - k.y[1], "wide": k.x[1] - k.x[0], "high": k.y[1] - k.y[0]}
                for k in outcome.job.setups[0].keep_out
            ],
            "left": [" ".join(f"{a:.1f},{y - b:.1f}" for a, b in one.outline) for one in made.standing],
        },
    )


# Private


def _short(mm: float, units: Units) -> str:
    """A small length without digits that nobody sets: 0.3 mm, 0.012 in."""
    return size(mm if units == "mm" else round(mm / MM_PER_INCH, 3) * MM_PER_INCH, units)


def _long(mm: float, units: Units) -> str:
    return show(mm, units, 1 if units == "mm" else 2)


def _span(low: float, high: float, units: Units) -> str:
    """From and to, the unit once."""
    return f"{_long(low, units).split()[0]} to {_long(high, units)}"


def _deep(made: Surface, units: Units) -> str:
    return _short(made.take + SCREWS, units)


def _levels(count: int) -> str:
    return "one level" if count == 1 else f"{count} equal levels"


def _why(of: tuple[str, ...]) -> str:
    if not of:
        return "the bit does not get there"
    return f"{' and '.join(of)}, kept clear, with the room round {'it' if len(of) == 1 else 'them'}"
