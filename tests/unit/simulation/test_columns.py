"""Wood as columns: folded, turned over, and what hangs together, against voxels and plain loops."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from toolpaths.simulation.columns import Columns, bodies, bonds
from toolpaths.simulation.depth_map import DepthMap


def columns(low: object, high: object, pitch: float = 0.4) -> Columns:
    return Columns(np.asarray(low, dtype=np.float32), np.asarray(high, dtype=np.float32), 0.0, 0.0, pitch)


def some_map(rng: np.random.Generator, rows: int, cols: int, pitch: float = 0.1) -> DepthMap:
    """Steps of 0.5 mm and some cells cut through."""
    heights = rng.integers(0, 12, (rows, cols)) * 0.5 * (rng.random((rows, cols)) < 0.9)
    return DepthMap(heights.astype(np.float32), float(rng.uniform(-5, 5)), float(-rows * pitch / 2), pitch)


def voxels(wood: Columns, step: float) -> np.ndarray:
    """Cubes (rows, cols, K) that are wood, for heights that are whole steps."""
    z = (np.arange(round(float(wood.high.max(initial=0)) / step)) + 0.5) * step
    return (z > wood.low[:, :, None]) & (z < wood.high[:, :, None])


def same_parts(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two numberings part the cells alike; 0 is none in both."""
    pairs = np.unique(np.stack([one.ravel(), other.ravel()]), axis=1)
    return len(np.unique(one)) == len(np.unique(other)) == pairs.shape[1] and bool(np.all((one == 0) == (other == 0)))


@pytest.mark.parametrize("step", [1.0, 0.25])
@pytest.mark.parametrize("density", [0.45, 0.6, 0.8])
def test_bodies_are_those_of_a_flood_fill_in_three_dimensions(step: float, density: float) -> None:
    """Source: scipy.ndimage.label on cubes, which join by whole faces."""
    rng = np.random.default_rng(1)
    many = 0
    for _ in range(60):
        shape = tuple(rng.integers(1, 24, 2))
        low = rng.integers(0, 3, shape)
        high = np.where(rng.random(shape) < density, low + rng.integers(-1, 4, shape), 0)
        wood = columns(low * step, high * step)
        labels, count = bodies(wood, least=step)
        cubes = voxels(wood, step)
        flood, floods = ndimage.label(cubes)
        assert floods == count
        assert same_parts(flood.max(axis=2, initial=0), labels)
        many += count > 3
    assert many > 30


def test_bonds_are_the_overlap_of_neighbours() -> None:
    along, across = bonds(columns([[0, 2], [5, 0]], [[3, 6], [7, 1]]))
    assert [[1.0], [-4.0]] == along.tolist()
    assert [[-2.0, -1.0]] == across.tolist()


def test_wood_of_0_9_mm_joins_nothing_and_of_1_1_does() -> None:
    """The least tab: common practice, no source."""
    for height, ends_are_one in ((0.9, False), (1.0, True), (1.1, True)):
        labels, _ = bodies(columns([[0] * 5], [[18, 18, height, 18, 18]]))
        assert ends_are_one == (labels[0, 0] == labels[0, 4])


def test_a_skin_that_is_too_thin_leaves_each_cell_alone() -> None:
    labels, count = bodies(columns(np.zeros((2, 3)), np.full((2, 3), 0.5)))
    assert (6, {1, 2, 3, 4, 5, 6}) == (count, set(labels.ravel().tolist()))


def test_cells_that_meet_at_corners_only_are_two_bodies() -> None:
    assert 2 == bodies(columns(np.zeros((2, 2)), [[5, 0], [0, 5]]))[1]


def test_no_wood_is_no_body() -> None:
    labels, count = bodies(columns(np.zeros((3, 4)), np.zeros((3, 4))))
    assert (0, 0) == (count, labels.max())


@given(st.integers(0, 2**32 - 1), st.integers(1, 23), st.integers(1, 23), st.sampled_from([0.1, 0.15, 0.2, 0.4, 0.5]))
def test_a_folded_cell_never_holds_more_wood_than_its_cells(seed: int, rows: int, cols: int, pitch: float) -> None:
    rng = np.random.default_rng(seed)
    top, other = some_map(rng, rows, cols, pitch), some_map(rng, rows, cols, pitch)
    fine, folded = (Columns.of(top, other, 6.0, pitch=p) for p in (pitch, 0.4))
    n = round(folded.pitch / pitch)
    for r, c in np.ndindex(folded.high.shape):
        own = slice(r * n, (r + 1) * n), slice(c * n, (c + 1) * n)
        assert folded.high[r, c] == fine.high[own].min()
        assert folded.low[r, c] >= fine.low[own].max()
        assert folded.xs[c] == pytest.approx(fine.xs[own[1]].mean())
        assert folded.ys[r] == pytest.approx(fine.ys[own[0]].mean())


@given(
    st.integers(0, 2**32 - 1), st.sampled_from([0.1, 0.2, 0.4, 0.7]), st.sampled_from([0.1, 0.2, 0.4]), st.floats(0, 9)
)
def test_the_underside_is_the_other_side_turned_over(seed: int, pitch: float, fine: float, glue: float) -> None:
    """Every cell of the other map whose mirrored square overlaps, one by one."""
    rng = np.random.default_rng(seed)
    top, other = some_map(rng, 9, 11, fine), some_map(rng, int(rng.integers(1, 14)), 12, 0.1)
    other = DepthMap(other.heights, top.x0 + rng.uniform(-0.4, 0.4), other.y0 + rng.uniform(-0.4, 0.4), 0.1)
    wood = Columns.of(top, other, glue, pitch)
    reach, spare = wood.pitch / 2 + 0.05, 1e-6
    for r, y in enumerate(wood.ys):
        for c, x in enumerate(wood.xs):
            rows = np.nonzero(np.abs(-other.ys - y) < reach - spare)[0]
            cols = np.nonzero(np.abs(other.xs - x) < reach - spare)[0]
            met = other.heights[np.ix_(rows, cols)]
            assert (max(np.float32(glue) - met.min(), 0) if met.size else 0) == wood.low[r, c]


def test_a_coarser_map_stays_as_it_is() -> None:
    top = some_map(np.random.default_rng(3), 5, 6, 0.5)
    wood = Columns.of(top)
    assert (0.5, top.x0, top.y0) == (wood.pitch, wood.x0, wood.y0)
    assert np.array_equal(top.heights, wood.high)


def test_where_the_other_side_never_was_the_wood_goes_down_to_the_bed() -> None:
    top = DepthMap.over((0, -2, 4, 2), 10, 0.1)
    wood = Columns.of(top, DepthMap.over((0, -2, 2, 2), 7, 0.1), 10.0)
    assert [3, 3, 0, 0] == wood.low[4, [0, 3, 6, 9]].tolist()


def test_cells_of_a_region_are_those_whose_centres_lie_in_it() -> None:
    wood = Columns.of(DepthMap.over((-5, -4, 5, 4), 3, 0.1))
    x, y = np.meshgrid(wood.xs, wood.ys)
    region = shapely.Point(0.3, 0.2).buffer(3)
    assert np.array_equal(shapely.contains_xy(region, x, y), wood.cells(region))
    assert not wood.cells(shapely.box(50, 0, 60, 5)).any()
