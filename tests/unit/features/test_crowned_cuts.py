"""Where a bit's tip runs so that its groove follows the rounded top, and what refuses it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.setup_builder import flat
from toolpaths.common.errors import FeatureError
from toolpaths.features.crowned_cuts import CHORD, deepest_drop, groove_shape, tip_way
from toolpaths.job.bits.vee import Vee
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Level

LINE = np.array([[100.0, -23.0], [100.0, 23.0]])
DOME = CrownFloor(Level(4.0), 241.3, 241.3, 400.0)
VEE = Vee(shape="vee", angle=60.0, tip=0.1, diameter=6.0, flutes=2, cutting_length=6, shank=6.0, stickout=20)


def test_a_flat_tip_keeps_its_inner_side_on_the_dome() -> None:
    bit = flat(0.6)
    way = tip_way(DOME, bit, LINE, 4.0)
    y = way[:, 0] - 23.0
    inner = np.maximum(np.abs(y) - 0.3, 0.0)
    assert np.allclose(way[:, 1], DOME.height(np.full(len(y), 100.0), inner), atol=1e-9)
    assert 4.0 == way[:, 1].max()


def test_a_sharp_tip_runs_on_the_dome_itself() -> None:
    sharp = VEE.model_copy(update={"tip": 0.0})
    way = tip_way(DOME, sharp, LINE, 4.0)
    assert np.allclose(way[:, 1], DOME.height(np.full(len(way), 100.0), way[:, 0] - 23.0), atol=1e-4)


@pytest.mark.parametrize("tip", [0.0, 0.004, 0.1, 0.4])
@pytest.mark.parametrize("aside", [0.0, 0.003, -0.2, 1.7])
def test_no_piece_of_the_way_is_as_short_as_a_last_digit(tip: float, aside: float) -> None:
    # The last digit of the inch machines is 0.0025 mm.
    way = tip_way(DOME, VEE.model_copy(update={"tip": tip}), LINE + np.array([0.0, aside]), 4.0)
    assert 0.02 < np.diff(way[:, 0]).min()
    assert (0.0, 46.0) == (way[0, 0], way[-1, 0])


def test_straight_pieces_stay_within_the_tolerance() -> None:
    way = tip_way(DOME, flat(0.6), LINE, 4.0)
    s = np.linspace(0, 46, 5000)
    true = DOME.height(np.full(len(s), 100.0), np.maximum(np.abs(s - 23.0) - 0.3, 0.0))
    below = true - np.interp(s, way[:, 0], way[:, 1])
    assert -1e-9 <= below.min()
    assert below.max() <= CHORD * 1.01


def test_the_greatest_drop_is_at_the_widest_end() -> None:
    # 241.3 - sqrt(241.3^2 - 23^2) = 1.0987. Derived.
    assert 1.0987 == pytest.approx(deepest_drop(DOME, LINE[None]), abs=1e-4)


def test_a_board_wider_than_its_circle_is_refused() -> None:
    with pytest.raises(FeatureError, match="wider than a circle"):
        deepest_drop(CrownFloor(Level(4.0), 20.0, 20.0, 400.0), LINE[None])


def test_a_pointed_bit_s_groove_is_wider_at_the_edges_of_the_flat_face() -> None:
    # 2 d tan(30 deg) + 0.1: 0.5 deep 0.6774. The inner side of its tip, at 22.95, follows the dome 1.0939 lower:
    # 1.9405. Derived.
    ends = (100.0, -23.0), (100.0, 23.0)
    shape = groove_shape(VEE, 0.5, DOME, ends, False)
    widths = [shape.intersection(_row(y)).length for y in (0.0, 22.999)]
    assert [0.6774, 1.9405] == pytest.approx(widths, abs=2e-3)
    straight = groove_shape(flat(0.6), 0.5, DOME, ends, False)
    assert 0.6 * 46 == pytest.approx(straight.area)


def _row(y: float):  # type: ignore[no-untyped-def]
    import shapely

    return shapely.LineString([(90, y), (110, y)])
