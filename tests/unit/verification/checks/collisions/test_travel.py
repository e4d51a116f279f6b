"""All motion fits the machine, arcs with their true extremes."""

import math

import pytest

from tests.support.check_input_builder import MACHINE, inputs, line_of, program
from toolpaths.job.machine import Axes
from toolpaths.verification.checks.collisions import travel
from toolpaths.verification.finding import Severity

PLACED = MACHINE.model_copy(update={"offsets": {"G54": (100.0, 80.0, -50.0), "G55": None}})
"""The work's zero lies at machine (100, 80, -50); travel is 300 x 200 x 60."""


def test_motion_within_the_travel_is_clean() -> None:
    assert [] == travel.check(inputs(program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000")))


@pytest.mark.parametrize(("x", "expected"), [("250", 0), ("250.01", 1)])
def test_the_span_of_an_axis_is_at_most_its_travel(x: str, expected: int) -> None:
    found = travel.check(inputs(program(f"G0 X-50 Y0\nG0 X{x}")))
    assert expected == len(found)
    assert all("300.01 mm; most 300.00 mm" in f.message and f.severity is Severity.stop for f in found)


@pytest.mark.parametrize(("radius", "expected"), [(100.0, 0), (100.01, 1)])
def test_a_full_circle_spans_its_diameter_though_it_ends_where_it_starts(radius: float, expected: int) -> None:
    text = program(f"G0 X{-radius} Y0\nG2 X{-radius} Y0 I{radius} F1000").replace("G0 X0 Y40\n", "")
    assert expected == len(travel.check(inputs(text)))


def test_an_arc_reaches_past_both_its_ends() -> None:
    # From -45 to 45 degrees on a radius of 200 about (100, 0): x reaches 300, its ends 241.42.
    end = 200 / math.sqrt(2)
    text = program(f"G0 X{100 + end:.3f} Y{-end:.3f}\nG3 Y{end:.3f} I{-end:.3f} J{end:.3f} F1000").replace("Y40", "Y0")
    wide = MACHINE.model_copy(update={"travel": Axes(x=299.9, y=400, z=60)})
    (found,) = travel.check(inputs(text, on=wide))
    assert "the moves in X are longer than the machine's travel" == found.said.wrong
    assert "300.00 mm; most 299.90 mm" in found.message
    assert line_of(text, text.splitlines()[9]) == found.program_line


@pytest.mark.parametrize(
    ("words", "expected"), [("G0 X200 Y0", 0), ("G0 X200.5 Y0", 1), ("G0 X0 Y-80.5", 1), ("G0 Y120", 0)]
)
def test_where_the_offset_is_known_the_ends_of_travel_count(words: str, expected: int) -> None:
    found = travel.check(inputs(program(f"G0 X0 Y0\n{words}"), on=PLACED))
    assert expected == len(found)
    assert all(f"{f.said.wrong[0]} goes past its travel" == f.said.wrong for f in found)
    assert all(f.message.endswith(("300.50 mm; most 300.00 mm", "-0.50 mm; least 0.00 mm")) for f in found)


def test_z_runs_from_minus_its_travel_to_0_in_machine_coordinates() -> None:
    # Z 16 is machine -34; Z -11 would be -61, a millimetre below the end at -60.
    found = travel.check(inputs(program("G0 X0 Y0\nG1 Z-11 F200"), on=PLACED))
    assert ["Z"] == [f.said.wrong[0] for f in found]


def test_an_offset_that_the_file_does_not_place_is_judged_by_its_span_alone() -> None:
    text = program("G0 X250 Y0").replace("G54", "G55")
    assert [] == travel.check(inputs(text, on=PLACED))


def test_a_lifted_program_travels_as_high_as_its_text_says() -> None:
    text = program("G0 X0 Y0\nG0 Z50.5")
    assert 1 == len(travel.check(inputs(text, on=PLACED, lift=40.0)))


def test_one_offset_is_judged_by_its_own_moves_where_a_program_has_two() -> None:
    text = program("G0 X200.5 Y0\nG0 X0\nG55\nG0 X0 Y0 Z16\nG0 X10")
    (found,) = travel.check(inputs(text, on=PLACED))
    assert "300.50 mm; most 300.00 mm" in found.message


# Ends at 45 degrees on a radius of 100 about (100, 0), and which way each side of the circle is passed: the bulge
# reaches 100 from the centre, the ends 70.71. Derived.
_E = 70.711


@pytest.mark.parametrize(
    ("axis", "start", "end", "cw_bulges"),
    [
        ("X", (_E, -_E), (_E, _E), False),
        ("X", (_E, _E), (_E, -_E), True),
        ("X", (-_E, -_E), (-_E, _E), True),
        ("X", (-_E, _E), (-_E, -_E), False),
        ("Y", (-_E, _E), (_E, _E), True),
        ("Y", (_E, _E), (-_E, _E), False),
        ("Y", (_E, -_E), (-_E, -_E), True),
        ("Y", (-_E, -_E), (_E, -_E), False),
    ],
)
@pytest.mark.parametrize("code", ["G2", "G3"])
def test_an_arc_of_either_turn_is_judged_by_where_it_bulges(
    axis: str, start: tuple[float, float], end: tuple[float, float], cw_bulges: bool, code: str
) -> None:
    (ax, ay), (bx, by) = start, end
    text = program(
        f"G0 X{100 + ax:.3f} Y{ay:.3f}\n{code} X{100 + bx:.3f} Y{by:.3f} I{-ax:.3f} J{-ay:.3f} F1000"
    ).replace("X0 Y40", f"X{100 + bx:.3f} Y{by:.3f}")
    # The short way is a quarter turn, bulging outwards by 29.29 mm; the long way round reaches everywhere else.
    short = cw_bulges == (code == "G2")
    high, middle = (200.0, 100.0) if axis == "X" else (100.0, 0.0)
    outer = max(abs(v - middle) for v in ((100 + ax, 100 + bx) if axis == "X" else (ay, by)))
    span = (high - middle) - outer if short else (high - middle) + outer
    for travel_there, expected in ((span + 0.01, 0), (span - 0.01, 1)):
        axes = {"x": 1000.0, "y": 1000.0, "z": 60.0, axis.lower(): travel_there}
        wide = MACHINE.model_copy(update={"travel": Axes(**axes)})
        found = [f for f in travel.check(inputs(text, on=wide)) if f"moves in {axis} " in f.message]
        assert expected == len(found), (short, span)
