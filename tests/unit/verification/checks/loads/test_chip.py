"""Chips are as thick as bit and wood bear: warned of outside the band, stopped above twice its top.

Bands: 0.0063 D to 0.019 D a tooth below 1/16 in of diameter in hard wood; 1/4 in: 0.05 to 0.13 in hard wood,
0.06 to 0.18 in soft. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.words_builder import CUTTING, changed, good, inputs, machine, score_lines, scored
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.loads.chip import check
from toolpaths.verification.finding import Entry, Severity


def fed(feed: float, speed: int = 18000, bit: int = 2, janka: float = 1450.0) -> CheckInput:
    text = changed(good(), "F240", f"F{feed:g}", 6)
    text = changed(changed(text, "S18000", f"S{speed}"), "T2\n", f"T{bit}\n")
    return inputs(text, janka=janka)


# 0.6 mm, 2 flutes, 18000 rpm: 0.0063 x 0.6 = 0.00378 mm is 136 mm/min, 0.019 x 0.6 = 0.0114 mm is 410 mm/min. Derived.
@pytest.mark.parametrize(
    ("feed", "code", "severity"),
    [
        (130, "chip-thin", Severity.warn),
        (142, None, None),
        (400, None, None),
        (420, "chip-thick", Severity.warn),
        (810, "chip-thick", Severity.warn),
        (840, "chip-thick", Severity.stop),
    ],
)
def test_the_band_of_a_thin_bit(feed: float, code: str | None, severity: Severity | None) -> None:
    assert ([] if code is None else [(code, severity)]) == [(f.code, f.severity) for f in check(fed(feed))]


def test_the_message_says_what_would_be_right() -> None:
    (found,) = check(fed(600))
    # 600 / (18000 x 2) = 0.01667; the most is 0.06 x 0.6 / 3.175 = 0.01134, 408 mm/min, and 600 / (0.01134 x 2)
    # would want 26,300 rpm, more than the machine has. Derived.
    assert "chip too thick. Feed at most 408 mm/min. 0.0167 mm a tooth; most 0.0113 mm" == found.message
    assert "score_lines" == found.feature


def test_the_remedies_are_keys_of_the_job_with_values_that_work() -> None:
    slow = (score_lines(replace(CUTTING, feed=110.0, limits={"feed": "job"})),)
    (found,) = check(inputs(changed(good(), "F240", "F110", 6), operations=slow))
    # 0.0063 x 0.6 x 18000 x 2 = 136 mm/min; chips of 0.0038 at 110 mm/min and 2 flutes want 14,550 rpm. Derived.
    assert ((Entry("feed", "137"),), (Entry("rpm", "14500"),)) == found.remedies
    assert "set `feed: 137` or `rpm: 14500`" == found.said.todo


def test_a_feed_that_the_job_leaves_open_is_set_with_the_speed() -> None:
    slow = (score_lines(replace(CUTTING, feed=110.0)),)
    (found,) = check(inputs(changed(good(), "F240", "F110", 6), operations=slow))
    assert (Entry("rpm", "14500"), Entry("feed", "110")) == found.remedies[1]
    assert "set `feed: 137` or `rpm: 14500` with `feed: 110`" == found.said.todo


def test_a_feed_that_the_job_does_not_give_is_told_as_a_feed_of_the_text() -> None:
    (found,) = check(fed(110))
    assert () == found.remedies
    assert "feed at least 136 mm/min" == found.said.todo


def test_a_quarter_inch_in_hard_and_in_soft_wood() -> None:
    # 0.13 x 18000 x 2 = 4680 and 0.18 x 18000 x 2 = 6480 mm/min. Derived.
    assert [] == check(fed(4600, bit=3))
    assert ["chip-thick"] == [f.code for f in check(fed(4800, bit=3))]
    assert [] == check(fed(4800, bit=3, janka=400))


def test_going_straight_down_is_never_too_thin() -> None:
    # The plunge of 80 mm/min is 0.0022 mm a tooth, below the band.
    assert [] == check(fed(240))


def test_a_ramp_is_never_too_thin() -> None:
    text = changed(good(), "G1 Y21.3 F240", "G1 Y21.3 Z5.4 F80")
    assert [] == check(inputs(text))


def test_going_straight_down_may_be_too_thick() -> None:
    found = check(inputs(changed(good(), "G1 Z5.75 F80", "G1 Z5.75 F900")))
    assert [("chip-thick", Severity.stop)] == [(f.code, f.severity) for f in found]


def test_moves_that_meet_no_wood_make_no_chip() -> None:
    again = "G0 X16.838 Y-21.3\nG1 Z6.5 F80\nG1 Z5.5 F80\nG1 Y21.3 F900\nG0 Z13\n"
    assert [] == check(inputs(changed(good(), "M5\n", again + "M5\n")))
    deeper = again.replace("Z5.5", "Z5.4")
    assert ["chip-thick"] == [f.code for f in check(inputs(changed(good(), "M5\n", deeper + "M5\n")))]


def test_a_bit_that_meets_wood_with_its_side_only_makes_a_chip() -> None:
    # Its axis runs over the line already cut; 0.2 mm of its edge does not.
    beside = "G0 X17.038 Y-21.3\nG1 Z6.5 F80\nG1 Z5.5 F80\nG1 Y21.3 F900\nG0 Z13\n"
    assert ["chip-thick"] == [f.code for f in check(inputs(changed(good(), "M5\n", beside + "M5\n")))]


def test_each_feed_is_told_once_for_each_feature() -> None:
    text = changed(good(), "F240", "F500", 6)
    assert 1 == len(check(inputs(text)))
    named = changed(good(), "M5\n", scored("F500", depths=[5.3]).replace("score_lines", "more_lines") + "M5\n")
    named = named.replace("F240", "F500")
    assert ["score_lines", "more_lines"] == [f.feature for f in check(inputs(named))]


def test_a_dial_turned_by_hand_is_judged_by_the_jobs_speed() -> None:
    hand = machine(spindle_set_by="hand")
    text = changed(good(), "S18000 M3\nG4 P4\n", "M0\n")
    assert [] == check(inputs(text, on=hand))
    slow = (score_lines(replace(CUTTING, rpm=10000)),)
    # 240 / (10000 x 2) = 0.012 mm, above 0.01134. Derived.
    (found,) = check(inputs(text, on=hand, operations=slow))
    assert ("0.0120 mm a tooth", "most 0.0113 mm") == (found.said.measured, found.said.limit)


def test_a_pointed_bit_is_judged_between_tip_and_rim() -> None:
    # Tip 0.1, rim 6.0: as one of 3.05 mm, about 0.019 to 0.058 mm a tooth: 690 to 2080 mm/min. Derived.
    assert [] == check(fed(1000, bit=4))
    assert ["chip-thin"] == [f.code for f in check(fed(600, bit=4))]
    assert ["chip-thick"] == [f.code for f in check(fed(2300, bit=4))]
