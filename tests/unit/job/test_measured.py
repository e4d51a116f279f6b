"""A machine that is a little off: by what its programs are multiplied, and what of that is refused."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.support.setup_builder import BENCH
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured


def off(machine: Machine = BENCH, **axes: object) -> Machine:
    """The bench router with measured axes, written as in its file."""
    return machine.model_copy(update={"measured": Measured.model_validate(axes, context={"units": machine.units})})


def test_an_axis_that_goes_too_short_is_told_more() -> None:
    # 500 told, 499.6 gone: 500 / 499.6 = 1.00080064... (derived)
    found = off(x={"commanded": 500, "measured": 499.6}).correction
    assert pytest.approx((1.000800640512410, 1.0, 1.0), abs=1e-14) == found


def test_what_was_not_measured_is_taken_as_true() -> None:
    assert (1.0, 1.0, 1.0) == BENCH.correction
    assert (1.0, 1.0, 1.0) == off(backlash={"x": 0.08}).correction


def test_inch_files_measure_in_inches() -> None:
    found = Measured.model_validate({"x": {"commanded": 16, "measured": 16.02}}, context={"units": "in"}).x
    assert found is not None
    assert pytest.approx((406.4, 16 / 16.02)) == (found.commanded, found.factor)


@pytest.mark.parametrize("measured", [489.9, 510.1])
def test_an_axis_more_than_two_percent_off_is_set_wrong(measured: float) -> None:
    with pytest.raises(ValidationError, match=r"differ by 2\.0 %: measure again"):
        Measured.model_validate({"x": {"commanded": 500, "measured": measured}})


@pytest.mark.parametrize("measured", [490.1, 509.9])
def test_an_axis_within_two_percent_is_taken(measured: float) -> None:
    assert Measured.model_validate({"x": {"commanded": 500, "measured": measured}}).x is not None


def test_backlash_of_more_than_a_millimetre_is_a_fault_to_put_right() -> None:
    with pytest.raises(ValidationError):
        Measured.model_validate({"backlash": {"x": 1.1}})


def test_circles_stay_circles_only_where_both_axes_are_off_alike() -> None:
    alike = {"commanded": 400, "measured": 399.68}
    assert (True, 0.0) == ((m := off(x=alike, y=alike)).keeps_circles, m.chord_error)
    assert (False, BENCH.chord_tolerance) == ((m := off(x=alike)).keeps_circles, m.chord_error)


def test_the_true_way_of_a_text_is_the_text_less_the_correction() -> None:
    trace = read("G21\nG17 G90 G94\nG54\nG0 Z10\nG0 X100 Y50\nM3 S9000\nG1 Z2 F100\nG1 X200\nM5\nM30\n")
    true = trace.truly((1.25, 0.5, 2.0))
    assert [160.0, 100.0, 1.0] == true.end[-1].tolist()
    assert [160.0, 100.0, 1.0] == flattened(trace, (0.0, 0.0, 0.0), correction=(1.25, 0.5, 2.0)).end[-1].tolist()
    assert trace is trace.truly((1.0, 1.0, 1.0))


def test_an_arc_on_axes_that_are_off_unlike_is_a_piece_of_an_ellipse() -> None:
    # The circle of radius 10 about (0, 0), x divided by 1.25, y by 0.8: x^2/8^2 + y^2/12.5^2 = 1.
    text = "G21\nG17 G90 G94\nG54\nG0 Z10\nG0 X10 Y0\nM3 S9000\nG1 Z2 F100\nG3 X-10 Y0 I-10 J0\nM5\nM30\n"
    moves = flattened(read(text), (0.0, 0.0, 0.0), correction=(1.25, 0.8, 1.0))
    on = moves.end[moves.end[:, 1] > 0]
    assert len(on) > 50
    assert np.allclose(1.0, (on[:, 0] / 8) ** 2 + (on[:, 1] / 12.5) ** 2, atol=1e-12)


def rectangle(x: float, y: float, lean: float) -> dict[str, float]:
    """A rectangle of commanded sides, as a machine cuts it whose Y leans: its diagonals by the corners themselves."""
    back = np.array([y * math.sin(lean), y * math.cos(lean)])
    return {
        "x": x,
        "y": y,
        "from_left": float(np.linalg.norm(np.array([x, 0.0]) + back)),
        "from_right": float(np.linalg.norm(np.array([x, 0.0]) - back)),
    }


@given(st.floats(50, 2000), st.floats(50, 2000), st.floats(-0.0099, 0.0099))
def test_the_lean_of_y_is_found_from_the_diagonals(x: float, y: float, lean: float) -> None:
    assert pytest.approx(lean, abs=1e-9) == off(square=rectangle(x, y, lean)).lean


@given(
    st.floats(-0.0099, 0.0099),
    st.floats(0.985, 1.015),
    st.floats(0.985, 1.015),
    st.tuples(st.floats(-900, 900), st.floats(-300, 300)),
)
def test_what_is_told_brings_the_machine_there(lean: float, fx: float, fy: float, place: tuple[float, float]) -> None:
    machine = off(
        square=rectangle(400, 300, lean),
        x={"commanded": 400.0, "measured": 400 * fx},
        y={"commanded": 300.0, "measured": 300 * fy},
    )
    u, v = machine.told(*place)
    # By the axes themselves: X goes fx times too far along (1, 0), Y fy times along (sin, cos) of its lean.
    went = np.array([1.0, 0.0]) * u * fx + np.array([math.sin(lean), math.cos(lean)]) * v * fy
    assert pytest.approx(place, abs=1e-6) == tuple(went)
    assert pytest.approx(place, abs=1e-9) == machine.truly(u, v)
    # The reader has its own way back.
    trace = read(f"G21 G17 G90\nG0 Z5\nG0 X{u:.9f} Y{v:.9f}\n").truly(machine.correction, machine.lean)
    assert pytest.approx(place, abs=1e-6) == tuple(trace.end[-1, :2])


def test_a_square_machine_keeps_its_circles_and_a_leaning_one_does_not() -> None:
    assert off(square={"x": 400, "y": 300, "from_left": 500, "from_right": 500}).keeps_circles
    assert not off(square={"x": 400, "y": 300, "from_left": 500.1, "from_right": 500}).keeps_circles


@pytest.mark.parametrize(
    ("square", "words"),
    [
        ({"x": 400, "y": 300, "from_left": 505, "from_right": 495}, "Y leans by 20.8 mm in 1000 mm"),
        ({"x": 400, "y": 300, "from_left": 400, "from_right": 500}, "`from_left` differs by 20.0 %"),
        ({"x": 400, "y": 300, "from_left": 500, "from_right": 550}, "`from_right` differs by 10.0 %"),
    ],
)
def test_diagonals_that_cannot_be_are_refused(square: dict[str, float], words: str) -> None:
    with pytest.raises(ValidationError, match=re.escape(words)):
        Measured.model_validate({"square": square})
