"""Feeds and speeds in the text are the job's, and each stands where it belongs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.words_builder import (
    CUTTING,
    END,
    HEADER,
    changed,
    good,
    inputs,
    job,
    line_demands,
    machine,
    messages,
    score_lines,
    scored,
)
from toolpaths.geometry.loop import Area, Loop
from toolpaths.job.cut_kind import CutKind
from toolpaths.operations.operation import Clear
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.checks.program.feed_rpm import check
from toolpaths.verification.finding import Severity

POCKET = Clear(
    feature="marker_pockets",
    job_line=32,
    bit="scorer",
    cutting=replace(CUTTING, feed=300, plunge=100, ramp=210, rpm=20000),
    title="pocket",
    top=6.0,
    floor=4.5,
    areas=(Area(Loop.circle(80, 0, 3), (), "marker"),),
)
POCKET_DEMAND = Demand(
    "marker_pockets", 32, "face", "marker", Loop.circle(80, 0, 3).shape(), Level(4.5), 0.3, kind=CutKind.marker
)


def pocket(feed: str = "F300", last: str = "F300") -> str:
    """A square path in the pocket."""
    return (
        "(Feature marker_pockets: marker)\nG0 X79 Y-1\nG1 Z6.5 F100\nG1 X81 Z5.9 F210\n"
        f"G1 Y1 {feed}\nG1 X79\nG1 Y-1 {last}\nG0 Z13\n"
    )


def test_the_jobs_feeds_and_speed_pass() -> None:
    assert [] == check(inputs())


def test_a_feed_that_the_job_does_not_give_is_a_stop() -> None:
    text = changed(good(), "G1 Y21.3 F240", "G1 Y21.3 F260", 2)
    (found,) = check(inputs(text))
    assert Severity.stop == found.severity
    assert "feed-differs" == found.code
    assert (
        "the feed is not the job's. Correct it, or the job. 260 mm/min, 2 moves; job: 240 or 180 mm/min"
    ) == found.message
    assert text.split("\n").index("G1 Y21.3 F260") + 1 == found.program_line
    assert "score_lines" == found.feature
    assert 31 == found.job_line


@pytest.mark.parametrize(("feed", "stops"), [("F240.4", False), ("F239.6", False), ("F240.6", True), ("F239.4", True)])
def test_half_of_a_digit_is_rounding(feed: str, stops: bool) -> None:
    assert stops == bool(check(inputs(changed(good(), "Y21.3 F240", f"Y21.3 {feed}"))))


def test_each_wrong_feed_is_told_once() -> None:
    text = changed(changed(good(), "Y21.3 F240", "Y21.3 F260"), "Y21.3 F240", "Y21.3 F500")
    assert 2 == len(check(inputs(text)))


def test_in_an_inch_program_rounding_is_longer() -> None:
    # 240 mm/min is 9.449 in/min: the text may say 9.4 or 9.45, not 9.3.
    inch = machine(units="in", decimals=4)
    cutting = replace(CUTTING, feed=240, plunge=80, ramp=180)
    plain = changed(HEADER, "G21\n", "G20\n").replace("G0 Z13", "G0 Z0.5118") + (
        "G0 X0.6 Y-0.8\nG1 Z0.25 F3.15\nG1 Z0.2165 F3.15\nG1 Y0.8 F9.4\nG0 Z0.5118\nM5\nM30\n"
    )
    of = job(units="in")
    assert [] == check(inputs(plain, on=inch, of=of, operations=(score_lines(cutting),)))
    (found,) = check(inputs(plain.replace("F9.4", "F9.3"), on=inch, of=of, operations=(score_lines(cutting),)))
    assert "9.3 in/min; job: 9.4 or 7.1 in/min" in found.message


def test_a_feed_for_level_cuts_left_on_a_way_down_is_a_stop_even_in_the_air() -> None:
    # The machine feeds Z at most 1000 mm/min, and 2000 is nobody's business but of level ways above the wood.
    level = good().replace("M5\n", "G0 Z20\nG1 X50 Y9 F2000\nG0 Z13\nM5\n")
    assert [] == messages(check(inputs(level)))
    down = good().replace("M5\n", "G0 Z20\nG1 Z13 F2000\nM5\n")
    (found,) = check(inputs(down))
    assert Severity.stop == found.severity
    assert (
        "the feed is too fast for the Z axis. Lower it to 1000 mm/min. Z 2000 mm/min; most 1000 mm/min"
    ) == found.message


@pytest.mark.parametrize(
    ("move", "axis", "most"),
    # Limits of the machine: 3000 in X and Y, 1000 in Z. Half of 1 mm/min is rounding.
    [
        ("X50 F3001", "X", 3000),
        ("Y49 F3001", "Y", 3000),
        ("Z13 F1001", "Z", 1000),
        # 3, 4, 0 and 3, 0, 4: 0.8 of the feed each. Derived.
        ("X33 Y13 F3751", "Y", 3750),
        ("X33 Z16 F1251", "Z", 1250),
    ],
)
def test_a_feed_may_ask_of_no_axis_more_than_it_gives(move: str, axis: str, most: int) -> None:
    text = good().replace("M5\n", f"G0 Z20\nG0 X30 Y9\nG1 {move}\nM5\n")
    (found,) = check(inputs(text))
    assert f"the feed is too fast for the {axis} axis" == found.said.wrong
    assert f"lower it to {most} mm/min" == found.said.todo
    feed = move.rpartition("F")[2]
    assert [] == messages(check(inputs(text.replace(f"F{feed}", f"F{most}"))))


def test_a_feed_above_the_height_of_travel_is_nobodys() -> None:
    assert [] == check(inputs(changed(good(), "M5\n", "G1 X40 F999\nM5\n")))


def test_a_speed_that_the_job_does_not_give_is_a_stop() -> None:
    text = changed(good(), "S18000", "S17900")
    (found,) = check(inputs(text))
    assert "rpm-differs" == found.code
    assert Severity.stop == found.severity
    assert "the speed is not the job's" == found.said.wrong
    assert ("17900 rpm, 18 moves", "job: 18000 rpm") == (found.said.measured, found.said.limit)
    # The job's 18000.4 is written 18000.
    assert [] == check(inputs(good(), operations=(score_lines(replace(CUTTING, rpm=18000.4)),)))


def test_a_dial_turned_by_hand_is_not_read_from_the_text() -> None:
    text = changed(good(), "S18000", "S9000")
    assert [] == check(inputs(text, on=machine(spindle_set_by="hand")))


BOTH = {"operations": (score_lines(), POCKET), "demands": (*line_demands(), POCKET_DEMAND)}
TWO_SPEEDS = HEADER + scored() + "M5\nS20000 M3\nG4 P4\n" + pocket() + END


def test_two_features_of_one_bit_each_with_their_feeds_pass() -> None:
    assert [] == check(inputs(TWO_SPEEDS, **BOTH))  # type: ignore[arg-type]


def test_the_feed_of_one_feature_in_the_place_of_the_other_is_a_stop() -> None:
    text = changed(TWO_SPEEDS, "Y-1 F300", "Y-1 F240")
    (found,) = check(inputs(text, **BOTH))  # type: ignore[arg-type]
    assert "feed-differs" == found.code
    assert "marker_pockets" == found.feature
    assert "240 mm/min; job: 210 or 300 mm/min" in found.message
    assert text.split("\n").index("G1 Y-1 F240") + 1 == found.program_line


def test_the_place_decides_and_not_what_the_comments_say() -> None:
    text = changed(TWO_SPEEDS, "Y-1 F300", "Y-1 F240").replace("Feature marker_pockets", "Feature score_lines")
    (found,) = check(inputs(text, **BOTH))  # type: ignore[arg-type]
    assert "marker_pockets" == found.feature


def test_where_two_features_lie_over_each_other_either_feed_will_do() -> None:
    wide = replace(line_demands()[0], asked=Loop.circle(80, 0, 5).shape())
    text = changed(TWO_SPEEDS, "Y-1 F300", "Y-1 F240")
    overlapping = (*line_demands(), wide, POCKET_DEMAND)
    found = check(inputs(text, operations=BOTH["operations"], demands=overlapping))  # type: ignore[arg-type]
    assert [] == found


def test_the_speed_of_one_feature_in_the_place_of_the_other_is_a_stop() -> None:
    text = HEADER + scored() + pocket() + END
    codes = [(f.code, f.feature) for f in check(inputs(text, **BOTH))]  # type: ignore[arg-type]
    assert [("rpm-differs", "marker_pockets")] == codes


def test_a_bit_that_has_no_work_here_is_left_to_the_check_of_bits() -> None:
    assert [] == messages(check(inputs(changed(good(), "T2\n", "T3\n"))))
