"""Dowels touch the blank where a job's stop stands: two where there is room, one where it is short."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, box

from tests.support.jig_scene import jig_context, lying, stop
from toolpaths.common.errors import FeatureError
from toolpaths.features.jig_kinds.stop_pins import StopPins
from toolpaths.job.stock import KeepOut

BOX = (-110.0, -45.0, 190.0, 45.0)


def dowels(it: KeepOut, diameter: float = 6.0) -> list[tuple[float, float]]:
    feature = StopPins(bit="eighth", diameter=diameter, depth=8.0)
    seen = jig_context(feature, served=(lying(box=BOX, stops=(it,)),))
    return [(d.asked.centroid.x, d.asked.centroid.y) for d in feature.demands(seen)]


SIDES = {
    "left end": lambda low, high: stop((-130.0, -110.0), (low, high)),
    "right end": lambda low, high: stop((190.0, 210.0), (low, high)),
    "near edge": lambda low, high: stop((low, high), (-60.0, -45.0)),
    "far edge": lambda low, high: stop((low, high), (45.0, 60.0)),
}


@pytest.mark.parametrize("side", SIDES)
@given(low=st.floats(-40, 0), long=st.floats(6, 40), d=st.floats(4, 6))
def test_they_touch_the_blank_and_stand_in_the_stop_s_place(side: str, low: float, long: float, d: float) -> None:
    """A circle of half the width about each middle: it is 0 away from the blank, and inside the stop's box."""
    it = SIDES[side](low, low + long)
    found = dowels(it, d)
    assert len(found) == (2 if long >= 3 * d else 1)
    for place in found:
        assert Point(place).distance(box(*BOX)) == pytest.approx(d / 2, abs=1e-6)
        assert box(it.x[0], it.y[0], it.x[1], it.y[1]).buffer(1e-6).covers(Point(place).buffer(d / 2))


def test_a_stop_that_reaches_past_the_blank_has_its_dowels_on_the_blank() -> None:
    ys = sorted(y for _, y in dowels(stop((-130.0, -110.0), (-60.0, 60.0))))
    assert ys == pytest.approx([-42.0, 42.0])


@pytest.mark.parametrize(
    ("it", "says"),
    [
        (stop((-130.0, -110.6), (-20.0, 20.0)), "does not touch its blank"),
        (stop((-130.0, -110.0), (50.0, 70.0)), "does not touch its blank"),
        (stop((-130.0, -110.0), (0.0, 5.0)), "narrower than its dowels"),
        (stop((-115.0, -110.0), (-20.0, 20.0)), "narrower than its dowels"),
    ],
)
def test_a_stop_that_no_dowel_can_be_is_refused(it: KeepOut, says: str) -> None:
    with pytest.raises(FeatureError, match=says):
        dowels(it)
