"""Dots in the edge: distances along it. Places: common practice, no source."""

from __future__ import annotations

import math

import pytest

from toolpaths.core.finding import Refusal
from toolpaths.trade.boards import board_end, half_width
from toolpaths.trade.frets import fret_distance
from toolpaths.trade.side_dots import dot_places, edge_slope


def test_an_edge_is_longer_than_the_centreline_by_its_slant(instrument) -> None:
    end = board_end(instrument)
    far, near = float(half_width(instrument, end)), float(half_width(instrument, 0.0))
    assert math.dist((0, near), (end, far)) == pytest.approx(end * edge_slope(instrument))


def test_each_stands_midway_between_its_frets(instrument) -> None:
    dot = dot_places(instrument, [5])[0]
    middle = (fret_distance(648, 4) + fret_distance(648, 5)) / 2
    assert middle * edge_slope(instrument) == dot.along
    assert "side dot at fret 5" == dot.name


def test_the_usual_frets_bear_one_and_the_octaves_two_seven_millimetres_apart(instrument) -> None:
    dots = dot_places(instrument)
    assert [3, 5, 7, 9, 12, 12, 15, 17, 19, 21, 24, 24] == [d.fret for d in dots]
    low, high = (d for d in dots if d.fret == 12)
    assert 7.0 == pytest.approx(high.along - low.along)
    assert ("nut side", "bridge side") == (low.side, high.side)


def test_where_frets_are_close_a_double_stands_closer(make_instrument) -> None:
    short = make_instrument(scale=200, frets=12)
    low, high = dot_places(short, [12])
    space = fret_distance(200, 12) - fret_distance(200, 11)
    assert space / 2 * edge_slope(short) == pytest.approx(high.along - low.along)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"frets": [25]}, "there is no fret 25"),
        ({"frets": [12], "spacing": 40.0}, "the two dots at fret 12 would stand beyond their frets"),
    ],
)
def test_what_cannot_be_is_refused(instrument, keys: dict[str, object], words: str) -> None:
    with pytest.raises(Refusal, match=words):
        dot_places(instrument, **keys)  # type: ignore[arg-type]
