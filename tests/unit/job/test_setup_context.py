"""A setup in its surroundings: where blank and zero lie, from which face depths count, how high travel is safe."""

from __future__ import annotations

import pytest

from tests.support.setup_builder import BENCH, DIAL, MAPLE, context
from toolpaths.features.kinds.outline import Outline
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.setup_context import setup_context_of

UNEVEN = {"length": 510, "width": 70, "thickness": {"min": 7.6, "max": 8.2}}
CORNER = {"x": "stock end", "y": "stock edge", "z": "stock top"}


def test_depths_count_from_the_face_that_the_setup_planes() -> None:
    assert 6.0 == context(Plane(bit="planer", leave=6)).face


def test_depths_count_from_the_top_where_nothing_planes() -> None:
    assert 8.2 == context(Outline(bit="quarter"), stock=UNEVEN).face


def test_the_top_is_the_highest_measured_point() -> None:
    s = context(Plane(bit="planer", leave=6), stock=UNEVEN)
    assert (8.2, 7.6) == (s.top, s.least)


def test_the_blank_lies_from_its_left_end_to_the_nut_and_half_its_width_to_the_centreline() -> None:
    assert (-15.0, -35.0, 495.0, 35.0) == context().stock_box


def test_the_centreline_may_lie_elsewhere() -> None:
    assert (-15.0, -30.0, 495.0, 40.0) == context(setup={"centre_at": 30}).stock_box


def test_zero_lies_where_the_job_says() -> None:
    assert (0.0, 0.0, 0.0) == context().zero
    assert (-15.0, -35.0, 8.2) == context(stock=UNEVEN, setup={"zero": CORNER}).zero


def test_travel_is_above_wood_and_clamps_alike() -> None:
    high = {"name": "clamp", "x": (-40, -20), "y": (-10, 10), "height": 22}
    low = {**high, "height": 4}
    assert 8 + 5 == context().travel_height  # the bench router's safe height is 5
    assert 22 + 5 == context(setup={"keep_out": [high]}).travel_height
    assert 8 + 5 == context(setup={"keep_out": [low]}).travel_height


def test_a_left_handed_instrument_sees_the_blank_mirrored() -> None:
    left = context(setup={"centre_at": 30}, handed="left")
    assert (-15.0, -30.0, 495.0, 40.0) == left.stock_box
    assert (-15.0, -40.0, 495.0, 30.0) == left.instrument_box


def test_the_tolerance_is_the_comparison_s_plus_what_the_text_can_show() -> None:
    # eps = 0.02 + chord tolerance + half an output digit: the contract's.
    assert 0.0205 == pytest.approx(context(machine=BENCH).tolerance)
    assert 0.02 + 0.0002 * 25.4 + 0.00005 * 25.4 == pytest.approx(context(machine=DIAL).tolerance)


def test_a_later_setup_begins_on_the_face_that_an_earlier_one_planed() -> None:
    first = context(Plane(bit="planer", leave=6), stock=UNEVEN)
    second = context(Outline(bit="quarter"), setup={"name": "again", "zero": {**CORNER, "x": "nut"}}).setup
    whole = first.job.model_copy(update={"setups": (first.setup, second)})
    later = setup_context_of(whole, BENCH, MAPLE, whole.setups[1])
    assert (6.0, 6.0, 6.0) == (later.top, later.least, later.face)
    assert 6.0 == later.zero[2]
