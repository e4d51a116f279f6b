"""The surface that the bit is set on is named, lies where the text says, and still stands."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.words_builder import changed, good, inputs, job, machine, messages
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.checks.program.touch_off import check, stands
from toolpaths.verification.finding import Severity

TOUCH = "Touch off: bed, Z 0.000 mm"
BLANK = DepthMap.over((-12.0, -30.0, 108.0, 30.0), 6.0, 0.5)


def touching(what: str) -> str:
    return changed(good(), TOUCH, f"Touch off: {what}")


def with_patch(side: float, height: float = 8.0, pitch: float = 0.5, x: float = 31.3, y: float = -7.2) -> DepthMap:
    """The planed board with one square of another height on it."""
    board = DepthMap.over((-12.0, -30.0, 108.0, 30.0), 6.0, pitch)
    heights = board.heights.copy()
    xs, ys = board.xs, board.ys
    heights[np.ix_((ys >= y) & (ys < y + side), (xs >= x) & (xs < x + side))] = height
    return board.with_heights(heights)


def test_the_bed_is_at_zero_where_zero_is_on_the_bed() -> None:
    assert [] == check(inputs())


def test_the_bed_is_below_zero_where_zero_is_on_the_stocks_top() -> None:
    of = job(z="stock top")
    assert [] == check(inputs(touching("bed, Z -8.000 mm"), of=of))
    (found,) = check(inputs(of=of))
    assert Severity.stop == found.severity
    assert "the header gives a wrong Z for the bed" == found.said.wrong
    assert ("Z 0.000 mm makes every cut 8.000 mm too low", "must be Z -8.000 mm") == (
        found.said.measured,
        found.said.limit,
    )


def test_the_planed_face_is_where_the_job_leaves_it() -> None:
    assert [] == check(inputs(touching("planed face, Z 6.000 mm")))
    assert [] == check(inputs(touching("planed face, Z -2.000 mm"), of=job(z="stock top")))
    assert (
        "Z 5.900 mm makes every cut 0.100 mm too high; must be Z 6.000 mm"
        in messages(check(inputs(touching("planed face, Z 5.900 mm"))))[0]
    )


@pytest.mark.parametrize(("z", "stops"), [(6.0005, False), (6.001, True), (5.9995, False), (5.999, True)])
def test_half_of_the_last_digit_is_rounding(z: float, stops: bool) -> None:
    assert stops == bool(check(inputs(touching(f"planed face, Z {z:.4f} mm"))))


def test_in_inches_the_last_digit_is_longer() -> None:
    # 6 mm is 0.23622 in; four decimals carry 0.2362, which is 5.99948 mm.
    inch = machine(units="in", decimals=4)
    text = changed(touching("planed face, Z 0.2362 in"), "G21\n", "G20\n")
    assert [] == check(inputs(text, on=inch))
    assert 1 == len(check(inputs(changed(text, "0.2362 in", "0.2361 in"), on=inch)))


@pytest.mark.parametrize("line", ["", "(Touch off: bed)\n"])
def test_a_header_without_a_touch_off_is_a_stop(line: str) -> None:
    (found,) = check(inputs(changed(good(), f"({TOUCH})\n", line)))
    assert "the header does not say" in found.message


def test_a_surface_that_nobody_knows_is_a_stop() -> None:
    (found,) = check(inputs(touching("clamp, Z 14.000 mm")))
    assert "the header sets the bit on a surface that is not in the job" == found.said.wrong
    assert "Use bed, stock top or planed face. Header: 'clamp'" in found.message


def test_the_stocks_top_no_longer_stands_once_it_is_planed() -> None:
    text = touching("stock top, Z 8.000 mm")
    (found,) = check(inputs(text))
    assert (
        "no flat place is left on the stock top to set the bit on. Set it on the bed beside the blank" in found.message
    )
    assert ("Looked for at 8.00 mm above the bed", "least 10 mm square") == (found.said.measured, found.said.limit)
    (found,) = check(inputs(touching("stock top, Z 0.000 mm"), of=job(z="stock top")))
    assert "zero on the bed, or leave some of the blank's top" == found.said.todo
    assert [] == check(inputs(text, before=with_patch(11.0)))


@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5, 1.0])
def test_a_square_that_is_large_enough_is_found_wherever_it_lies(pitch: float) -> None:
    rng = np.random.default_rng(7)
    for x, y in rng.uniform((-12, -30), (96, 18), (5, 2)):
        assert stands(with_patch(11.0 + pitch, pitch=pitch, x=float(x), y=float(y)), 8.0)


@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5, 1.0])
def test_one_that_is_too_small_is_not(pitch: float) -> None:
    assert not stands(with_patch(9.9 - pitch, pitch=pitch), 8.0)


def test_level_means_within_two_hundredths() -> None:
    assert stands(with_patch(12.0, height=8.019), 8.0)
    assert not stands(with_patch(12.0, height=8.021), 8.0)


def test_a_long_strip_is_no_square() -> None:
    heights = BLANK.heights.copy()
    heights[10:29, :] = 8.0
    assert not stands(BLANK.with_heights(heights), 8.0)


# A bit that a changer brings

CHANGED = changed(good(), "T2\n", "T2 M6\n")
CHANGER = machine(tool_change="automatic")
SAYS = "goes down without a pause to set its Z, or to check that the machine has taken its length"


@pytest.mark.parametrize(
    ("text", "stops"),
    [
        (CHANGED, True),
        (changed(CHANGED, "T2 M6\n", "M0\nT2 M6\n"), True),
        (changed(CHANGED, "T2 M6\n", "T2 M6\nM0\n"), False),
        (changed(CHANGED, "T2 M6\n", "T2 M6\nG0 Z13\nM1\n"), False),
        (changed(CHANGED, "M5\n", "M0\nM5\n"), True),
    ],
)
def test_a_pause_follows_a_change_of_bits_by_the_machine(text: str, stops: bool) -> None:
    found = check(inputs(text, on=CHANGER))
    assert stops == bool(found)
    if stops:
        assert SAYS in found[0].message
        assert Severity.stop == found[0].severity
        assert text.split("\n").index("T2 M6") + 1 == found[0].program_line


def test_each_change_wants_its_own_pause() -> None:
    twice = changed(changed(CHANGED, "T2 M6\n", "T2 M6\nM0\n"), "M5\n", "M5\nT3 M6\nG0 Z13\nG0 X5\nG1 Z5 F80\nG0 Z13\n")
    (found,) = check(inputs(twice, on=CHANGER))
    assert twice.split("\n").index("T3 M6") + 1 == found.program_line
    assert [] == check(inputs(changed(twice, "T3 M6\n", "T3 M6\nM0\n"), on=CHANGER))


def test_a_change_after_which_nothing_goes_down_wants_none() -> None:
    assert [] == check(inputs(changed(good(), "M5\n", "M5\nT3 M6\n"), on=CHANGER))
