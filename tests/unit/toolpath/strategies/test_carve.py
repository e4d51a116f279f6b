"""A V-bit along the middle of shapes: nothing plunged, the slopes those of the closed form, wide places level."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from tests.support.setup_builder import CUTTING
from toolpaths.geometry.loop import Area, Loop
from toolpaths.job.bits.vee import Vee
from toolpaths.operations.operation import Carve
from toolpaths.toolpath.strategies.carve import carve
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, ToolpathBuilder

Array = NDArray[np.float64]

SHARP = Vee(shape="vee", angle=60, tip=0, diameter=6.35, cutting_length=6, shank=6.35, stickout=22)
BLUNT = SHARP.model_copy(update={"tip": 0.2})
TAN = math.tan(math.radians(30))
DIAMOND = Loop.polygon([(-6, 0), (0, -2), (6, 0), (0, 2)])
RING = (Loop.circle(0, 0, 5), (Loop.circle(0, 0, 3.5),))


def carved(*areas: Area, bit: Vee = SHARP, deep: float = 9.0, step: float = 0.05, **cutting: Any) -> list[Section]:
    operation = Carve(
        feature="engraving",
        job_line=1,
        bit="vee",
        cutting=replace(CUTTING, **cutting),
        title="shapes",
        top=10.0,
        floor=10.0 - deep,
        spread=TAN,
        tip=bit.tip,
        step=step,
        areas=areas,
    )
    return list(carve(operation, bit, ToolpathBuilder(safe=20.0, z=20.0)))


def cut(loop: Loop, islands: tuple[Loop, ...] = (), bit: Vee = SHARP, deep: float = 9.0, **cutting: Any) -> list[Step]:
    step = bit.tip + 2 * 0.04 * TAN
    sections = carved(Area(loop, islands, "shape"), bit=bit, deep=deep, step=step, **cutting)
    return [one for section in sections for one in section.steps]


def left(steps: list[Step], bit: Vee, points: Array) -> Array:
    """Height that the steps leave at points (N, 2), arcs in short chords. mm."""
    out = np.full(len(points), 10.0)
    x, y, z = 0.0, 0.0, 20.0
    for step in steps:
        chain = [np.array([x, y, z]), np.array([step.x, step.y, step.z])]
        if isinstance(step, Arc):
            chain = arc(chain[0], step)
        for a, b in pairwise(chain):
            if min(a[2], b[2]) < 10:
                n = len(points)
                out = np.minimum(out, bit.swept_height(np.tile(a, (n, 1)), np.tile(b, (n, 1)), points))
        x, y, z = step.x, step.y, step.z
    return out


def arc(start: Array, step: Arc) -> list[Array]:
    a = math.atan2(start[1] - step.cy, start[0] - step.cx)
    b = math.atan2(step.y - step.cy, step.x - step.cx)
    turn = (b - a) % (2 * math.pi) if step.ccw else -((a - b) % (2 * math.pi))
    turn = turn or (2 * math.pi if step.ccw else -2 * math.pi)
    r = math.hypot(start[0] - step.cx, start[1] - step.cy)
    t = np.linspace(0, 1, 60)
    xy = np.stack([step.cx + r * np.cos(a + turn * t), step.cy + r * np.sin(a + turn * t)], axis=1)
    return list(np.column_stack([xy, start[2] + t * (step.z - start[2])]))


def inside(shape: Polygon, count: int = 500) -> Array:
    x0, y0, x1, y1 = shape.bounds
    points = np.random.default_rng(3).uniform([x0, y0], [x1, y1], (count, 2))
    return np.asarray(points[shapely.contains_xy(shape, points[:, 0], points[:, 1])])


def wanted(shape: Polygon, points: Array, deep: float = 9.0) -> Array:
    away = shapely.distance(shapely.points(points), shape.boundary)
    return np.maximum(10 - away / TAN, 10 - deep)


@pytest.mark.parametrize(("loop", "islands"), [(DIAMOND, ()), RING], ids=["diamond", "ring"])
def test_the_slopes_rise_from_the_middle_to_the_walls(loop: Loop, islands: tuple[Loop, ...]) -> None:
    shape = Polygon(loop.flattened(2e-4), [i.flattened(2e-4) for i in islands])
    points = inside(shape)
    off = left(cut(loop, islands), SHARP, points) - wanted(shape, points)
    assert 0.015 >= float(off.max())
    assert -0.01 <= float(off.min())


def test_nothing_outside_the_shape_is_touched() -> None:
    shape = DIAMOND.shape()
    around = inside(shape.buffer(3).difference(shape.buffer(0.01)))
    assert 10.0 == float(left(cut(DIAMOND), SHARP, around).min())


def test_the_flat_of_a_tip_stays_above_a_sharp_foot_by_as_much_as_it_is_wide() -> None:
    shape = DIAMOND.shape()
    points = inside(shape)
    off = left(cut(DIAMOND, bit=BLUNT), BLUNT, points) - wanted(shape, points)
    # (0.2 / 2) / tan 30 degrees: derived in `job/bits/vee.py` from the profile.
    assert 0.1 / TAN + 0.015 >= float(off.max())
    assert -0.01 <= float(off.min())


def test_a_wide_place_is_level_with_ridges_no_higher_than_asked() -> None:
    shape = DIAMOND.shape()
    points = inside(shape)
    off = left(cut(DIAMOND, deep=1.5), SHARP, points) - wanted(shape, points, 1.5)
    assert 0.055 >= float(off.max())
    assert -0.01 <= float(off.min())


def test_it_begins_in_a_corner_and_goes_down_along_its_way() -> None:
    steps = cut(DIAMOND, pass_depth=9.0)
    entry = [(a, b) for a, b in pairwise(steps) if isinstance(b, Feed) and b.z < 10 - 1e-6]
    first, into = entry[0]
    assert 0.0 == pytest.approx(min(math.hypot(first.x - x, first.y - y) for x, y in DIAMOND.points), abs=1e-5)
    assert first.z == pytest.approx(10.0)
    for a, b in entry:
        down, run = a.z - b.z, math.hypot(b.x - a.x, b.y - a.y)
        if down > 1e-6:
            assert run > 0, "straight down into wood"
            assert (CUTTING.plunge if down > math.tan(math.radians(30)) * run else CUTTING.ramp) == b.feed
    assert into.z < 10


def test_without_a_corner_it_comes_down_on_a_ramp() -> None:
    steps = cut(*RING)
    falls = [
        (a.z - b.z) / math.hypot(b.x - a.x, b.y - a.y)
        for a, b in pairwise(steps)
        if not isinstance(b, Rapid) and b.z < a.z - 1e-6 and b.z < 10 - 1e-6
    ]
    assert math.tan(math.radians(3.0)) + 1e-6 >= max(falls)
    # Half of 1.5 wide: 0.75 / tan 30 degrees deep.
    assert 10 - 0.75 / TAN == pytest.approx(min(s.z for s in steps), abs=3e-3)


def test_deep_shapes_are_cut_in_passes() -> None:
    steps = cut(DIAMOND, pass_depth=0.8)
    starts = [i for i, s in enumerate(steps) if isinstance(s, Rapid)]
    deepest = [min(s.z for s in steps[i:j]) for i, j in zip(starts, [*starts[1:], len(steps)], strict=True)]
    found = sorted({round(z, 3) for z in deepest if z < 10}, reverse=True)
    # The largest circle in a diamond of 12 x 4 has the radius a b / sqrt(a^2 + b^2) = 1.897: 3.286 deep, five passes.
    radius = 6 * 2 / math.sqrt(40)
    assert [round(10 - radius / TAN * k / 5, 3) for k in range(1, 6)] == pytest.approx(found, abs=3e-3)


def test_several_shapes_are_sections_of_their_own() -> None:
    found = carved(Area(DIAMOND, (), "one"), Area(Loop.circle(20, 0, 1), (), "two"), deep=5.0)
    assert ["one, 2 passes", "two, 1 pass"] == [section.title for section in found]


@pytest.mark.parametrize("radius", [0.3, 0.5, 1.0, 2.0, 3.0])
def test_a_circle_is_a_dot_the_point_goes_straight_down_in_its_middle(radius: float) -> None:
    (section,) = carved(Area(Loop.circle(20, 5, radius), (), "dot"), deep=6.0)
    # As deep as both walls allow: radius / tan(half of the point's angle), the middle of a circle being a place.
    assert radius / TAN == pytest.approx(10.0 - min(s.z for s in section.steps), abs=2e-3)
    assert 60 > len(section.steps)
    assert all(0.02 > math.hypot(s.x - 20, s.y - 5) for s in section.steps)
