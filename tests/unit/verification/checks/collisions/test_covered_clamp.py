"""A face cannot be planed whole while a clamp stands on it."""

import pytest
from shapely.geometry import box

from tests.support.check_input_builder import demand, inputs, operation, program
from toolpaths.job.stock import KeepOut
from toolpaths.verification.checks.collisions import covered_clamp
from toolpaths.verification.finding import Severity

PLANED = demand(box(-10, -15, 50, 15), 8.0, feature="plane", name="face", everywhere=True)
TEXT = program("G0 X-20 Y0")


def found(clamp: KeepOut, feature: str = "plane") -> list[str]:
    of = inputs(TEXT, demands=[PLANED], operations=[operation(feature)], keep_out=[clamp], begun=["plane"])
    findings = covered_clamp.check(of)
    assert all(f.severity is Severity.stop and f.feature == "plane" for f in findings)
    return [f.message for f in findings]


@pytest.mark.parametrize(("x", "expected"), [((50.0, 60.0), 0), ((49.9, 60.0), 1)])
def test_a_clamp_may_stand_against_the_blank_and_not_on_it(x: tuple[float, float], expected: int) -> None:
    assert expected == len(found(KeepOut(name="toe clamp", x=x, y=(-5.0, 5.0), height=12.0)))


def test_the_message_says_how_much_of_the_blank_it_covers() -> None:
    (message,) = found(KeepOut(name="toe clamp", x=(44.0, 60.0), y=(-5.0, 5.0), height=12.0))
    assert "toe clamp covers wood to be planed. Hold it elsewhere. 6.00 by 10.00 mm, 4.00 mm too high" == message


def test_a_screw_sunk_below_the_planed_face_is_in_nobodys_way() -> None:
    assert [] == found(KeepOut(name="screw", x=(44.0, 48.0), y=(-2.0, 2.0), height=8.0))
    assert 1 == len(found(KeepOut(name="screw", x=(44.0, 48.0), y=(-2.0, 2.0), height=8.1)))


def test_only_the_program_that_planes_is_told() -> None:
    assert [] == found(KeepOut(name="toe clamp", x=(44.0, 60.0), y=(-5.0, 5.0), height=12.0), feature="pocket")
