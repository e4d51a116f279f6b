"""The page that goes with a gauge's program: where the marks are, how they are measured, and room for the values."""

from __future__ import annotations

import math

from toolpaths.common.units import Units, show
from toolpaths.features.calibration.gauge import DEPTH, Gauge
from toolpaths.gcode.program import Program
from toolpaths.reports.pages.template import page
from toolpaths.reports.text.at_machine import bit_line, speeds
from toolpaths.reports.text.page_head import head_of_files
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import minutes, plain, signed, verdict, weight
from toolpaths.verification.outcome import Outcome

READ = 0.2
"""How finely a rule is read, mm. Common practice, no source."""


def marks_table(made: Gauge, units: Units, command: str) -> Table:
    """The distance of each axis as commanded, room for it as measured, and the command that takes it.

    `command`: what is typed, up to the axis.
    """
    if made.square:
        way = math.hypot(*(length for _, length in made.ways))
        asked = show(way, units)
        rows = tuple(
            (name, asked, "__________", "") for name in ("left front to right back", "right front to left back")
        )
        return Table("The diagonals", ("from cross to cross", "if square", "measured", ""), rows, {1, 2})
    rows = tuple(
        (name.upper(), show(way, units), "__________", f"{command} --axis {name} --measured ...")
        for name, way in made.ways
    )
    return Table("The marks", ("axis", "commanded", "measured", "then type"), rows, {1, 2})


def read_words(made: Gauge, units: Units) -> str:
    """How well a rule measures an axis over this distance."""
    way = made.ways[0][1]
    if made.square:
        # Of the lean, by both diagonals misread by so much each way: p dp / (a b), derived.
        x, y = (length for _, length in made.ways)
        lean = math.hypot(x, y) * READ / (x * y)
        return (
            f"Diagonals read to {show(READ, units)} show the lean of Y to {1000 * lean:.1f} in 1000. A longer distance "
            "shows it better."
        )
    return (
        f"A rule read to {show(READ, units)} over {show(way, units)} measures an axis to {100 * READ / way:.2f} %. "
        "Long calipers or a longer distance measure it better."
    )


def gauge_page(made: Gauge, outcome: Outcome, program: Program, command: str) -> str:
    """The whole page, for screen and printer. `command`: what is typed to give the distances back, up to the axis."""
    units = outcome.machine.units
    wide, high = made.size
    head = head_of_files(
        "Gauge",
        outcome.machine.name,
        [(program.name, outcome)],
        f"waste board of {outcome.wood.name}",
    )
    pieces = [(piece.start, piece.end) for piece in made.pieces]
    return page(
        "pages/gauge.html",
        title=head.page_title,
        head=head,
        outcome=outcome,
        weight=weight(outcome),
        verdict=verdict(outcome),
        size={side: show(mm, units, 0 if units == "mm" else 1) for side, mm in (("x", wide), ("y", high))},
        bits=[bit_line(outcome, name) for name in program.bits],
        speeds=speeds(outcome, outcome.setups[0], program),
        z="" if program.touch_off is None else signed(program.touch_off.z, units),
        minutes=minutes(program.minutes),
        program=plain(program.name),
        depth=show(DEPTH, units),
        marks=marks_table(made, units, command),
        read=read_words(made, units),
        square=made.square,
        command=f"{command} --square --measured ...,...",
        picture={
            "x": wide,
            "y": high,
            "text": max(wide, high) / 26,
            "marks": [((ax, high / 2 - ay), (bx, high / 2 - by)) for (ax, ay), (bx, by) in pieces],
            "ways": [(name.upper(), show(way, units)) for name, way in made.ways],
        },
    )
