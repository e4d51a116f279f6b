"""A pocket as large as a blank and its room, with corners that a square blank goes into."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from tests.support.jig_scene import FACE, jig_context, lying
from toolpaths.common.errors import FeatureError
from toolpaths.features.jig_kinds.seat import RELIEF, Seat
from toolpaths.job.jig import ServedSetup
from toolpaths.operations.operation import Clear


def seat(**keys: Any) -> Seat:
    return Seat.model_validate({"bit": "quarter", "for": "neck", "depth": 2.0, **keys})


@given(room=st.floats(0, 6), depth=st.floats(0.5, 10), left=st.booleans(), shift=st.floats(-10, 10))
def test_it_is_a_rectangle_with_half_rounds_through_its_corners(
    room: float, depth: float, left: bool, shift: float
) -> None:
    """L W + 4 (pi r^2 / 2 - r^2): the half disc at a corner less the triangle of it that lies in the rectangle."""
    feature = seat(room=room, depth=depth)
    blank = (-110.0, -45.0 + shift, 190.0, 45.0 + shift)
    seen = jig_context(feature, served=(lying(box=blank),), handed="left" if left else "right")
    (found,) = feature.demands(seen)
    r = RELIEF * seen.bits["quarter"].diameter / 2
    area = (300 + room) * (90 + room) + 4 * (math.pi * r * r / 2 - r * r)
    assert found.asked.area == pytest.approx(area, rel=1e-5)
    assert float(found.floor.height(np.zeros(1), np.zeros(1))[0]) == pytest.approx(FACE - depth)
    # A blank with square corners goes in, as the machine sees it.
    x0, y0, x1, y1 = blank
    own = box(x0, y0, x1, y1) if seen.mirror > 0 else box(x0, -y1, x1, -y0)
    assert found.asked.buffer(1e-9).covers(own)
    (clear,) = feature.operations(seen)
    assert isinstance(clear, Clear)
    assert clear.areas[0].shape().symmetric_difference(found.asked).area < 0.01
    assert (clear.top, clear.floor) == pytest.approx((FACE, FACE - depth))


def test_both_sides_of_a_blank_go_in() -> None:
    """A neck whose centreline is off its middle lies mirrored once it is turned over: the seat is around both."""
    served = (
        lying("neck", "face", box=(-110.0, -40.0, 190.0, 50.0)),
        lying("neck", "back", box=(-110.0, -50.0, 190.0, 40.0)),
    )
    feature = seat(room=1.0)
    (found,) = feature.demands(jig_context(feature, served=served))
    assert found.asked.bounds[1] < -50.5 < 50.5 < found.asked.bounds[3]


@pytest.mark.parametrize(
    ("keys", "served", "says"),
    [
        ({}, (lying("board", "face"),), "no neck lies on this jig"),
        ({}, (lying(), lying("board", "face", box=(-40.0, -32.0, 200.0, 32.0))), "lie on its rim"),
        ({}, (lying(box=(-148.0, -45.0, 190.0, 45.0)),), "would be left beside it"),
        ({"depth": 20.0}, (lying(),), "of the jig would be left under it"),
    ],
)
def test_a_seat_that_cannot_be_is_refused(keys: dict[str, Any], served: tuple[ServedSetup, ...], says: str) -> None:
    feature = seat(**keys)
    with pytest.raises(FeatureError, match=says):
        list(feature.operations(jig_context(feature, served=served)))


def test_a_jig_has_one() -> None:
    seen = jig_context(seat(), served=(lying(),))
    first = seen.setup.features[1]
    two = seen.setup.model_copy(update={"features": (*seen.setup.features, first.placed("seat 2", 40))})
    job = seen.job.model_copy(update={"setups": (two,)})
    with pytest.raises(FeatureError, match="a jig has only one seat"):
        list(first.demands(replace(seen, job=job, setup=two)))  # type: ignore[attr-defined]
