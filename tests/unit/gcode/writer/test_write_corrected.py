"""The text for a machine that is a little off: coordinates multiplied, circles kept or cut into chords, and said so."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, CUTTING, context
from toolpaths.features.kinds.plane import Plane
from toolpaths.gcode.program import Heading, TouchOff
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.gcode.writer.write import touch_off, write
from toolpaths.job.feature_keys import LineDirection
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured
from toolpaths.job.stock import Skew
from toolpaths.operations.operation import Clear, ProgramPlan
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath

SHORT = {"commanded": 500, "measured": 499.6}
Z = 13.0
LINE: tuple[Step, ...] = (Rapid(0, 0, Z), Feed(0, 0, 6, 200), Feed(250, 0, 6, 800), Feed(250, 40, 6, 800))
TURN: tuple[Step, ...] = (
    Rapid(100, 0, Z),
    Feed(100, 0, 6, 200),
    Arc(60, 0, 6, 80, 0, True, 700),
    Arc(100, 0, 6, 80, 0, True, 700),
)


def off(**axes: object) -> Machine:
    return BENCH.model_copy(update={"measured": Measured.model_validate(axes)})


def text(machine: Machine, steps: tuple[Step, ...], lines: LineDirection | None = None, **setup: object) -> str:
    s = context(Plane(bit="planer", leave=6), machine=machine, setup=setup)
    path = Toolpath(
        ProgramPlan("face", (Clear("outline", 30, "quarter", replace(CUTTING, lines=lines), "", 8.0, 6.0, ()),)),
        (Section("outline", "quarter", "once", (*steps, Rapid(steps[-1].x, steps[-1].y, Z)), 18000),),
    )
    touch = touch_off(s, False)
    return write(path, s, Heading("1.2.3", "0123456789ab", "a.ngc", 1, 1, {"quarter": 1}, touch)).text


def words(program: str) -> list[str]:
    return [line for line in program.splitlines() if line.startswith(("G1 ", "G2 ", "G3 "))]


def said(program: str) -> str:
    """The header's comments as running text."""
    return " ".join(line.strip("()").removeprefix("+ ") for line in program.splitlines() if line.startswith("("))


def test_coordinates_of_a_short_axis_are_larger_by_what_was_told_over_what_was_gone() -> None:
    # 250 * 500 / 499.6 = 250.20016 (derived); y and z stay.
    assert ["G1 Z6 F200", "G1 X250.2 F800", "G1 Y40"] == words(text(off(x=SHORT), LINE))
    assert ["G1 Z6 F200", "G1 X250 F800", "G1 Y40"] == words(text(BENCH, LINE))


def test_each_axis_has_its_own_factor() -> None:
    machine = off(y={"commanded": 100, "measured": 101}, z={"commanded": 50, "measured": 50.5})
    # 40 / 1.01 = 39.604; 6 / 1.01 = 5.941 (derived)
    assert ["G1 Z5.941 F200", "G1 X250 F800", "G1 Y39.604"] == words(text(machine, LINE))


def test_a_circle_on_axes_that_are_off_alike_is_written_as_a_larger_circle() -> None:
    found = words(text(off(x=SHORT, y=SHORT), TURN))
    # 20 * 500 / 499.6 = 20.016
    assert ["G3", "G3"] == [line[:2] for line in found[1:]]
    assert [-20.016, 20.016] == [float(re.search(r"I(-?[\d.]+)", line)[1]) for line in found[1:]]  # type: ignore[index]


def test_a_circle_on_axes_that_are_off_unlike_is_written_as_chords_that_are_true_on_the_machine() -> None:
    machine = off(x=SHORT)
    program = text(machine, TURN)
    assert {"G1"} == {line[:2] for line in words(program)}
    moves = flattened(read(program), (0.0, 0.0, 0.0), correction=machine.correction)
    cut = (moves.end[:, 2] < 7) & (moves.start[:, 2] < 7)
    ends = np.concatenate([moves.start[cut], moves.end[cut]])
    middles = (moves.start[cut] + moves.end[cut]) / 2
    assert np.allclose(20.0, np.hypot(ends[:, 0] - 80, ends[:, 1]), atol=0.001)  # rounding to 0.001
    assert 20 - np.hypot(middles[:, 0] - 80, middles[:, 1]).min() <= machine.chord_tolerance + 0.001


def test_a_machine_that_is_true_gets_the_same_bytes_as_one_that_was_not_measured() -> None:
    true = off(x={"commanded": 400, "measured": 400}, y={"commanded": 300, "measured": 300})
    assert words(text(BENCH, (*LINE, *TURN))) == words(text(true, (*LINE, *TURN)))


def test_the_header_says_what_is_corrected_and_what_is_not() -> None:
    found = said(text(off(x=SHORT, backlash={"x": 0.08, "y": 0.05}), LINE))
    assert "X is corrected: 500 mm measured 499.6 mm, so every X is multiplied by 1.000801." in found
    assert "Backlash in X is 0.080 mm. The program does not correct it." in found
    assert "Backlash in Y is 0.050 mm. The program does not correct it." in found
    aside = "All lines are approached from lower X, so that backlash does not change their spacing."
    assert aside in said(text(off(backlash={"x": 0.08}), LINE, lines="one way"))
    assert aside not in found  # nothing here is a line
    assert "Y is corrected" not in found
    assert "is corrected" not in said(text(BENCH, LINE))


def test_the_header_s_motion_is_what_the_machine_is_told() -> None:
    assert "Motion: X 0.00 to 250.20 mm, " in said(text(off(x=SHORT), LINE))


def test_the_z_entered_at_the_touch_off_is_the_machine_s_own() -> None:
    # The blank's top is 8 above the bed: an axis that goes 1 % short must be told 8 / 0.99 = 8.0808.
    s = context(Plane(bit="planer", leave=6), machine=off(z={"commanded": 100, "measured": 99}))
    bed = context(
        Plane(bit="planer", leave=6),
        machine=s.machine,
        setup={"zero": {"x": "nut", "y": "centreline", "z": "stock top"}},
    )
    assert TouchOff("bed", 0.0) == touch_off(s, False)
    found = touch_off(bed, True)
    assert found is not None
    assert ("planed face", pytest.approx(-2 / 0.99)) == (found.surface, found.z)


def test_a_skew_read_off_a_machine_that_is_off_is_taken_as_its_true_turn() -> None:
    # Places are read off the machine's own display: x told 250.2 is truly 250.
    factor = 500 / 499.6
    points = ((0.0, -35.0), (250 * factor, -35.0 + 2.5))
    skew = {"skew": Skew(points=points), "zero": {"x": "nut", "y": "centreline", "z": "bed"}}
    turn, _ = context(Plane(bit="planer", leave=6), machine=off(x=SHORT), setup=skew).skew
    assert pytest.approx(math.atan2(2.5, 250), abs=1e-12) == turn
