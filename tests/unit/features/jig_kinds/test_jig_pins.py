"""A hole for each pin of the jobs that lie on a jig: at their places, once, as deep below the seat as asked."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.jig_scene import FACE, jig_context, lying
from toolpaths.common.errors import FeatureError
from toolpaths.features.jig_kinds.jig_pins import JigPins
from toolpaths.features.jig_kinds.seat import Seat
from toolpaths.job.jig import STAYS_UNDER, ServedSetup
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Bore
from toolpaths.target_shape.demand import Demand


def pins(context: SetupContext) -> JigPins:
    return next(f for f in context.setup.features if isinstance(f, JigPins))


def wanted(context: SetupContext) -> list[Demand]:
    return list(pins(context).demands(context))


def bores(context: SetupContext) -> list[Bore]:
    return [o for o in pins(context).operations(context) if isinstance(o, Bore)]


def scene(*served: ServedSetup, depth: float = 8.0, **job: str) -> SetupContext:
    return jig_context(JigPins(bit="pinner", depth=depth), served=served, **job)


@given(x=st.floats(-100, 180), y=st.floats(-40, 40), d=st.floats(4, 12), depth=st.floats(1, 19), left=st.booleans())
def test_a_hole_is_where_the_machine_sees_the_pin(x: float, y: float, d: float, depth: float, left: bool) -> None:
    """A disc of pi d^2 / 4; y mirrored in instrument coordinates where the maker is left-handed."""
    seen = scene(lying(pins=((x, y, d),)), depth=depth, handed="left" if left else "right")
    (found,) = wanted(seen)
    assert found.asked.area == pytest.approx(math.pi * d * d / 4, rel=1e-3)
    assert (found.asked.centroid.x, seen.mirror * found.asked.centroid.y) == pytest.approx((x, y), abs=1e-6)
    assert float(found.floor.height(np.zeros(1), np.zeros(1))[0]) == pytest.approx(FACE - depth)
    (bore,) = bores(seen)
    assert (bore.top, bore.floor) == pytest.approx((FACE, FACE - depth))
    assert (bore.centres[0, 0], seen.mirror * bore.centres[0, 1]) == pytest.approx((x, y))


def test_equal_places_are_bored_once() -> None:
    one = lying("neck", "back", pins=((-90.0, 0.0, 6.0), (170.0, 5.0, 8.0)))
    other = lying("board", "face", pins=((-90.0, 0.005, 6.0),))
    seen = scene(one, other)
    assert 2 == len(wanted(seen))
    assert pins(seen).holes(seen)[0].of == ("neck, back", "board, face")


@pytest.mark.parametrize("apart", [0.0, 3.0, 5.9])
def test_two_that_overlap_are_refused_with_their_jobs(apart: float) -> None:
    one, other = lying("neck", "back", pins=((20.0, 0.0, 6.0),)), lying("board", "face", pins=((20.0, apart, 5.8),))
    with pytest.raises(FeatureError, match=r"board, face.*neck, back.*overlap") as told:
        wanted(scene(one, other))
    assert "move one of them in its own job" in told.value.hint


def test_two_beside_each_other_are_not() -> None:
    assert 2 == len(wanted(scene(lying(pins=((20.0, 0.0, 6.0), (20.0, 6.1, 6.0))))))


def test_in_the_seat_it_is_bored_from_there() -> None:
    seat = Seat.model_validate({"bit": "quarter", "for": "neck", "depth": 2.0, "room": 2.0})
    seen = jig_context(seat, JigPins(bit="pinner", depth=8.0), served=(lying(pins=((20.0, 0.0, 6.0),)),))
    (bore,) = bores(seen)
    assert (bore.top, bore.floor) == (FACE - 2, FACE - 10)


@pytest.mark.parametrize(("depth", "fits"), [(FACE - STAYS_UNDER, True), (FACE - STAYS_UNDER + 0.01, False)])
def test_five_millimetres_of_the_jig_stay_under_it(depth: float, fits: bool) -> None:
    seen = scene(lying(pins=((20.0, 0.0, 6.0),)), depth=depth)
    if fits:
        assert bores(seen)
    else:
        with pytest.raises(FeatureError, match=r"of the jig would be left under it") as told:
            bores(seen)
        assert told.value.key == "depth"


def test_without_pins_there_is_nothing_to_bore() -> None:
    with pytest.raises(FeatureError, match="needs a pin") as told:
        wanted(scene(lying()))
    assert "leave `jig_pins` out" in told.value.hint


def test_the_list_for_the_hands_says_which_pins_belong_to_which_setup() -> None:
    seen = scene(lying(pins=((20.0, 0.0, 6.0), (60.0, 0.0, 8.0))), lying("board", "face"))
    (said,) = [work.what for work in pins(seen).by_hand(seen, None)]  # type: ignore[arg-type]
    assert said == "For neck, back: set its 2 pins (6.00 mm and 8.00 mm). Take out the pins of other setups."
