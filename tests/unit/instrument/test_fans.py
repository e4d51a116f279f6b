"""Fanned frets: every string has the single-scale table of its own length, and one fret is square.

Tables of one scale: equal temperament, d = L (1 - 2^(-n/12)), as in docs/sources.md. Geometry is derived beside it.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import board_end, corners, crossings, furthest_end, half_width, nut_back, nut_shelf
from toolpaths.instrument.fans import (
    far_end,
    fret_line,
    fret_x,
    nut_front,
    nut_spread,
    outer_places,
    scale_at,
    string_places,
    string_scales,
)
from toolpaths.instrument.frets import fret_distances
from toolpaths.instrument.markers import marker_places
from toolpaths.job.job import Instrument

TABLE_650 = {1: 36.482, 5: 163.050, 12: 325.000, 19: 433.089, 24: 487.500}
TABLE_628_65 = {1: 35.283, 12: 314.325, 22: 452.241}
"""Derived, as kept with the project's check values."""


def fanned(bass: float = 650, treble: float = 628.65, square: float = 7, **more: Any) -> Instrument:
    board = {"width": {"nut": 48, "end": 64}, "overhang": 8, "thickness": 6, **more.pop("board", {})}
    keys = {"frets": 24, "strings": 7, "nut_spread": 42, "board": board, **more}
    scale = {"bass": bass, "treble": treble, "square_fret": square}
    return Instrument.model_validate({"scale_length": scale, **keys})


def plain(scale: float = 650, **more: Any) -> Instrument:
    return fanned(**more).model_copy(update={"scale_length": scale})


# Each string


@pytest.mark.parametrize(("fret", "distance"), TABLE_650.items())
def test_the_bass_string_has_the_table_of_its_own_scale(fret: int, distance: float) -> None:
    nut, place = (outer_places(fanned(), n)[0] for n in (0, fret))
    assert distance == pytest.approx(place[0] - nut[0], abs=6e-4)


@pytest.mark.parametrize(("fret", "distance"), TABLE_628_65.items())
def test_the_treble_string_has_the_table_of_its_own_scale(fret: int, distance: float) -> None:
    nut, place = (outer_places(fanned(), n)[1] for n in (0, fret))
    assert distance == pytest.approx(place[0] - nut[0], abs=6e-4)


def test_the_strings_between_are_spread_evenly_in_place_and_in_scale() -> None:
    i = fanned()
    assert np.linspace(628.65, 650, 7) == pytest.approx(string_scales(i))
    nut = string_places(i, 0)
    for n in (1, 7, 12, 24):
        steps = string_places(i, n)[:, 0] - nut[:, 0]
        own = [fret_distances(scale, 24)[n - 1] for scale in string_scales(i)]
        assert own == pytest.approx(steps.tolist(), abs=1e-9)


def test_every_string_meets_a_fret_on_its_straight_line_at_the_same_part_of_its_own_length() -> None:
    i = fanned()
    for n in range(25):
        line = fret_line(i, n)
        for x, y in string_places(i, n):
            assert x == pytest.approx(line.at(y), abs=1e-9)
    # Strings are straight: along one of them y goes evenly with x.
    for string in (1, 3, 5):
        x, y = np.array([string_places(i, n)[string] for n in (0, 5, 12, 24)]).T
        assert [0.0, 0.0] == pytest.approx(np.diff(np.diff(y) / np.diff(x)).tolist(), abs=1e-12)


def test_the_outer_strings_keep_their_distance_from_the_board_s_edges() -> None:
    i = fanned()
    # (48 - 42) / 2 at the nut: given.
    for n in (0, 3, 12, 24):
        (bx, by), (tx, ty) = outer_places(i, n)
        assert (3.0, 3.0) == pytest.approx((half_width(i, bx) + by, half_width(i, tx) - ty))


def test_without_a_spread_the_strings_take_0_82_of_the_nut() -> None:
    # Common practice, no source.
    i = fanned(nut_spread=None)
    assert 0.82 * 48 == pytest.approx(nut_spread(i))


# The fan


@pytest.mark.parametrize("square", [0, 5, 7, 7.5, 9, 12, 24])
def test_the_square_fret_is_square(square: float) -> None:
    assert 0.0 == pytest.approx(fret_line(fanned(square=square), square).lean, abs=1e-9)
    assert 0.0 == pytest.approx(math.radians(fret_line(fanned(square=square), square).angle), abs=1e-9)


@pytest.mark.parametrize("square", [0, 7, 24])
def test_the_nut_line_crosses_the_centreline_at_0(square: float) -> None:
    i = fanned(square=square)
    assert 0.0 == fret_x(i, 0)
    (bx, by), (tx, ty) = outer_places(i, 0)
    assert 0.0 == pytest.approx((bx * ty - tx * by) / (ty - by), abs=1e-12)


def test_frets_cross_the_centreline_at_the_harmonic_mean_seen_from_where_the_edges_of_the_strings_meet() -> None:
    # The outer strings are lines y = -+ k X from their common point; a line through X1 on one and X2 on the other
    # crosses y = 0 at 2 X1 X2 / (X1 + X2). Derived apart from the code.
    i = fanned()
    k = (half_width(i, 100.0) - half_width(i, 0.0)) / 100
    to_nut = 21 / k
    for n in range(25):
        (bx, _), (tx, _) = outer_places(i, n)
        a, b = bx + to_nut, tx + to_nut
        assert 2 * a * b / (a + b) - to_nut == pytest.approx(fret_x(i, n), abs=1e-9)


def test_before_the_square_fret_the_bass_end_lies_nearer_to_the_headstock_and_behind_it_further() -> None:
    angles = [fret_line(fanned(), n).angle for n in range(25)]
    assert all(a > b for a, b in pairwise(angles))
    assert angles[6] > 0 > angles[8]


def test_by_hand_on_parallel_sides() -> None:
    # Width 48 all along, strings 42 apart, square at the nut: at fret 12 the bass is 325, the treble 314.325 along;
    # lean -10.675 / 42, middle 319.6625. By hand.
    i = fanned(square=0, board={"width": {"nut": 48, "end": 48}})
    line = fret_line(i, 12)
    assert (319.6625, -10.675 / 42) == pytest.approx((line.x, line.lean), abs=1e-9)
    assert -14.2607 == pytest.approx(line.angle, abs=1e-4)  # atan(-0.254167)
    (bx, by), (tx, ty) = crossings(i, line)
    assert (-24.0, 24.0) == (by, ty)
    assert (319.6625 + 6.1, 319.6625 - 6.1) == pytest.approx((bx, tx))  # 24 x 10.675 / 42


def test_equal_scales_give_the_board_of_one_scale() -> None:
    one, two = plain(650), fanned(650, 650, 9)
    assert [0.0] * 25 == pytest.approx([fret_line(two, n).lean for n in range(25)], abs=1e-12)
    assert [fret_x(one, n) for n in range(25)] == pytest.approx([fret_x(two, n) for n in range(25)], abs=1e-9)
    assert np.array(corners(one)) == pytest.approx(np.array(corners(two)), abs=1e-9)
    places = [np.array([(m.x, m.y) for m in marker_places(i)]) for i in (one, two)]
    assert places[0] == pytest.approx(places[1], abs=1e-9)


def test_exchanging_bass_and_treble_mirrors_the_fan() -> None:
    one, other = fanned(650, 628.65), fanned(628.65, 650)
    for n in range(25):
        a, b = fret_line(one, n), fret_line(other, n)
        assert (a.x, a.lean) == pytest.approx((b.x, -b.lean), abs=1e-9)


def test_a_width_given_at_a_fret_is_the_width_where_that_fret_crosses_the_centreline() -> None:
    i = fanned(board={"width": {"nut": 48, 12: 57}})
    assert 28.5 == pytest.approx(half_width(i, fret_x(i, 12)), abs=1e-10)
    i = fanned()
    assert 32.0 == pytest.approx(half_width(i, board_end(i)), abs=1e-10)


def test_a_string_s_scale_at_a_place_is_read_off_between_the_outer_ones() -> None:
    i = fanned()
    (_, low), (_, high) = outer_places(i, 12)
    assert (650.0, 628.65) == pytest.approx((scale_at(i, 12, low), scale_at(i, 12, high)))
    assert (650 + 628.65) / 2 == pytest.approx(scale_at(i, 12, (low + high) / 2))
    assert 648.0 == scale_at(plain(648), 12, 17.0)


def test_one_scale_has_square_frets_at_the_table() -> None:
    i = plain(650)
    for fret, distance in TABLE_650.items():
        assert (distance, 0.0) == pytest.approx((fret_line(i, fret).x, fret_line(i, fret).lean), abs=6e-4)
    with pytest.raises(ValueError, match="one scale length"):
        outer_places(i, 3)


# The board


def test_both_ends_follow_the_fan_and_the_sides_the_taper() -> None:
    i = fanned()
    nut_bass, end_bass, end_treble, nut_treble = corners(i)
    for (x, y), sign in ((nut_bass, -1), (end_bass, -1), (end_treble, 1), (nut_treble, 1)):
        assert sign * half_width(i, x) == pytest.approx(y, abs=1e-9)
    nut, last = fret_line(i, 0), fret_line(i, 24)
    assert nut.lean == pytest.approx((nut_treble[0] - nut_bass[0]) / (nut_treble[1] - nut_bass[1]))
    assert last.lean == pytest.approx((end_treble[0] - end_bass[0]) / (end_treble[1] - end_bass[1]))
    assert nut_bass[0] < 0 < nut_treble[0]
    # The overhang is measured on the centreline.
    assert 8.0 == pytest.approx(far_end(i).x - last.x)
    assert furthest_end(i) == pytest.approx(end_bass[0])


def test_the_shelf_for_the_nut_lies_behind_the_corner_that_is_furthest_back() -> None:
    i = fanned()
    assert corners(i)[0][0] == pytest.approx(nut_back(i))
    assert corners(i)[0][0] - 6.0 == pytest.approx(nut_shelf(i))
    assert (0.0, -6.0) == (nut_back(plain()), nut_shelf(plain()))


def test_sides_that_meet_are_refused() -> None:
    with pytest.raises(FeatureError, match="sides meet"):
        corners(fanned(board={"width": {"nut": 48, 1: 44}}))


# Markers


def test_a_marker_stands_midway_between_its_frets_on_the_centreline() -> None:
    i = fanned()
    for m in marker_places(i, [3, 5]):
        assert ((fret_x(i, m.fret - 1) + fret_x(i, m.fret)) / 2, 0.0) == pytest.approx((m.x, m.y))


def test_each_of_a_double_stands_midway_between_its_frets_at_its_own_place() -> None:
    i = fanned()
    for m in marker_places(i, [12]):
        assert (fret_line(i, 11).at(m.y) + fret_line(i, 12).at(m.y)) / 2 == pytest.approx(m.x)
    low, high = marker_places(i, [12])
    assert low.x > high.x  # behind fret 7 the bass side lies nearer to the bridge


# The nut


def test_compensation_brings_the_nut_nearer_and_leaves_the_frets() -> None:
    for make in (plain, fanned):
        i = make(nut_compensation=0.5)
        assert 0.5 == nut_front(i).x
        assert [fret_x(make(), n) for n in range(1, 20)] == [fret_x(i, n) for n in range(1, 20)]
        assert nut_front(make()).lean == nut_front(i).lean
    assert (0.5, 0.5) == (corners(plain(nut_compensation=0.5))[0][0], corners(plain(nut_compensation=0.5))[3][0])


def test_behind_a_zero_fret_the_nut_stands_back_and_the_board_with_it() -> None:
    i = plain(zero_fret=True)
    assert -5.0 == nut_front(i).x == corners(i)[0][0]  # from memory: makers leave 3 to 8 mm
    i = plain(zero_fret={"nut_behind": 3.5})
    assert (-3.5, -3.5, -9.5) == (nut_front(i).x, nut_back(i), nut_shelf(i))
    assert 0.0 == fret_x(i, 0)
