"""Posts, strings and the angle between them."""

from __future__ import annotations

from typing import Any

import pytest

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.tuner_posts import (
    nut_spread,
    post_layout,
    posts_of_strings,
    string_angle,
    strings_at_nut,
)
from toolpaths.job.job import Instrument

HEAD = {"length": 160, "width": 72, "thickness": 14}


def instrument(head: dict[str, Any] | None = None, strings: int = 4, **more: Any) -> Instrument:
    neck = {"thickness": {1: 20}, **({} if head is None else {"headstock": head})}
    board = {"width": {"nut": 40, 12: 50}, "overhang": 8, "thickness": 6}
    keys = {"scale_length": 600, "frets": 19, "strings": strings, "board": board, "neck": neck, **more}
    return Instrument.model_validate(keys)


def test_strings_are_spread_evenly_from_the_treble_side() -> None:
    assert [15.0, 5.0, -5.0, -15.0] == pytest.approx(strings_at_nut(instrument(nut_spread=30)).tolist())
    assert [0.0] == strings_at_nut(instrument(strings=1)).tolist()


def test_without_a_spread_it_is_0_82_of_the_nut() -> None:
    # Common practice, no source.
    assert 32.8 == pytest.approx(nut_spread(instrument()))


def test_two_a_side_the_outermost_strings_go_to_the_nearest_posts() -> None:
    posts = [(-85.0, 20.0), (-45.0, 20.0), (-45.0, -20.0), (-85.0, -20.0)]
    assert [1, 0, 3, 2] == posts_of_strings(posts, 4)


def test_in_one_row_the_strings_go_in_turn() -> None:
    row = [(-40.0 - 25 * k, -20.0 + 2 * k) for k in range(6)]
    # All on the bass side: string 6, the bass, to the nearest.
    assert [5, 4, 3, 2, 1, 0] == posts_of_strings(row, 6)
    assert [0, 1, 2, 3, 4, 5] == posts_of_strings([(x, -y) for x, y in row], 6)


def test_other_posts_than_strings_have_no_order() -> None:
    assert None is posts_of_strings([(-40.0, 20.0)], 4)


def test_the_angle_is_counted_from_the_nut_line() -> None:
    # atan2(1, 1) and atan2(10, 100). Elementary geometry.
    assert 45.0 == pytest.approx(string_angle(5.0, (-40.0, 45.0)))
    assert 5.710593 == pytest.approx(string_angle(-5.0, (-100.0, -15.0)), abs=1e-6)
    assert 90.0 == pytest.approx(string_angle(0.0, (3.0, 10.0)))


def test_a_layout_numbers_posts_as_strings_are_numbered() -> None:
    places = post_layout(instrument(HEAD), (2, 2), -45.0, 38.0, 13.0)
    assert [(-45.0, 23.0), (-83.0, 23.0), (-83.0, -23.0), (-45.0, -23.0)] == places
    assert [0, 1, 2, 3] == posts_of_strings(places, 4)


def test_a_layout_may_have_all_on_one_side() -> None:
    assert [(-60.0, -23.0), (-45.0, -23.0)] == post_layout(instrument(HEAD), (0, 2), -45.0, 15.0, 13.0)


def test_on_the_flare_the_edge_is_measured_straight_across() -> None:
    # From 20 at x -6 to 36 at x -31 (the flare is 25 long): 28 halfway, at -18.5.
    ((_, y),) = post_layout(instrument(HEAD), (1, 0), -18.5, 20.0, 10.0)
    assert 18.0 == pytest.approx(y)


@pytest.mark.parametrize(
    ("head", "first", "spacing", "edge", "said"),
    [
        (None, -45.0, 38.0, 13.0, "the neck has no headstock"),
        (
            {"drawing": "head.dxf", "thickness": 14},
            -45.0,
            38.0,
            13.0,
            "the headstock is drawn, so rows along its sides are unknown",
        ),
        (HEAD, 0.0, 38.0, 13.0, "not all posts are on the headstock"),
        (HEAD, -45.0, 116.0, 13.0, "not all posts are on the headstock"),
        (HEAD, -45.0, 38.0, 36.0, "the headstock is too narrow for an `edge`"),
    ],
)
def test_a_layout_that_cannot_be_is_refused(head: Any, first: float, spacing: float, edge: float, said: str) -> None:
    with pytest.raises(FeatureError, match=said):
        post_layout(instrument(head), (2, 2), first, spacing, edge)
