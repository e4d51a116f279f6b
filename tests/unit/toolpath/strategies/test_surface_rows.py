"""Rows over a back: what each layer takes, how the bit goes down, and that nothing is cut below the finished row."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.operations.operation import Cutting, SurfaceRows
from toolpaths.toolpath.strategies.surface_rows import clipped, layers, surface_rows
from toolpaths.toolpath.toolpath import Rapid, Section, ToolpathBuilder

TOP = 20.0
BALL = Ball(shape="ball", diameter=6.0, flutes=2, cutting_length=25.0, shank=6.0, stickout=30.0)
ONE_WAY = replace(CUTTING, limits={"direction": "job"})
RIDGE = 0.3
few = settings(max_examples=12)


def rows(count: int, seed: int, top: float = TOP) -> tuple[np.ndarray, ...]:
    """Rows along x over a back that falls off to both sides and waves along it; sides 12 mm from the middle."""
    rng = np.random.default_rng(seed)
    amount, wave, phase = rng.uniform(0, 1.5), rng.uniform(0.03, 0.1), rng.uniform(0, 6)
    x = np.linspace(0.0, 90.0, 31)
    out = []
    for y in 12 * np.sin(np.linspace(-math.pi / 2, math.pi / 2, count)):
        z = 12 * math.sqrt(1 - (y / 20) ** 2) + amount * np.sin(wave * x + phase) + 0.5
        out.append(np.column_stack([x, np.full(31, y), z, np.full(31, top)]))
    return tuple(out)


def between(made: tuple[np.ndarray, ...]) -> tuple[np.ndarray, ...]:
    """Straight links, each from the end that the row before comes to."""
    out = []
    for i, (a, b) in enumerate(pairwise(made)):
        ends = np.stack([way[-1 if i % 2 == 0 else 0] for way in (a, b)])
        part = np.linspace(0, 1, 5)[:, None]
        out.append(ends[0] + (ends[1] - ends[0]) * part)
    return tuple(out)


def operation(made: tuple[np.ndarray, ...], *, beside: bool = True, cutting: Cutting = CUTTING) -> SurfaceRows:
    links = between(made) if beside else ()
    names = () if beside else tuple(f"kerf {n}" for n in range(1, len(made) + 1))
    floor = min(float(row[:, 2].min()) for row in made)
    return SurfaceRows("back", 30, "bit", cutting, "rows", TOP, floor, made, names, links, RIDGE if beside else 0.0)


def run(o: SurfaceRows, bit: Bit = BALL) -> list[Section]:
    return list(surface_rows(o, bit, ToolpathBuilder(safe=SAFE + TOP, z=SAFE + TOP)))


def height(way: np.ndarray, x: float) -> float:
    return float(np.interp(x, way[:, 0], way[:, 2]))


class Wood:
    """Heights on a grid of places, cut by a bit that stands on places along each piece."""

    def __init__(self, box: tuple[float, float, float, float], top: float = TOP, pitch: float = 0.5) -> None:
        self.x, self.y = np.arange(box[0], box[2], pitch), np.arange(box[1], box[3], pitch)
        self.h = np.full((len(self.y), len(self.x)), top)

    def cut(self, p: Piece, bit: Bit) -> float:
        """How deep below what stood the bit goes at most, mm."""
        n = max(1, math.ceil(math.dist(p.a, p.b) / 0.4))
        deep = 0.0
        for k in range(n + 1):
            x, y, z = (a + (b - a) * k / n for a, b in zip(p.a, p.b, strict=True))
            j = slice(*np.searchsorted(self.x, [x - bit.radius, x + bit.radius]))
            i = slice(*np.searchsorted(self.y, [y - bit.radius, y + bit.radius]))
            far = np.hypot(self.x[j][None] - x, self.y[i][:, None] - y)
            under = np.where(far <= bit.radius, z + bit.height_at(np.minimum(far, bit.radius)), np.inf)
            deep = max(deep, float((self.h[i, j] - under).max(initial=0.0)))
            self.h[i, j] = np.minimum(self.h[i, j], under)
        return deep


def wood_of(made: tuple[np.ndarray, ...], pitch: float = 0.5) -> Wood:
    xy = np.concatenate(made)[:, :2]
    return Wood((*(xy.min(axis=0) - 4), *(xy.max(axis=0) + 4)), pitch=pitch)  # type: ignore[arg-type]


@few
@given(
    count=st.integers(3, 11),
    seed=st.integers(0, 1000),
    depth=st.floats(1.0, 4.0),
    one_way=st.booleans(),
    beside=st.booleans(),
)
def test_it_goes_down_no_faster_than_a_plunge_and_never_in_a_rapid(
    count: int, seed: int, depth: float, one_way: bool, beside: bool
) -> None:
    cutting = replace(ONE_WAY if one_way else CUTTING, pass_depth=depth)
    found = pieces(run(operation(rows(count, seed), beside=beside, cutting=cutting)))
    for p in found:
        if p.rapid:
            assert p.fall <= 1e-9
            assert p.run == 0 or p.a[2] == p.b[2] == SAFE + TOP
        elif p.fall > 1e-6 and p.a[2] < SAFE + TOP:
            # Straight down only as fast as a plunge, whatever the slope.
            long = math.hypot(p.run, p.fall)
            assert p.feed * p.fall / long <= cutting.plunge * (1 + 1e-9) or p.feed == cutting.plunge
            # What comes straight down from the height of travel stops above the wood: see the simulation below.
            assert p.run > 0 or p.feed == cutting.plunge
        assert p.feed in (0.0, *cutting.feeds)
    assert rapids_are_safe([replace(p, a=(*p.a[:2], p.a[2] - TOP), b=(*p.b[:2], p.b[2] - TOP)) for p in found])


@few
@given(count=st.integers(3, 11), seed=st.integers(0, 1000), depth=st.floats(1.0, 4.0), one_way=st.booleans())
def test_no_layer_is_entered_steeper_than_a_ramp(count: int, seed: int, depth: float, one_way: bool) -> None:
    """Off the row's own slope: what a way down loses against the row that it runs along."""
    made = rows(count, seed)
    cutting = replace(ONE_WAY if one_way else CUTTING, pass_depth=depth)
    by_y = {round(float(row[0, 1]), 9): row for row in made}
    for section in run(operation(made, cutting=cutting)):
        for a, b in pairwise(section.steps):
            row = by_y.get(round(a.y, 9))
            if row is None or a.y != b.y or isinstance(b, Rapid) or a.x == b.x or a.z >= TOP:
                continue
            lost = (a.z - height(row, a.x)) - (b.z - height(row, b.x))
            assert lost <= abs(b.x - a.x) * cutting.slope + 1e-9


@few
@given(count=st.integers(3, 11), seed=st.integers(0, 1000), depth=st.floats(1.0, 4.0), beside=st.booleans())
def test_layers_come_down_evenly_to_the_row_itself(count: int, seed: int, depth: float, beside: bool) -> None:
    made = rows(count, seed)
    o = operation(made, beside=beside, cutting=replace(CUTTING, pass_depth=depth))
    found = layers(o)
    most = max(float((row[:, 3] - row[:, 2]).max()) for row in made)
    assert 0.0 == found[-1]
    assert found == sorted(found, reverse=True)
    steps = [a - b for a, b in pairwise([most, *found])]
    # Less the ridges that the layer before leaves, and 15 % for what stands beside a row on a flank.
    assert max(steps) <= max(0.85 * depth - o.ridge, depth / 2) + 1e-9
    assert min(steps) >= max(steps) - 1e-6


@pytest.mark.parametrize("one_way", [False, True], ids=["both ways", "one way"])
@pytest.mark.parametrize("bit", [BALL, flat(4.0)], ids=["ball", "flat"])
@pytest.mark.parametrize("seed", [1, 2])
def test_cut_into_wood_no_pass_is_deeper_than_it_may_be(one_way: bool, bit: Bit, seed: int) -> None:
    """Its own small simulation: the bit stands on places 0.4 mm apart along each move, the wood on a grid of 0.5 mm."""
    made = rows(11, seed)
    cutting = replace(ONE_WAY if one_way else CUTTING, pass_depth=3.0)
    o, wood = operation(made, cutting=cutting), wood_of(made)
    for p in pieces(run(o, bit)):
        if p.rapid:
            if p.fall > 0:
                assert wood.cut(p, bit) <= 0.01
            continue
        deep = wood.cut(p, bit)
        if p.run == 0 and p.feed > cutting.plunge and p.fall > 0:
            assert deep <= 0.1
        # Upright, at the rim of a bit on a flank, it meets what stands beside the rows of the layer before.
        assert deep <= 3.0 + 0.35
    # Nothing is lower than the finished rows leave it, and these are cut all along.
    bare = wood_of(made)
    for row in [*made, *(() if one_way else o.links)]:
        for a, b in pairwise(row):
            bare.cut(Piece(tuple(a[:3]), tuple(b[:3]), 1.0, 0), bit)
    assert np.abs(wood.h - bare.h).max() <= 0.12  # places of a move are 0.4 mm apart, on slopes of up to 0.6


@pytest.mark.parametrize("beside", [True, False])
@pytest.mark.parametrize("cutting", [CUTTING, ONE_WAY], ids=["both ways", "one way"])
@few
@given(count=st.integers(3, 9), seed=st.integers(0, 1000))
def test_nothing_is_below_its_row_and_each_row_is_cut_from_end_to_end(
    beside: bool, cutting: Cutting, count: int, seed: int
) -> None:
    made = rows(count, seed)
    o = operation(made, beside=beside, cutting=cutting)
    by_y = {round(float(row[0, 1]), 9): row for row in made}
    reached = {y: np.zeros(31, dtype=bool) for y in by_y}
    for p in pieces(run(o)):
        row = by_y.get(round(p.a[1], 9))
        if row is None or p.rapid or p.a[1] != p.b[1]:
            continue
        for x, _, z in (p.a, p.b):
            assert z >= height(row, x) - 1e-6
            k = int(np.argmin(np.abs(row[:, 0] - x)))
            if abs(z - row[k, 2]) < 1e-9 and row[k, 0] == x:
                reached[round(p.a[1], 9)][k] = True
    assert all(places.all() for places in reached.values())


def test_one_way_means_one_way() -> None:
    made = rows(7, 3)
    finished = {round(float(row[0, 1]), 9): row for row in made}
    ways = set()
    for section in run(operation(made, cutting=ONE_WAY))[-1:]:
        for a, b in pairwise(section.steps):
            row = finished.get(round(a.y, 9))
            both = row is not None and not isinstance(b, Rapid) and a.y == b.y and a.x != b.x
            if both and abs(a.x - b.x) >= 1 and a.z - height(row, a.x) < 1e-6 and a.x > 60:  # type: ignore[arg-type]
                ways.add(math.copysign(1, b.x - a.x))
    assert {1.0} == ways


def test_rows_that_stand_alone_are_each_cut_down_before_the_next() -> None:
    made = rows(4, 5)
    found = run(operation(made, beside=False))
    deepest = max(float((row[:, 3] - row[:, 2]).max()) for row in made)
    assert [f"kerf {n}" for n in range(1, 5)] == [s.title.split(",")[0] for s in found]
    for section, row in zip(found, made, strict=True):
        assert {float(row[0, 1])} == {s.y for s in section.steps[2:]}
        count = int(section.title.split(", ")[1].split()[0])
        assert count <= len(layers(operation(made, beside=False)))
        assert count >= (row[:, 3] - row[:, 2]).max() / deepest * 2
        # Between its passes the bit comes up.
        assert count == sum(p.rapid and p.fall < 0 for p in pieces([section]))


@few
@given(low=st.floats(0.5, 9.0), seed=st.integers(0, 100))
def test_where_the_wood_lies_lower_the_bit_stays_in_it_and_cuts_no_air(low: float, seed: int) -> None:
    """Wood that is gone on one half of a row: passes above it run along its surface, none above the wood."""
    (row,) = rows(1, seed)
    row = row.copy()
    row[:15, 3] = np.maximum(row[:15, 2], row[:15, 2] + low - 3.0)
    for above in (0.0, 1.0, 2.5, 6.0):
        way = clipped(row, above)
        assert np.all(way[:, 2] <= np.interp(way[:, 0], row[:, 0], row[:, 3]) + 1e-9)
        x = np.linspace(0, 90, 3601)
        wanted = np.minimum(np.interp(x, row[:, 0], row[:, 2]) + above, np.interp(x, row[:, 0], row[:, 3]))
        # A crossing that all but coincides with a place is left out: 0.02 mm on a slope.
        assert np.abs(np.interp(x, way[:, 0], way[:, 2]) - wanted).max() <= 0.02 * 8 + 1e-9
        steps = np.hypot(*np.diff(way[:, :2], axis=0).T)
        assert steps.min() > 0.02 - 1e-9


@few
@given(drop=st.floats(0.05, 3.0), seed=st.integers(0, 100), angle=st.floats(1.0, 8.0))
def test_no_move_along_a_row_is_too_short_to_be_driven(drop: float, seed: int, angle: float) -> None:
    (row,) = rows(1, seed)
    cutting = replace(CUTTING, ramp_angle=angle, pass_depth=drop + 0.2)
    for p in pieces(run(operation((row,), beside=False, cutting=cutting))):
        assert p.rapid or p.run == 0 or p.run > 0.02 - 1e-9
