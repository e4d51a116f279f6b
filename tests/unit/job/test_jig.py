"""The seat of a jig and what stands around it, as those see it whose blank lies on it."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from tests.support.jig_scene import FACE, jig_context, lying, screws
from toolpaths.features.jig_kinds.seat import Seat as SeatFeature
from toolpaths.job.jig import Seat, on_seat, walls_of
from toolpaths.job.obstacles import Obstacle, ObstacleKind, Present

WHOLE = (-150.0, -85.0, 270.0, 85.0)


def test_without_a_seat_the_planed_top_is_it() -> None:
    seen = jig_context(served=(lying(),))
    assert seen.seat == Seat(FACE)
    assert list(walls_of(seen.seat, seen.stock_box, FACE)) == []


@given(depth=st.floats(0.5, 12), room=st.floats(0, 8))
def test_its_walls_are_all_of_the_jig_but_the_seat(depth: float, room: float) -> None:
    """Four boxes that cover the jig less the pocket, each point once: areas add up, and their union's is the same."""
    seat = SeatFeature.model_validate({"bit": "quarter", "for": "neck", "depth": depth, "room": room})
    seen = jig_context(seat, served=(lying(),))
    assert seen.seat.height == pytest.approx(FACE - depth)
    walls = list(walls_of(seen.seat, seen.stock_box, FACE))
    areas = [box(*it.box) for it in walls]
    ring = 420 * 170 - (300 + room) * (90 + room)
    assert sum(a.area for a in areas) == pytest.approx(ring)
    assert shapely.union_all(areas).area == pytest.approx(ring)
    assert [it.top for it in walls] == pytest.approx([depth] * 4)
    assert all(it.of_jig and it.present is Present.always for it in walls)


def test_what_stands_on_the_jig_counts_from_its_seat_and_stays() -> None:
    it = Obstacle(ObstacleKind.clamp, "dog", WHOLE, 30.0, Present.before_screws)
    seen = on_seat(it, Seat(22.5, (0, 0, 1, 1)))
    assert (seen.name, seen.top, seen.present, seen.of_jig) == ("the jig's dog", 7.5, Present.always, True)


@pytest.mark.parametrize(
    ("other", "same"),
    [
        ({}, True),
        ({"screws": (screws((10.0, 0.0), head=9.0),)}, True),
        ({"screws": (screws((10.0, 0.1)),)}, False),
        ({"pins": ((10.0, 0.0, 6.0),)}, False),
        ({"box": (-110.0, -45.0, 191.0, 45.0)}, False),
        ({"setup": "face"}, False),
    ],
)
def test_a_jig_s_programs_hang_on_places_and_names_alone(other: dict[str, object], same: bool) -> None:
    usual = {"screws": (screws((10.0, 0.0)),)}
    assert (lying(**usual).cut == lying(**{**usual, **other}).cut) == same
