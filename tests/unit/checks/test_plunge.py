"""Down into wood slowly, and straight down only with a bit that cuts at its centre. The operation plunges at 200."""

import pytest

from tests.evidence_builder import evidence, line_of, operation, program
from toolpaths.checks import plunge
from toolpaths.core.finding import Severity


@pytest.mark.parametrize(
    ("feed", "severity"),
    [("200", None), ("210", Severity.warn), ("400", Severity.warn), ("410", Severity.stop)],
)
def test_a_plunge_faster_than_its_feed_is_told_and_stops_above_twice(feed: str, severity: Severity | None) -> None:
    text = program(f"G0 X10 Y0\nG1 Z8 F{feed}\nG1 X30 F1000")
    found = plunge.check(evidence(text))
    assert ([] if severity is None else [(severity, line_of(text, f"G1 Z8 F{feed}"))]) == [
        (f.severity, f.program_line) for f in found
    ]


def test_the_message_says_the_feed_and_what_it_should_be() -> None:
    (found,) = plunge.check(evidence(program("G0 X10 Y0\nG1 Z8 F300")))
    assert (
        "six goes down into 2.00 mm of wood at 300 mm/min, and 200 mm/min are what it should plunge at" in found.message
    )


def test_fast_down_through_air_to_the_wood_is_no_plunge() -> None:
    text = program("G0 X10 Y0\nG1 Z10 F1000\nG1 Z8 F200")
    assert [] == plunge.check(evidence(text))


def test_down_into_a_place_already_cut_is_no_plunge() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000\nG0 Z16\nG0 X20 Y0\nG1 Z8 F1000")
    assert [] == plunge.check(evidence(text))
    assert 1 == len(plunge.check(evidence(text.replace("G1 Z8 F1000", "G1 Z7 F1000"))))


@pytest.mark.parametrize(("z", "expected"), [("9", 0), ("6", 0), ("4.5", 1)])
def test_a_ramp_is_a_plunge_from_30_degrees(z: str, expected: int) -> None:
    # 8 mm along: 1, 4 and 5.5 mm down are 7, 27 and 35 degrees.
    text = program(f"G0 X10 Y0\nG1 Z10 F200\nG1 X18 Z{z} F1000")
    assert expected == len(plunge.check(evidence(text)))


def test_a_bit_that_does_not_cut_at_its_centre_never_goes_straight_down() -> None:
    text = program("G0 X10 Y0\nG1 Z9.5 F50", bit=3)
    (found,) = plunge.check(evidence(text, operations=[operation(bit="wide")]))
    assert Severity.stop == found.severity
    assert "its end does not cut at the centre" in found.message


def test_such_a_bit_may_go_down_beside_the_blank_and_cut_in_from_there() -> None:
    text = program("G0 X-20.5 Y0\nG1 Z9.5 F50\nG1 X60 F1000", bit=3)
    assert [] == plunge.check(evidence(text, operations=[operation(bit="wide")]))
    clipped = text.replace("X-20.5", "X-19")
    assert 1 == len(plunge.check(evidence(clipped, operations=[operation(bit="wide")])))
