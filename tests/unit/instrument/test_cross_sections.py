"""Sections across the finished neck. Areas against closed forms."""

import math

import numpy as np
import pytest
from shapely import Polygon

from tests.support.neck_builder import WHOLE, half_ellipse, instrument
from toolpaths.instrument.cross_sections import board_section, neck_section, section


def test_neck_and_board_make_half_an_ellipse_and_a_box() -> None:
    made = half_ellipse(20.0, 14.0)
    shape = Polygon(section(made, 150.0))
    # Half an ellipse pi a b / 2 under 40 x 6 of board; 96 chords lose about 0.03 %.
    assert math.pi * 20 * 14 / 2 + 40 * 6 == pytest.approx(shape.area, rel=5e-4)
    assert (-20.0, -14.0, 20.0, 6.0) == pytest.approx(shape.bounds)
    assert shape.exterior.is_ccw


def test_a_radiused_board_is_lower_at_its_edges_by_the_sagitta() -> None:
    made = instrument({"thickness": {1: 20}}, nut=42, fret_12=42)
    round_top = made.model_copy(update={"board": made.board.model_copy(update={"radius": 241.3})})
    top = board_section(round_top, 100.0)
    # Sagitta at 241.3 mm and 42 mm of width: 0.9155 mm (R - sqrt(R^2 - (w / 2)^2)).
    assert 6.0 == pytest.approx(top[:, 1].max())
    assert 6.0 - 0.9155 == pytest.approx(top[top[:, 1] > 0][:, 1].min(), abs=1e-4)


def test_the_lowered_headstock_is_a_box_of_its_thickness() -> None:
    shape = Polygon(section(instrument(WHOLE), -100.0, head_drop=4.0))
    assert 66 * 14 == pytest.approx(shape.area)
    assert (-33.0, -18.0, 33.0, -4.0) == pytest.approx(shape.bounds)


def test_a_drawn_headstock_is_as_wide_as_it_is_drawn() -> None:
    drawn = instrument({**WHOLE, "headstock": {"drawing": "head.dxf", "thickness": 14}})
    shape = Polygon(neck_section(drawn, -60.0, sides=(-22.0, 30.0)))
    assert (-22.0, -14.0, 30.0, 0.0) == pytest.approx(shape.bounds)


def test_nothing_lies_beyond_the_ends_and_no_board_behind_the_nut() -> None:
    assert (0, 2) == section(instrument(WHOLE), 420.0).shape
    assert (0, 2) == board_section(instrument(WHOLE), -1.0).shape
    assert np.all(neck_section(instrument(WHOLE), 100.0)[:, 1] <= 0)
