"""Walls of the finished neck beside the closed forms of `tests/outside/test_walls.py`: sides, ends, drawn heads."""

import numpy as np
import pytest
from shapely import Polygon

from tests.support.neck_builder import WHOLE, half_round, instrument
from toolpaths.instrument.finished_neck import FinishedNeck


def test_in_the_heel_the_wall_is_the_nearer_of_back_and_upright_side() -> None:
    # Heel: half width 26, depth 19, flat.
    neck = FinishedNeck.of(instrument(WHOLE))
    wall, _ = neck.least(np.array([[365.0, 0.0, 15.0], [365.0, 24.0, 5.0], [365.0, -24.5, 18.0]]))
    assert [4.0, 2.0, 1.0] == pytest.approx(wall, abs=1e-6)


def test_the_end_faces_count_unless_the_cut_runs_out_there() -> None:
    neck = FinishedNeck.of(instrument(WHOLE))
    point = np.array([[398.5, 0.0, 9.0]])
    assert 1.5 == pytest.approx(neck.least(point)[0][0])
    assert 10.0 == pytest.approx(neck.least(point, high=False)[0][0])


def test_in_the_lowered_headstock_the_back_lies_lower() -> None:
    whole = instrument(WHOLE)
    point = np.array([[-80.0, 0.0, 12.0]])
    assert 2.0 == pytest.approx(FinishedNeck.of(whole).least(point)[0][0])
    assert 6.0 == pytest.approx(FinishedNeck.of(whole, drop=4.0).least(point)[0][0])


def test_a_drawn_headstocks_sides_are_those_of_the_drawing() -> None:
    drawn = instrument({**WHOLE, "headstock": {"drawing": "head.dxf", "thickness": 14}})
    # A straight treble side at y 30, a bass side at y -22.
    head = Polygon([(-120, -22), (0, -22), (0, 30), (-120, 30)])
    neck = FinishedNeck.of(drawn, head=head)
    points = np.array([[-80.0, 27.5, 4.0], [-80.0, -20.0, 4.0], [-80.0, 5.0, 11.0], [-118.0, 0.0, 4.0]])
    assert [2.5, 2.0, 3.0, 2.0] == pytest.approx(neck.least(points)[0], abs=1e-6)
    assert [2.5, 2.0] == pytest.approx(neck.beside(points[:2, :2]), abs=1e-6)


def test_the_wall_in_its_own_section_is_never_less_than_the_one_in_space() -> None:
    neck = FinishedNeck.of(instrument(WHOLE), drop=4.0)
    rng = np.random.default_rng(7)
    x, y, d = rng.uniform(-60, 380, 300), rng.uniform(-15, 15, 300), rng.uniform(0.5, 11, 300)
    points = np.stack([x, y, d], axis=1)
    points = points[neck.depth(x, y) > d]
    across, space = neck.in_section(points, fine=True), neck.least(points, low=False, high=False)[0]
    assert np.all(space <= across + 1e-9)
    # And never less than the steepness allows.
    assert np.all(space >= across / np.sqrt(1 + neck.steepness(points[:, 0], 20.0) ** 2) - 0.01)


def test_distance_from_the_sides_seen_from_the_face_is_below_nothing_outside() -> None:
    neck = FinishedNeck.of(half_round(15.0))
    assert [5.0, 0.5, -2.0] == pytest.approx(neck.beside(np.array([[100.0, 10.0], [100.0, -14.5], [100.0, 17.0]])))
