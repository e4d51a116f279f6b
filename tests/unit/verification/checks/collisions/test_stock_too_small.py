"""The blank holds the finished part and is thick enough to clean up."""

import pytest
from shapely.geometry import Polygon, box

from tests.support.check_input_builder import demand, inputs, operation, program
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.checks.collisions import stock_too_small
from toolpaths.verification.finding import Finding, Severity

TEXT = program("G0 X-20 Y0")


def check(*demands: Demand, **rest: object) -> list[Finding]:
    found = stock_too_small.check(
        inputs(TEXT, demands=demands, operations=[operation(d.feature) for d in demands], **rest)  # type: ignore[arg-type]
    )
    assert all(f.severity is Severity.stop for f in found)
    return found


@pytest.mark.parametrize(("least", "expected"), [(8.0, 0), (7.9, 1)])
def test_the_thinnest_place_of_the_blank_must_clean_up(least: float, expected: int) -> None:
    plane = demand(box(-10, -15, 50, 15), 8.0, feature="plane", everywhere=True)
    found = check(plane, thickness=(least, 10.0))
    assert expected == len(found)
    assert all(("7.90 mm at its thinnest", "8.00 mm must stay") == (f.said.measured, f.said.limit) for f in found)


@pytest.mark.parametrize(("end", "expected"), [(50.0, 0), (50.1, 1)])
def test_a_groove_must_end_on_the_blank(end: float, expected: int) -> None:
    found = check(demand(box(20, -2, end, 2), 8.0, name="channel"))
    assert expected == len(found)
    assert all(
        ("channel goes past the right end of the blank", "0.10 mm") == (f.said.wrong, f.said.measured) for f in found
    )


def test_its_run_out_may_leave_the_blank() -> None:
    assert [] == check(demand(box(20, -2, 50, 2), 8.0, run_out=box(50, -2, 60, 2)))


def band(part: Polygon, tab: Polygon | None = None) -> list[Demand]:
    around = part.buffer(6).difference(part)
    if tab is None:
        return [demand(around, 0.0, feature="outline", name="outline")]
    return [
        demand(around.difference(tab), 0.0, feature="outline", name="outline"),
        demand(tab, 1.5, feature="outline", name="tab 1", radius=0.0),
    ]


@pytest.mark.parametrize(("end", "expected"), [(50.0, 0), (50.2, 1)])
def test_the_kerf_around_a_part_may_leave_the_blank_and_the_part_may_not(end: float, expected: int) -> None:
    found = check(*band(box(0, -10, end, 10)))
    assert expected == len(found)
    assert all("past the right end of the blank" in f.said.wrong and "0.20 mm" == f.said.measured for f in found)


def test_tabs_that_part_the_band_do_not_hide_the_part() -> None:
    def found(y: float) -> list[Finding]:
        return check(*band(box(0, -10, 40, y), box(10, y, 18, y + 7)))[:1]

    assert [] == found(15.0)
    (one,) = found(15.3)
    assert "past the far edge of the blank" in one.said.wrong
    assert "0.30 mm" == one.said.measured
