"""Down into wood slowly, and straight down only with a bit that cuts at its centre. The operation plunges at 200."""

from pathlib import Path

import pytest

from tests.support.check_input_builder import inputs, line_of, operation, program
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.verification.checks.loads import plunge
from toolpaths.verification.finding import Severity


@pytest.mark.parametrize(
    ("feed", "severity"),
    [("200", None), ("210", Severity.warn), ("400", Severity.warn), ("410", Severity.stop)],
)
def test_a_plunge_faster_than_its_feed_is_told_and_stops_above_twice(feed: str, severity: Severity | None) -> None:
    text = program(f"G0 X10 Y0\nG1 Z8 F{feed}\nG1 X30 F1000")
    found = plunge.check(inputs(text))
    assert ([] if severity is None else [(severity, line_of(text, f"G1 Z8 F{feed}"))]) == [
        (f.severity, f.program_line) for f in found
    ]


def test_the_message_says_the_feed_and_what_it_should_be() -> None:
    (found,) = plunge.check(inputs(program("G0 X10 Y0\nG1 Z8 F300")))
    assert ("300 mm/min", "most 200 mm/min") == (found.said.measured, found.said.limit)
    assert "too fast" in found.said.wrong


def test_fast_down_through_air_to_the_wood_is_no_plunge() -> None:
    text = program("G0 X10 Y0\nG1 Z10 F1000\nG1 Z8 F200")
    assert [] == plunge.check(inputs(text))


def test_down_into_a_place_already_cut_is_no_plunge() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000\nG0 Z16\nG0 X20 Y0\nG1 Z8 F1000")
    assert [] == plunge.check(inputs(text))
    assert 1 == len(plunge.check(inputs(text.replace("G1 Z8 F1000", "G1 Z7 F1000"))))


@pytest.mark.parametrize(("z", "expected"), [("9", 0), ("6", 0), ("4.5", 1)])
def test_a_ramp_is_a_plunge_from_30_degrees(z: str, expected: int) -> None:
    # 8 mm along: 1, 4 and 5.5 mm down are 7, 27 and 35 degrees.
    text = program(f"G0 X10 Y0\nG1 Z10 F200\nG1 X18 Z{z} F1000")
    assert expected == len(plunge.check(inputs(text)))


def test_a_bit_that_does_not_cut_at_its_centre_never_goes_straight_down() -> None:
    text = program("G0 X10 Y0\nG1 Z9.5 F50", bit=3)
    (found,) = plunge.check(inputs(text, operations=[operation(bit="wide")]))
    assert Severity.stop == found.severity
    assert "the bit's end cannot cut straight down" == found.said.wrong
    assert "0.50 mm of wood below it" == found.said.measured


@pytest.mark.parametrize(
    ("x", "expected"),
    # The blank begins at x -10 and the bit's radius is 10: 1, 2.8 and 3.5 mm of it meet wood, and all of it.
    # Up to 0.28 of the radius is what a last skim takes with the side; common practice, no source.
    [("-20.5", 0), ("-19", 0), ("-17.2", 0), ("-16.5", 1), ("-10", 1), ("0", 1)],
)
def test_such_a_bit_may_go_down_where_only_its_side_meets_wood(x: str, expected: int) -> None:
    text = program(f"G0 X{x} Y0\nG1 Z9.5 F50\nG1 X60 F1000", bit=3)
    assert expected == len(plunge.check(inputs(text, operations=[operation(bit="wide")])))


def test_with_its_side_too_it_goes_down_no_faster_than_a_plunge() -> None:
    text = program("G0 X-18 Y0\nG1 Z9.5 F450\nG1 X60 F1000", bit=3)
    (found,) = plunge.check(inputs(text, operations=[operation(bit="wide")]))
    assert "most 200 mm/min" == found.said.limit


JOB = """\
title: t
units: mm
machine: bench-router
wood: hard maple
instrument:
  scale_length: 344
  frets: 12
  board: {width: {nut: 31.3, end: 38.7}, overhang: 9.1, thickness: 4.9}
stock: {length: 239, width: 68, thickness: 4.9}
bits:
  mid: {shape: flat, diameter: DIAMETER, cutting_length: 18, shank: 6, stickout: 31, centre_cutting: false}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 17.2
    hold: tape
    features:
      - outline: {bit: mid, tabs: {count: 4, length: 8, height: HEIGHT}MORE}
"""


@pytest.mark.parametrize(
    ("diameter", "height", "more"),
    [
        ("5.2", "1.5", ""),
        ("3", "0.8", ""),
        ("4.1", "2.9", ", finish_allowance: 0.5"),
        ("6.35", "1.1", ", direction: climb"),
        ("9.7", "2.2", ", direction: conventional"),
        ("12.7", "1.5", ", finish_allowance: 1.7"),
    ],
)
def test_a_last_skim_between_tabs_is_no_plunge(tmp_path: Path, diameter: str, height: str, more: str) -> None:
    text = JOB.replace("DIAMETER", diameter).replace("HEIGHT", height).replace("MORE", more)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    outcome = make(tmp_path / "job.yaml", Changes(pitch=0.5))
    assert [] == [f.message for f in outcome.findings if f.code == "plunge" or f.severity is Severity.stop]
