"""Something holds the part when it is cut free. Sizes are common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.words_builder import CUTTING, good, inputs, job
from toolpaths.geometry.loop import Loop
from toolpaths.operations.operation import Contour, Tab
from toolpaths.verification.checks.shape.tabs import check
from toolpaths.verification.finding import Finding, Severity


def around(
    count: int = 4, length: float = 8.0, height: float = 1.5, *, long: float = 290.0, floor: float = -0.2
) -> Contour:
    """An outline as long as that, with so many tabs."""
    return Contour(
        feature="outline",
        job_line=33,
        bit="quarter",
        cutting=CUTTING,
        title="outline",
        loop=Loop.polygon([(0, -20), (long, -22), (long, 22), (0, 20)]),
        top=6.0,
        floor=floor,
        kerf=6.6,
        tabs=tuple(Tab((20.0 + 30 * i, -20.0), (1.0, 0.0), length, height) for i in range(count)),
    )


def found(outline: Contour, hold: Any = None, units: Any = "mm") -> list[Finding]:
    return check(inputs(good(), of=job(hold=hold, units=units), operations=(outline,)))


def test_four_sound_tabs_hold() -> None:
    assert [] == found(around())


def test_no_tabs_are_warned_of() -> None:
    (finding,) = found(around(0))
    assert Severity.warn == finding.severity
    assert "tab-weak" == finding.code
    assert 33 == finding.job_line
    assert "the outline goes through without a tab, and no hold is named" in finding.message
    assert "set `tabs: {count: 2, length: 5, height: 1}` or more, or hold it" in finding.message


@pytest.mark.parametrize(("hold", "warns"), [("tape", 0), ("vacuum", 0), ("clamps", 1)])
def test_tape_and_vacuum_hold_the_part_without(hold: str, warns: int) -> None:
    assert warns == len(found(around(0), hold))


def test_clamps_hold_the_blank_and_not_the_part() -> None:
    assert "hold: clamps holds the blank, not the part" in found(around(0), "clamps")[0].message


def test_an_outline_that_does_not_go_through_needs_none() -> None:
    assert [] == found(around(0, floor=1.0))


@pytest.mark.parametrize(
    ("outline", "says"),
    [
        (around(1), "1 tab for a part 290 mm long (at least 2)"),
        (around(3, long=301.0), "3 tabs for a part 301 mm long (at least 4)"),
        (around(4, length=4.9), "4.90 mm of length (at least 5.00 mm)"),
        (around(4, height=0.9), "0.90 mm of height (at least 1.00 mm)"),
    ],
)
def test_too_few_or_too_small_ones_are_warned_of(outline: Contour, says: str) -> None:
    (finding,) = found(outline)
    assert says in finding.message


@pytest.mark.parametrize("outline", [around(2), around(3, long=299.0), around(4, length=5.0, height=1.0, long=400.0)])
def test_just_enough_is_enough(outline: Contour) -> None:
    assert [] == found(outline)


def test_an_inch_job_is_told_in_inches() -> None:
    (finding,) = found(around(1), units="in")
    assert "1 tab for a part 11.4 in long" in finding.message
    assert "set `tabs: {count: 2, length: 0.315, height: 0.0591}` or more" in finding.message
