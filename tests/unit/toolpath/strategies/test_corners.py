"""A second bit takes what the first left in a pocket: all of that, nothing beside the pocket, never straight into wood.

The promises themselves, with the margin that is granted, stand in tests/support/two_bits.py.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from shapely import Point, Polygon

from tests.support.steps import swept
from tests.support.two_bits import FIRST, SECOND, SKIM, by_the_first, judge, low, on_floor, second
from tests.unit.toolpath.strategies.test_clear import SHAPES
from toolpaths.common.errors import FeatureError
from toolpaths.geometry.loop import Loop
from toolpaths.operations.rest_material import left_standing
from toolpaths.target_shape.demand import opened


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("allowance", [0.0, 0.15])
def test_it_takes_what_is_left_and_nothing_else(name: str, allowance: float) -> None:
    judge(SHAPES[name], (), FIRST, SECOND, replace(SKIM, finish_allowance=allowance))


@pytest.mark.parametrize("name", SHAPES)
def test_a_wide_step_over_leaves_nothing_between_its_rings(name: str) -> None:
    # A bit from 4 to 1 mm: several rings in each corner, farther apart than the bit reaches into the corner's angle.
    judge(SHAPES[name], (), 4.0, 1.0, replace(SKIM, step_over=1.0))


def test_along_a_wall_it_runs_on_as_far_as_is_said() -> None:
    # The wood of the square's corner at (20, 20) is 0.005 mm thick, the least that counts, sqrt(2 * 1.5 * 0.005) beyond
    # the end of the first bit's arc at (20, 18.5). Along the wall the second bit's middle is r + 0.3 from there a
    # leg of sqrt((r + 0.3)^2 - r^2) further on; two looks of 0.05 beyond at most. Sagitta and Pythagoras.
    r = SECOND / 2
    along = [p for p in on_floor(second(SHAPES["square"])) if p.a[0] == p.b[0] == pytest.approx(20 - r, abs=1e-6)]
    far = 18.5 + math.sqrt(2 * 1.5 * 0.005) - math.sqrt((r + 0.3) ** 2 - r**2)
    lowest = min(min(p.a[1], p.b[1]) for p in along if p.a[1] > 10)
    assert far - 0.1 <= lowest <= far


@pytest.mark.parametrize("name", ["square", "wedge", "star", "wide neck"])
def test_the_first_bit_s_own_path_leaves_no_more_than_is_reckoned_with(name: str) -> None:
    # The two strategies meet: what the first truly covers, the second counts as free.
    area = SHAPES[name].shape()
    left = opened(area, SECOND / 2).difference(by_the_first(SHAPES[name])).buffer(-2e-3)
    assert 1e-5 > left.difference(left_standing(area, FIRST / 2, SECOND / 2).buffer(1e-2)).area


def test_a_square_corner_loses_what_its_closed_form_says() -> None:
    # r^2 (1 - pi / 4) a corner: derived from a square and its quarter circle.
    area = SHAPES["square"].shape()
    form = 4 * ((FIRST / 2) ** 2 - (SECOND / 2) ** 2) * (1 - math.pi / 4)
    # A hair of 0.005 mm along the first bit's arc is nobody's work: at most its length times that.
    assert form == pytest.approx(left_standing(area, FIRST / 2, SECOND / 2).area, abs=4 * 0.005 * FIRST * math.pi / 4)
    taken = swept(on_floor(second(SHAPES["square"])), SECOND / 2).difference(opened(area, FIRST / 2))
    assert form == pytest.approx(taken.area, rel=5e-3)


def test_each_corner_is_a_place_of_its_own_cut_level_by_level() -> None:
    (section,) = second(SHAPES["square"])
    assert "what is left of star, 4 places, 3 levels" == section.title
    depths = sorted({round(p.b[2], 3) for p in low([section]) if p.run > 0}, reverse=True)
    assert [5.5, 5.0, 4.5] == depths


def test_islands_in_the_pocket_are_left_standing() -> None:
    # A strip of 2 mm beside the island: the first bit (3 mm) does not pass, the second does.
    island = Loop.polygon([(2, 6), (8, 6), (8, 14), (2, 14)])
    judge(SHAPES["square"], (island,), FIRST, SECOND, SKIM)
    assert not swept(low(second(SHAPES["square"], (island,))), SECOND / 2).intersects(island.shape().buffer(-2e-3))


def test_a_chamber_behind_a_neck_is_entered_on_a_slope() -> None:
    # The neck of 1 mm lets neither bit through; the small chamber is wide enough for the second alone.
    shape = Loop.polygon(
        [
            (0, 0), (12, 0), (12, 5.5), (14, 5.5), (14, 4.75), (16.5, 4.75),
            (16.5, 7.25), (14, 7.25), (14, 6.5), (12, 6.5), (12, 12), (0, 12),
        ]
    )  # fmt: skip
    judge(shape, (), FIRST, SECOND, SKIM)
    chamber = shapely.box(14, 4.75, 16.5, 7.25)
    assert any(p.fall > 0 and chamber.covers(Point(p.b[:2])) for p in on_floor(second(shape)))


def test_what_both_bits_reach_alike_leaves_nothing_to_do() -> None:
    assert [] == second(Loop.circle(0, 0, 6))


def test_it_climbs_or_not_as_it_is_told() -> None:
    # Counter-clockwise within a pocket the wood is on the right, which climbs with a cutter that turns clockwise.
    loop = SHAPES["square"]
    for word, sign in (("climb", 1), ("conventional", -1)):
        way = [p for p in on_floor(second(loop, cutting=replace(SKIM, rough=word))) if min(p.a[0], p.b[0]) > 17]
        along = [p for p in way if p.a[0] == p.b[0] == pytest.approx(20 - SECOND / 2, abs=1e-6)]
        assert along
        assert all(sign * (p.b[1] - p.a[1]) > 0 for p in along)


def test_a_place_that_the_bit_cannot_come_to_is_refused() -> None:
    # Where no ring is found beside what is left; made by hand, the feature never asks for it.
    with pytest.raises(FeatureError, match="cannot reach what is left"):
        second(Loop.circle(0, 0, 0.76), first=3.0, then=1.5)


def test_what_is_left_is_never_outside_the_pocket() -> None:
    area = Polygon(SHAPES["star"].points)
    assert area.buffer(1e-9).covers(left_standing(area, FIRST / 2, SECOND / 2))
