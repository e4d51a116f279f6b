"""A bit that leans further than a fit bears is told, and stopped at twice as much; the figures say that they screen.

The bit is 1 mm, its edges 8 mm long, its shank 3 mm, 14 mm out of the collet, carbide, and it bends as a
stepped bar does (elementary mechanics).
"""

from __future__ import annotations

import math
import re

import pytest

from tests.support.check_input_builder import BITS, inputs, program
from toolpaths.job.bits.flat import Flat
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.loads.deflection import LIMIT, check
from toolpaths.verification.finding import Severity

LONG = Flat(shape="flat", diameter=1.0, flutes=2, cutting_length=8.0, shank=3.0, stickout=14.0)


def slotted(depth: float, feed: float, bit: Flat = LONG) -> CheckInput:
    text = program(f"G0 X-14 Y0\nG1 Z{10 - depth:g} F400\nG1 X44 F{feed:g}\nG0 Z16\n", bit=2)
    return inputs(text, bits={**BITS, 2: ("thin", bit)})


def _leans(force: float, bit: Flat, depth: float) -> float:
    def moment(d: float) -> float:
        return math.pi * d**4 / 64

    c, flutes, whole = depth / 2, bit.cutting_length, bit.stickout

    def part(a: float, b: float) -> float:
        return (b**3 - a**3) / 3 - c * (b**2 - a**2) / 2

    return force / 550e3 * (part(c, flutes) / moment(0.8 * bit.diameter) + part(flutes, whole) / moment(bit.shank))


def _figure(words: str, message: str) -> float:
    found = re.search(words, message)
    assert found is not None, message
    return float(found[1])


def test_a_long_thin_bit_in_a_deep_pass_is_told() -> None:
    # 2880 / 36000 = 0.08 a tooth, 2 deep, 60 N/mm2 (from memory): 9.6 N.
    expected = _leans(9.6, LONG, 2.0)
    (found,) = check(slotted(2.0, 2880))
    assert LIMIT < expected
    assert expected == pytest.approx(_figure(r"about ([\d.]+) mm", found.said.measured), abs=6e-4)
    assert "most 0.100 mm" == found.said.limit


def test_twice_the_limit_stops() -> None:
    def worst(feed: float) -> Severity | None:
        found = check(slotted(2.0, feed))
        return found[0].severity if found else None

    per_feed = _leans(60 * 2.0 / 36000, LONG, 2.0)
    assert None is worst(LIMIT / per_feed * 0.98)
    assert Severity.warn is worst(LIMIT / per_feed * 1.02)
    assert Severity.warn is worst(2 * LIMIT / per_feed * 0.98)
    assert Severity.stop is worst(2 * LIMIT / per_feed * 1.02)


def test_the_remedy_it_names_is_enough() -> None:
    (found,) = check(slotted(2.0, 2880))
    feed = _figure(r"feed at most ([\d.]+) mm/min", found.said.todo)
    assert [] == check(slotted(2.0, feed - 1))


def test_a_shorter_bit_leans_less() -> None:
    short = LONG.model_copy(update={"cutting_length": 3.0, "stickout": 9.0})
    assert [] == check(slotted(2.0, 2880, short))


def test_straight_down_a_bit_is_not_bent() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F900\nG0 Z16\n", bit=2)
    assert [] == check(inputs(text, bits={**BITS, 2: ("thin", LONG)}))


def test_air_pushes_nothing() -> None:
    text = program("G0 X-14 Y0\nG1 Z12 F400\nG1 X44 F3000\nG0 Z16\n", bit=2)
    assert [] == check(inputs(text, bits={**BITS, 2: ("thin", LONG)}))
