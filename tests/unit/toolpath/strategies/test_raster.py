"""Planing: level, along the grain, off the wood at both ends, and down only beside it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, swept
from toolpaths.operations.operation import Cutting, Raster
from toolpaths.toolpath.levels import skimmed
from toolpaths.toolpath.strategies.raster import raster
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

BOX = (-30.0, -32.0, 450.0, 32.0)
PLANER = flat(25.0)
ONE = replace(CUTTING, pass_depth=1.0)


def operation(cutting: Cutting = ONE, top: float = 8.1, floor: float = 6.0, skim: float = 0.3) -> Raster:
    return Raster("plane", 30, "planer", cutting, "plane the blank", top, floor, BOX, skim)


def run(o: Raster) -> list[Section]:
    return list(raster(o, PLANER, ToolpathBuilder(safe=SAFE, z=SAFE)))


def cuts(o: Raster) -> list[Piece]:
    return [p for p in pieces(run(o)) if not p.rapid and p.run > 0]


def test_every_level_covers_the_whole_blank() -> None:
    found = pieces(run(operation()))
    for z in skimmed(operation()):
        cover = swept([p for p in found if p.a[2] == p.b[2] == z], PLANER.radius)
        assert 0.0 == shapely.box(*BOX).difference(cover).area


def test_motion_begins_above_the_highest_measured_point() -> None:
    # 2.1 mm: three levels, none above 1 mm, the last a skim of 0.3.
    assert [7.2, 6.3, 6.0] == pytest.approx(skimmed(operation()))


def test_the_last_skim_is_no_thicker_than_a_pass_may_be() -> None:
    levels = [8.1, *skimmed(operation(replace(ONE, pass_depth=0.2)))]
    assert 0.2 + 1e-6 >= max(a - b for a, b in pairwise(levels))


def test_without_a_skim_no_level_is_cut_twice() -> None:
    levels = skimmed(operation(skim=0.0))
    assert [7.4, 6.7, 6.0] == pytest.approx(levels)


def test_a_blank_that_is_thin_enough_already_is_skimmed_once() -> None:
    assert [6.0] == skimmed(operation(top=6.2))
    assert [6.0] == skimmed(operation(top=6.0))


def test_the_bit_never_comes_down_on_the_wood() -> None:
    blank = shapely.box(*BOX)
    for p in pieces(run(operation())):
        if p.fall > 0:
            assert 0.0 == p.run
            assert PLANER.radius < blank.distance(shapely.Point(p.a[:2]))


def test_cuts_run_along_the_grain_and_turn_around_beside_the_wood() -> None:
    blank = shapely.box(*BOX)
    for p in cuts(operation()):
        assert p.a[1] == p.b[1] or PLANER.radius < blank.distance(shapely.LineString([p.a[:2], p.b[:2]]))


def test_no_cut_is_wider_than_the_step_over() -> None:
    rows = sorted({p.a[1] for p in cuts(operation()) if p.a[1] == p.b[1]})
    first = rows[0] + PLANER.radius - BOX[1]
    assert 0.4 * 25 + 1e-9 >= max(first, *(b - a for a, b in pairwise(rows)))


def test_rapids_stay_at_the_safe_height_and_descents_within_the_z_axis() -> None:
    found = pieces(run(operation()))
    assert rapids_are_safe(found)
    assert {800.0} == {p.feed for p in found if p.fall > 0 and not p.rapid}  # the axis bears 800, the feed is 1000


@pytest.mark.parametrize(("direction", "way"), [("conventional", 1), ("climb", -1)])
def test_a_direction_asked_for_is_kept_on_every_row(direction: str, way: int) -> None:
    # A cutter turning clockwise climbs with the material to the right of its travel; from memory.
    # Rows go toward +y, where the wood still stands: on the left of a row toward +x, on the right of one toward -x.
    asked = replace(ONE, rough=direction, finish=direction, limits={"direction": "job"})  # type: ignore[arg-type]
    rows = [p for p in cuts(operation(asked)) if p.a[1] == p.b[1]]
    assert {way} == {1 if p.b[0] > p.a[0] else -1 for p in rows}
    assert all(b.a[1] >= a.a[1] for a, b in pairwise(rows) if a.section == b.section)


def test_titles_name_the_levels() -> None:
    assert [
        "plane the blank, level 1 of 3",
        "plane the blank, level 2 of 3",
        "plane the blank, level 3 of 3, last skim",
    ] == [s.title for s in run(operation())]
