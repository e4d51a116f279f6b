"""Dots in the edge: distances along it. Places: common practice, no source."""

from __future__ import annotations

import math

import pytest
from shapely import LineString

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import board_end, corners, half_width
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.frets import fret_distance
from toolpaths.instrument.side_dot_places import dot_places, edge_length
from toolpaths.job.job import Fan, ZeroFret


def slope(instrument) -> float:
    """Of the edge: its length for a millimetre of the centreline."""
    far, near = float(half_width(instrument, 100.0)), float(half_width(instrument, 0.0))
    return math.hypot(1.0, (far - near) / 100)


def test_an_edge_is_longer_than_the_centreline_by_its_slant(instrument) -> None:
    assert board_end(instrument) * slope(instrument) == pytest.approx(edge_length(instrument, "bass"))
    assert edge_length(instrument, "treble") == pytest.approx(edge_length(instrument, "bass"))


def test_each_stands_midway_between_its_frets(instrument) -> None:
    dot = dot_places(instrument, "bass", [5])[0]
    middle = (fret_distance(648, 4) + fret_distance(648, 5)) / 2
    assert middle * slope(instrument) == pytest.approx(dot.along)
    assert "side dot at fret 5" == dot.name


def test_distances_begin_at_the_corner_where_the_nut_was_moved(instrument) -> None:
    plain = dot_places(instrument, "treble", [1])[0].along
    moved = instrument.model_copy(update={"nut_compensation": 0.8})
    assert 0.8 * slope(instrument) == pytest.approx(plain - dot_places(moved, "treble", [1])[0].along)
    behind = instrument.model_copy(update={"zero_fret": ZeroFret(nut_behind=5.0)})
    assert 5.0 * slope(instrument) == pytest.approx(dot_places(behind, "treble", [1])[0].along - plain)


def test_on_a_fanned_board_each_edge_has_its_own(instrument) -> None:
    """Where frets and edges meet, by a general-purpose geometry library."""
    fanned = instrument.model_copy(update={"scale_length": Fan(bass=680, treble=640, square_fret=7)})
    a, b, c, d = corners(fanned)
    edges = {"bass": LineString([a, b]), "treble": LineString([d, c])}
    for edge, line in edges.items():
        places = []
        for fret in (2, 3):
            at = fret_line(fanned, fret)
            places.append(line.intersection(LineString([(at.at(y), y) for y in (-60.0, 60.0)])))
        middle = sum(line.project(p) for p in places) / 2
        assert middle == pytest.approx(dot_places(fanned, edge, [3])[0].along, abs=1e-9)  # type: ignore[arg-type]
        assert line.length == pytest.approx(edge_length(fanned, edge))  # type: ignore[arg-type]
    low, high = dot_places(fanned, "bass", [3])[0], dot_places(fanned, "treble", [3])[0]
    assert low.along - high.along > 1.0


def test_the_usual_frets_bear_one_and_the_octaves_two_seven_millimetres_apart(instrument) -> None:
    dots = dot_places(instrument, "bass")
    assert [3, 5, 7, 9, 12, 12, 15, 17, 19, 21, 24, 24] == [d.fret for d in dots]
    low, high = (d for d in dots if d.fret == 12)
    assert 7.0 == pytest.approx(high.along - low.along)
    assert ("nut side", "bridge side") == (low.side, high.side)


def test_where_frets_are_close_a_double_stands_closer(make_instrument) -> None:
    short = make_instrument(scale=200, frets=12)
    low, high = dot_places(short, "bass", [12])
    space = fret_distance(200, 12) - fret_distance(200, 11)
    assert space / 2 * slope(short) == pytest.approx(high.along - low.along)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"frets": [25]}, "there is no fret 25"),
        ({"frets": [12], "spacing": 40.0}, "the two dots at fret 12 would be past the frets beside them"),
    ],
)
def test_what_cannot_be_is_refused(instrument, keys: dict[str, object], words: str) -> None:
    with pytest.raises(FeatureError, match=words):
        dot_places(instrument, "bass", **keys)  # type: ignore[arg-type]
