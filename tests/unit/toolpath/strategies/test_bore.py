"""Bores: down on a helix, then once around at the wall; straight down only where nothing else fits."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, steepest, swept
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Bore, Cutting
from toolpaths.toolpath.strategies.bore import bore
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

TOP, FLOOR = 6.0, -0.2


def operation(diameter: float, cutting: Cutting = CUTTING) -> Bore:
    return Bore(
        "pin_bores", 30, "any", cutting, "holes", TOP, FLOOR, np.array([[420.0, 3.0]]), np.array([diameter]), ("pin 1",)
    )


def run(diameter: float, bit: Bit, cutting: Cutting = CUTTING) -> list[Section]:
    return list(bore(operation(diameter, cutting), bit, ToolpathBuilder(safe=SAFE, z=SAFE)))


def cuts(sections: list[Section]) -> list[Piece]:
    return [p for p in pieces(sections, 0.02) if not p.rapid and p.run > 1e-9]


def radius(p: Piece) -> float:
    return math.hypot(p.b[0] - 420.0, p.b[1] - 3.0)


def test_the_helix_leaves_the_skim_and_the_last_circle_is_the_hole() -> None:
    # An 8 mm hole with a 3 mm bit: the bit's middle ends on 8/2 - 3/2 = 2.5, the helix 0.2 inside it.
    found = cuts(run(8.0, flat(3.0)))
    assert 2.3 == pytest.approx(max(radius(p) for p in found if p.fall > 0))
    assert 2.5 == pytest.approx(max(radius(p) for p in found))
    around = [p for p in found if radius(p) == pytest.approx(2.5) and p.a[2] == p.b[2] == FLOOR]
    assert 2 * math.pi * 2.5 <= sum(p.run for p in around) + 0.01


@pytest.mark.parametrize(("diameter", "size"), [(8.0, 3.0), (4.0, 3.175), (10.0, 6.0), (6.5, 6.35), (20.0, 3.0)])
def test_the_hole_is_as_wide_as_asked_at_its_floor(diameter: float, size: float) -> None:
    bit = flat(size)
    cover = swept([p for p in cuts(run(diameter, bit)) if p.a[2] == p.b[2] == FLOOR], bit.radius)
    # The path's chords of 0.02 mm and the buffer's take a little off a true circle.
    assert math.pi * diameter**2 / 4 == pytest.approx(cover.area, rel=2e-3)


@pytest.mark.parametrize(("diameter", "size"), [(8.0, 3.0), (4.0, 3.175), (20.0, 6.0)])
def test_the_way_down_is_no_steeper_than_the_ramp_and_no_deeper_a_turn_than_a_pass(
    diameter: float, size: float
) -> None:
    found = cuts(run(diameter, flat(size)))
    assert CUTTING.ramp_angle + 0.02 >= steepest(found)
    assert CUTTING.pass_depth * 1.001 >= max(p.fall / p.run * 2 * math.pi * radius(p) for p in found if p.fall > 0)


def test_a_hole_much_wider_than_the_bit_is_opened_by_several_helices_and_no_post_is_left() -> None:
    # 20 mm with a 3 mm bit: one helix alone would leave a post of 13.6 mm, and cut it away at full depth at last.
    found = cuts(run(20.0, flat(3.0)))
    rings = sorted({round(radius(p), 3) for p in found if p.fall > 0})
    assert 1.5 > rings[0]
    assert 8.3 == rings[-1]
    assert 0.4 * 3.0 + 1e-3 >= max(b - a for a, b in pairwise(rings))
    # Nothing is cut sideways at the floor that no helix has opened before it.
    open_to = 0.0
    for p in found:
        if p.a[2] == p.b[2] == FLOOR:
            assert open_to + CUTTING.finish_allowance + 1e-6 >= radius(p)
        open_to = max(open_to, radius(p)) if p.fall > 0 else open_to


def test_no_wood_is_plunged_into_on_the_helix() -> None:
    for p in [*pieces(run(8.0, flat(3.0))), *pieces(run(20.0, flat(3.0)))]:
        if p.fall > 0 and p.run < 1e-9:
            assert TOP <= p.b[2]


def test_rough_is_conventional_and_the_skim_climbs() -> None:
    # A cutter turning clockwise climbs with the material to its right: counter-clockwise inside a hole; from memory.
    found = cuts(run(8.0, flat(3.0)))

    def turn(some: list[Piece]) -> float:
        return sum((p.a[0] - 420) * (p.b[1] - 3) - (p.b[0] - 420) * (p.a[1] - 3) for p in some)

    assert 0 > turn([p for p in found if p.fall > 0])
    assert 0 < turn([p for p in found if radius(p) == pytest.approx(2.5) and p.fall == 0])


def test_a_hole_as_wide_as_the_bit_is_pecked_straight_down_at_the_plunge_feed() -> None:
    found = pieces(run(6.0, flat(6.0)))
    assert {(420.0, 3.0)} == {p.b[:2] for p in found}
    into_wood = [p for p in found if p.b[2] < TOP and p.fall > 0]
    depths = sorted({round(p.b[2], 6) for p in into_wood if p.feed == CUTTING.plunge}, reverse=True)
    assert FLOOR == depths[-1]
    assert 2.0 + 1e-6 >= max(a - b for a, b in zip([TOP, *depths], depths, strict=False))
    # Between two pecks it leaves the hole, so that the chips come out.
    assert len(depths) - 1 <= sum(p.fall < 0 and p.b[2] == TOP + 0.5 for p in found)


def test_a_pecking_bit_comes_down_fast_only_where_it_has_cut() -> None:
    reached = TOP
    for p in pieces(run(6.0, flat(6.0))):
        if p.fall > 0 and p.feed != CUTTING.plunge:
            assert reached + 0.5 <= p.b[2] + 1e-9
        reached = min(reached, p.b[2])


def test_a_hole_a_hair_wider_than_the_bit_is_pecked_and_then_opened_to_its_width() -> None:
    # 4.08 with a 4 mm bit: too narrow for a helix, and 0.04 of wood would be left all around.
    found = cuts(run(4.08, flat(4.0)))
    assert 0.04 == pytest.approx(max(radius(p) for p in found))
    assert {FLOOR} == {p.b[2] for p in found}


def test_rapids_stay_at_the_safe_height() -> None:
    for diameter, size in ((8.0, 3.0), (6.0, 6.0)):
        assert rapids_are_safe(pieces(run(diameter, flat(size))))


def test_a_direction_asked_for_holds_for_the_wall_too() -> None:
    asked = replace(CUTTING, rough="climb", finish="climb")
    found = cuts(run(8.0, flat(3.0), asked))
    assert all((p.a[0] - 420) * (p.b[1] - 3) - (p.b[0] - 420) * (p.a[1] - 3) > -1e-9 for p in found if radius(p) > 2.2)
