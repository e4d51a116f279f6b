"""The weakest cut, against greatest flow on every single cell by other libraries."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from tests.support.held_part import PITCH, HeldPart
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.simulation.columns import Columns, bodies, bonds, joined
from toolpaths.verification.holding.joints import UNSURE, Bonds
from toolpaths.verification.holding.weakest_joint import weakest_cut, weakest_joint

MAPLE = WoodStrength.of(705.6).poor
EVERYTHING = 1e7
SIX = tuple((x, side) for x in (-150.0, 0.0, 150.0) for side in (-1, 1))


def bears(cut: Bonds, pitch: float) -> float:
    """What pulls a cut's bonds apart, N."""
    strength = np.where(cut.along, MAPLE.pulled(0), MAPLE.pulled(90))
    return float((pitch * cut.height * strength).sum())


def edges(wood: Columns) -> np.ndarray:
    """Each bond of 1 mm and more (N, 3): two numbers of cells and the thousandths of a newton that it bears."""
    number = np.arange(wood.high.size).reshape(wood.high.shape)
    out = []
    for heights, one, other, degrees in zip(
        bonds(wood), (number[:, :-1], number[:-1]), (number[:, 1:], number[1:]), (0.0, 90.0), strict=True
    ):
        strong = heights >= 1
        size = np.rint(wood.pitch * (heights[strong] - UNSURE) * MAPLE.pulled(degrees) * 1000).astype(np.int64)
        out.append(np.stack([one[strong], other[strong], size], axis=1))
    return np.concatenate(out)


def by_networkx(wood: Columns, core: np.ndarray, held: np.ndarray) -> float:
    """Greatest flow from core to held cells, N."""
    graph = nx.Graph()
    graph.add_nodes_from(("core", "held"))
    for a, b, size in edges(wood).tolist():
        graph.add_edge(a, b, capacity=size)
    for name, mask in (("core", core), ("held", held)):
        for cell in np.flatnonzero(mask & wood.wood).tolist():
            graph.add_edge(name, cell)
    return float(nx.maximum_flow_value(graph, "core", "held")) / 1000


def by_scipy(wood: Columns, core: np.ndarray, held: np.ndarray) -> float:
    """The same on every cell by the library's flow alone."""
    count, endless = wood.high.size, 2**31 - 1
    one, other, size = edges(wood).T
    first, last = np.flatnonzero(core & wood.wood), np.flatnonzero(held & wood.wood)
    start = np.concatenate([one, other, np.full(len(first), count), last])
    stop = np.concatenate([other, one, first, np.full(len(last), count + 1)])
    size = np.concatenate([size, size, np.full(len(first) + len(last), endless)]).astype(np.int32)
    graph = csr_array((size, (start, stop)), shape=(count + 2, count + 2))
    graph.indices, graph.indptr = graph.indices.astype(np.int32), graph.indptr.astype(np.int32)
    return float(maximum_flow(graph, count, count + 1).flow_value) / 1000


def some_blank(seed: int, size: int) -> tuple[Columns, np.ndarray, np.ndarray]:
    """A part in a kerf with tabs, webs, saw cuts and holes at random places; waste that is rough and thin here."""
    rng = np.random.default_rng(seed)
    rows, cols = rng.integers(size // 2, size, 2)
    y, x = np.mgrid[:rows, :cols]
    high = np.full((rows, cols), 12.0)
    a, b = rows * rng.uniform(0.1, 0.3), cols * rng.uniform(0.1, 0.3)
    turn = rng.uniform(-0.3, 0.3)
    u, v = x - cols / 2 + turn * (y - rows / 2), y - rows / 2 - turn * (x - cols / 2)
    round_part = rng.random() < 0.4
    far = np.hypot(u / b, v / a) if round_part else np.maximum(np.abs(u) / b, np.abs(v) / a)
    kerf = (far > 1) & (far < 1 + rng.uniform(0.15, 0.6))
    high[kerf] = rng.choice([0.0, 0.0, 1.2, 2.0])
    for _ in range(rng.integers(1, 7)):
        angle, wide = rng.uniform(0, 2 * np.pi), rng.uniform(0.03, 0.3)
        apart = np.abs((np.arctan2(v, u) - angle + np.pi) % (2 * np.pi) - np.pi)
        high[kerf & (apart < wide)] = rng.uniform(0.7, 8)
    for _ in range(rng.integers(0, 4)):
        r, c = rng.integers(0, rows), rng.integers(0, cols)
        high[r : r + rng.integers(1, rows), c : c + rng.integers(1, 4)] = rng.choice([0.0, 1.5, 5.0])
    low = np.where(rng.random() < 0.5, 0.0, rng.uniform(0, 1) * (x > cols * rng.random()))
    high += rng.uniform(0, 0.4, high.shape) * (high > 0)
    core = far < 0.6
    high[core] = np.maximum(high[core], 6)
    held = np.zeros_like(core)
    for _ in range(rng.integers(1, 4)):
        r, c = rng.choice([1, rows - 3]), rng.integers(0, cols - 2)
        held[r : r + 2, c : c + 2] = True
    held &= far > 1.8
    wood = Columns(np.broadcast_to(low, high.shape).astype(np.float32), high.astype(np.float32), 3.0, -7.0, PITCH)
    return wood, core, held


def parted(wood: Columns, cut: Bonds, core: np.ndarray, held: np.ndarray) -> bool:
    """Whether core and holders are apart once the cut's bonds are gone."""
    along, across = (h >= 1 for h in bonds(wood))
    along[cut.row[cut.along], cut.col[cut.along]] = False
    across[cut.row[~cut.along], cut.col[~cut.along]] = False
    labels, _ = joined(wood.wood, along, across)
    return not set(labels[core & wood.wood].tolist()) & set(labels[held & wood.wood].tolist())


def compare(seed: int, size: int) -> float | None:
    """How many times stronger the cut is than the weakest; None where the blank is of no use."""
    wood, core, held = some_blank(seed, size)
    if not (held & wood.wood).any() or (core & held).any():
        return None
    exact = by_scipy(wood, core, held)
    cut = weakest_cut(wood, core, held, MAPLE, EVERYTHING)
    assert cut is not None
    assert parted(wood, cut, core, held)
    found = bears(cut, wood.pitch)
    assert found >= exact * (1 - 1e-3) - 0.01
    if exact == 0:
        assert found == 0
        return 1.0
    return found / exact


def test_the_weakest_cut_of_a_few_blanks() -> None:
    ratios = [r for r in (compare(seed, 60) for seed in range(16)) if r is not None]
    assert len(ratios) > 8
    assert max(ratios) < 1.1


@pytest.mark.slow
def test_the_weakest_cut_of_many_blanks() -> None:
    ratios = np.array([r for r in (compare(seed, 120) for seed in range(100, 400)) if r is not None])
    assert len(ratios) > 260
    assert np.mean(ratios < 1.001) > 0.95
    assert ratios.max() < 1.35


@pytest.mark.parametrize("seed", range(4))
def test_two_libraries_agree_on_the_greatest_flow(seed: int) -> None:
    wood, core, held = some_blank(seed, 34)
    assert by_networkx(wood, core, held) == pytest.approx(by_scipy(wood, core, held), abs=1e-6)


def test_six_tabs_are_six_joints_with_their_sizes() -> None:
    part = HeldPart(tabs=SIX)
    joints = weakest_joint(part.columns, part.core, part.held, MAPLE)
    assert joints is not None
    assert 6 == len(joints)
    assert [3 - UNSURE] * 6 == pytest.approx(joints.height.tolist())
    assert [8.0] * 6 == pytest.approx(joints.length.tolist(), abs=PITCH)
    assert [4.0] * 6 == pytest.approx(joints.span.tolist(), abs=1.01 * PITCH)
    found = sorted((round(float(x)), int(np.sign(y))) for x, y in joints.middle)
    assert sorted((round(x), side) for x, side in SIX) == found
    # The normal leads away from the part.
    assert np.array_equal(np.sign(joints.middle[:, 1]), joints.normal[:, 1])


def test_a_web_all_around_is_taken_in_pieces_of_about_10_mm() -> None:
    # As strong along the grain as across it: else wood splits before the ends' web tears.
    even = WoodStrength(rupture=20, shear=10, across=10, elasticity=10_000)
    part = HeldPart(length=200, web=2.0)
    joints = weakest_joint(part.columns, part.core, part.held, even)
    assert joints is not None
    assert 2 * (200 + 50) * 1.8 == pytest.approx(joints.area.sum(), rel=0.05)
    assert 2 * (200 + 50) / 10 == pytest.approx(len(joints), abs=2)
    assert [10.0] * len(joints) == pytest.approx(joints.length.tolist(), abs=3.5)
    assert joints.span.max() < 2 * 4 * np.sqrt(2)
    assert np.median(joints.span) == pytest.approx(4, abs=1.01 * PITCH)


def test_a_slanting_web_counts_once() -> None:
    """A kerf at 45 degrees across a strip 40 mm wide, cut straight: 40 x root 2 long, 4 - 0.2 high."""
    y, x = np.mgrid[:100, :300] * PITCH
    away = (x - 60 - (y - 20)) / np.sqrt(2)
    high = np.where(np.abs(away) < 3, 4.0, 20.0).astype(np.float32)
    wood = Columns(np.zeros_like(high), high, 0.0, 0.0, PITCH)
    joints = weakest_joint(wood, x < 10, x > 110, MAPLE, EVERYTHING)
    assert joints is not None
    # The weakest way may be along cells; as vectors the bonds still add up to the whole strip's width.
    total = (joints.area[:, None] * joints.normal).sum(axis=0)
    assert 40 * 3.8 == pytest.approx(total[0], rel=0.02)


@pytest.mark.parametrize(("height", "count"), [(0.9, 0), (1.1, 6)])
def test_tabs_of_0_9_mm_leave_the_part_free_and_of_1_1_hold_it(height: float, count: int) -> None:
    part = HeldPart(tabs=SIX, tab=(8.0, height))
    joints = weakest_joint(part.columns, part.core, part.held, MAPLE)
    assert joints is not None
    assert count == len(joints)
    labels, _ = bodies(part.columns)
    assert (count > 0) == bool(set(labels[part.core].tolist()) & set(labels[part.held].tolist()))


@pytest.mark.parametrize(("skin", "free"), [(0.9, True), (1.2, False)])
def test_a_skin_of_0_9_mm_leaves_the_part_free_and_of_1_2_holds_it(skin: float, free: bool) -> None:
    part = HeldPart(length=150, web=skin)
    joints = weakest_joint(part.columns, part.core, part.held, MAPLE)
    assert joints is not None
    assert free == (len(joints) == 0)


def test_the_weakest_of_two_ways_is_found_far_from_the_part() -> None:
    """Two strong tabs, but the waste that they hang on is sawn to a narrow strip near the screws."""
    part = HeldPart(length=100, tabs=[(0.0, -1), (0.0, 1)], tab=(60.0, 18.0))
    wood, (x, y) = part.columns, part.grid
    high = wood.high.copy()
    high[(np.abs(x) > 40) & (np.abs(x) < 44) & (np.abs(y) > 25) & (np.abs(np.abs(y) - 40) > 1)] = 0
    joints = weakest_joint(Columns(wood.low, high, wood.x0, wood.y0, wood.pitch), part.core, part.held, MAPLE)
    assert joints is not None
    assert 4 == len(joints)
    # 2 x 19.8 mm2 along the grain, 4 x 1,170 N, against 2 x 60 x 17.8 mm2 across it, 2 x 3,550 N.
    assert [2.0] * 4 == pytest.approx(joints.length.tolist(), abs=PITCH)
    assert [42.0] * 4 == pytest.approx(np.abs(joints.middle[:, 0]).tolist(), abs=2.5)


def test_nothing_is_thin_before_the_outline_is_cut() -> None:
    part = HeldPart(web=20.0)
    assert weakest_joint(part.columns, part.core, part.held, MAPLE) is None


def test_a_holder_in_the_part_itself_has_no_joint() -> None:
    part = HeldPart(tabs=SIX)
    assert weakest_joint(part.columns, part.core, part.held | part.inside(-20), MAPLE) is None


def test_holders_on_no_wood_hold_nothing() -> None:
    part = HeldPart(tabs=SIX)
    nothing = part.inside(3) & ~part.inside(1) & (np.abs(part.grid[0]) > part.length / 2)
    joints = weakest_joint(part.columns, part.core, nothing, MAPLE)
    assert joints is not None
    assert 0 == len(joints)


def test_a_holder_nearer_to_the_core_than_a_tile_is_still_cut_off_where_it_can_be() -> None:
    """One row of cells between them, 2 mm high: 60 cells of 0.4 mm."""
    high = np.full((20, 60), 10, dtype=np.float32)
    high[10] = 2
    wood = Columns(np.zeros_like(high), high, 0.0, 0.0, PITCH)
    row = np.broadcast_to(np.arange(20)[:, None], (20, 60))
    joints = weakest_joint(wood, row < 10, row > 10, MAPLE)
    assert joints is not None
    assert 60 * PITCH * 1.8 == pytest.approx(joints.area.sum())


@pytest.mark.parametrize("turned", [False, True])
def test_a_single_row_of_cells_is_cut_where_it_is_lowest(turned: bool) -> None:
    high = np.array([[9, 9, 9, 4, 2, 5, 9, 9, 9]], dtype=np.float32)
    core, held = (np.arange(9)[None, :] == k for k in (0, 8))
    if turned:
        high, core, held = high.T, core.T, held.T
    joints = weakest_joint(Columns(np.zeros_like(high), high, 0.0, 0.0, PITCH), core, held, MAPLE)
    assert joints is not None
    assert [PITCH * (2 - UNSURE)] == pytest.approx(joints.area.tolist())
    assert ([0.0, 1.0] if turned else [1.0, 0.0]) == joints.normal[0].tolist()


def test_a_part_without_a_core_is_refused() -> None:
    part = HeldPart()
    with pytest.raises(ValueError, match="no wood"):
        weakest_joint(part.columns, part.core & False, part.held, MAPLE)
