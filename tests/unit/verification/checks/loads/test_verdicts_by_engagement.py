"""One feed, three verdicts: in a slot, on a narrow pass and in air."""

from __future__ import annotations

import pytest

from tests.support.check_input_builder import inputs, program
from toolpaths.verification.checks.loads.chip import check
from toolpaths.verification.finding import Severity

SLOT = "G0 X-14 Y0\nG1 Z9 F1000\nG1 X44 F4800\nG0 Z16\n"


def _again(y: float, feed: float = 4800) -> str:
    return f"G0 X-14 Y{y:g}\nG1 Z9 F1000\nG1 X44 F{feed:g}\nG0 Z16\n"


def test_a_slot_a_narrow_pass_and_air_at_one_feed() -> None:
    # 6 mm, hard wood: the band ends at 0.06 + (0.13 - 0.06) x (6 - 3.175) / 3.175 = 0.1223; 4800 / 36000 is 0.1333.
    # Bands: common practice, no source. On 0.9 mm of 6, q is 0.15, and the chip 0.714 of that: 0.095. Derived.
    assert ["chip-thick"] == [f.code for f in check(inputs(program(SLOT)))]
    slow = SLOT.replace("F4800", "F2400")
    assert [] == check(inputs(program(slow + _again(0.9))))
    assert [] == check(inputs(program(slow + _again(0.0))))
    half = check(inputs(program(slow + _again(3.0))))
    assert ["chip-thick"] == [f.code for f in half]
    # At half of the bit's width the chip is as thick as the feed makes it.
    assert "0.1333 mm a tooth" == half[0].said.measured


def test_a_narrow_pass_thins_and_that_warns_only() -> None:
    # 0.04 mm of 6 is q 0.0067: 0.163 of 0.0528 a tooth is 0.0086, under 0.01, where bits rub. Common practice, no
    # source.
    slow = SLOT.replace("F4800", "F2400")
    found = check(inputs(program(slow + _again(0.04, 1900) + _again(0.08, 1900) + _again(0.12, 1900))))
    assert {"chip-thin"} == {f.code for f in found}
    assert all(f.severity is not Severity.stop for f in found)
    assert 0.0086 == pytest.approx(float(found[0].said.measured.split(" mm")[0]), abs=2e-4)
    assert "least 0.0100 mm" == found[0].said.limit
    assert all("feed faster" not in f.said.todo.replace("do not feed faster", "") for f in found)
