"""Markers stand between frets, doubled at the octaves. Places: common practice, no source."""

import pytest
from shapely import LineString

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.frets import fret_distance
from toolpaths.instrument.markers import Marker, Row, marker_places
from toolpaths.job.job import Fan


def test_the_usual_frets_are_marked_once_and_the_octaves_twice(instrument) -> None:
    assert [3, 5, 7, 9, 12, 12, 15, 17, 19, 21, 24, 24] == [m.fret for m in marker_places(instrument)]


def test_a_shorter_board_ends_at_its_own_frets(make_instrument) -> None:
    assert [3, 5, 7, 9, 12, 12, 15, 17, 19] == [m.fret for m in marker_places(make_instrument(frets=19))]


def test_a_marker_stands_midway_between_its_fret_and_the_one_before(instrument) -> None:
    marker = marker_places(instrument, [5])[0]
    assert Marker(5, (fret_distance(648, 4) + fret_distance(648, 5)) / 2, 0.0) == marker


def test_the_first_space_begins_at_the_nut(instrument) -> None:
    assert fret_distance(648, 1) / 2 == marker_places(instrument, [1])[0].x


def test_a_double_divides_the_board_in_quarters(instrument) -> None:
    low, high = marker_places(instrument, [12])
    assert low.x == high.x
    assert -half_width(instrument, low.x) / 2 == low.y == -high.y


def test_a_double_stands_as_far_apart_as_asked(instrument) -> None:
    assert [-10.0, 10.0] == [m.y for m in marker_places(instrument, [12], double_spacing=20)]


def test_other_frets_can_be_doubled(instrument) -> None:
    assert [7, 7, 12] == [m.fret for m in marker_places(instrument, [7, 12], doubles=[7])]


@pytest.mark.parametrize("fret", [0, -1, 25])
def test_a_fret_that_is_not_there_is_refused(instrument, fret: int) -> None:
    with pytest.raises(FeatureError, match=f"no fret {fret}") as caught:
        marker_places(instrument, [3, fret])
    assert "frets" == caught.value.key
    assert "the instrument has 24 frets" == caught.value.hint


def test_doubles_outside_the_board_are_refused(instrument) -> None:
    with pytest.raises(FeatureError, match="outside the board"):
        marker_places(instrument, [12], double_spacing=60)


def test_a_row_keeps_its_distance_from_the_edge(instrument) -> None:
    markers = marker_places(instrument, [3, 7], row=Row(edge="bass", offset=6.0))
    assert [6.0, 6.0] == pytest.approx([m.y + half_width(instrument, m.x) for m in markers])
    other = marker_places(instrument, [3], row=Row(edge="treble", offset=6.0))[0]
    assert 6.0 == pytest.approx(half_width(instrument, other.x) - other.y)


def test_a_double_in_a_row_stands_one_behind_the_other(instrument) -> None:
    low, high = marker_places(instrument, [12], row=Row(edge="bass", offset=6.0))
    space = fret_distance(648, 12) - fret_distance(648, 11)
    assert space / 2 == pytest.approx(high.x - low.x)
    assert ("marker at fret 12, nut side", "marker at fret 12, bridge side") == (low.name, high.name)
    near, far = marker_places(instrument, [12], double_spacing=9, row=Row(edge="bass", offset=6.0))
    assert 9.0 == pytest.approx(far.x - near.x)


@pytest.mark.parametrize(
    ("offset", "spacing", "words"),
    [(6.0, 40.0, "would be past the frets beside them"), (60.0, None, "would be outside the board")],
)
def test_a_row_beside_the_board_is_refused(instrument, offset: float, spacing: float | None, words: str) -> None:
    with pytest.raises(FeatureError, match=words):
        marker_places(instrument, [12], double_spacing=spacing, row=Row(edge="bass", offset=offset))


def test_on_a_fanned_board_a_row_stands_midway_between_the_frets_there(make_instrument) -> None:
    """Where the frets and a line beside the edge meet, by a general-purpose geometry library."""
    plain = make_instrument(width={"nut": 48, "end": 62})
    fanned = plain.model_copy(update={"scale_length": Fan(bass=680, treble=640, square_fret=7)})
    for edge, sign in (("bass", -1.0), ("treble", 1.0)):
        (marker,) = marker_places(fanned, [3], row=Row(edge=edge, offset=6.0))
        beside = LineString([(x, sign * (float(half_width(fanned, x)) - 6.0)) for x in (-20.0, 400.0)])
        lines = [fret_line(fanned, n) for n in (2, 3)]
        met = [beside.intersection(LineString([(at.at(y), y) for y in (-60.0, 60.0)])) for at in lines]
        middle = ((met[0].x + met[1].x) / 2, (met[0].y + met[1].y) / 2)
        assert middle == pytest.approx((marker.x, marker.y), abs=1e-9)
