"""A cut that wants more watts than the spindle has is told; without watts in the machine file nothing is judged."""

from __future__ import annotations

from tests.support.check_input_builder import MACHINE, inputs, program
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.loads.power import check
from toolpaths.verification.finding import Severity


def slot(watts: float | None, depth: float = 5.0, feed: float = 3000) -> CheckInput:
    on = MACHINE.model_copy(update={"spindle": MACHINE.spindle.model_copy(update={"power": watts})})
    return inputs(program(f"G0 X-14 Y0\nG1 Z{10 - depth:g} F400\nG1 X44 F{feed:g}\nG0 Z16\n"), on=on)


# 6 x 5 mm at 3000 mm/min is 1500 mm3/s: 15 to 90 W at 10 to 60 N/mm2 (from memory). At 18000 of 24000 rpm a spindle
# has 0.5 x 18000 / 24000 = 0.375 of its label (common practice, no source): 90 W want a label of 240.


def test_a_strong_spindle_is_quiet_and_a_weak_one_is_told() -> None:
    assert [] == check(slot(260))
    (found,) = check(slot(220))
    assert ("power", Severity.warn) == (found.code, found.severity)
    assert "up to 90 W" in found.said.measured
    assert "it has 82 W" == found.said.limit


def test_twice_as_much_stops() -> None:
    assert [Severity.warn] == [f.severity for f in check(slot(130))]
    assert [Severity.stop] == [f.severity for f in check(slot(110))]


def test_torque_is_said_too() -> None:
    # 90 W / (2 pi 300 / s) = 0.048 Nm. Derived.
    (found,) = check(slot(220))
    assert "0.05 Nm" in found.said.measured


def test_without_watts_nothing_is_said() -> None:
    assert [] == check(slot(None, depth=9, feed=3000))


def test_the_feed_of_the_remedy_is_enough() -> None:
    (found,) = check(slot(220))
    assert "feed at most 2750 mm/min" == found.said.todo
    assert [] == check(slot(220, feed=2750))
