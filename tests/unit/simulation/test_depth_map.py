"""The cells of a map: where they lie, how many there may be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.simulation import depth_map as depthmap
from toolpaths.simulation.depth_map import SHIFT, DepthMap

BOX = (-12.0, -32.0, 468.0, 32.0)


def test_every_centre_lies_on_the_blank_and_no_further_one_would() -> None:
    blank = DepthMap.over(BOX, 6.0, 0.1)
    assert (-12.0 + 0.05 + 0.00137, -32.0 + 0.05 + 0.00071) == pytest.approx((blank.x0, blank.y0))
    assert (640, 4800) == blank.heights.shape
    assert BOX[2] - 0.1 < blank.xs[-1] <= BOX[2]
    assert BOX[3] - 0.1 < blank.ys[-1] <= BOX[3]


def test_centres_are_a_pitch_apart() -> None:
    blank = DepthMap.over(BOX, 6.0, 0.25)
    assert (0.25, 0.25) == pytest.approx((np.diff(blank.xs).max(), np.diff(blank.ys).max()))


@pytest.mark.parametrize("pitch", [0.05, 0.1, 0.2, 0.25])
def test_no_centre_lies_on_a_round_number(pitch: float) -> None:
    blank = DepthMap.over(BOX, 6.0, pitch)
    # A hundredth of a millimetre counts as round.
    for centres in (blank.xs, blank.ys):
        assert np.abs(centres * 100 - np.round(centres * 100)).min() > 0.01
    assert SHIFT[0] != SHIFT[1]


def test_a_blank_is_level_and_read_only() -> None:
    blank = DepthMap.over(BOX, 6.25, 0.5)
    assert (np.float32, 6.25, 6.25) == (blank.heights.dtype, blank.heights.min(), blank.heights.max())
    with pytest.raises(ValueError, match="read-only"):
        blank.heights[0, 0] = 1.0


def test_new_heights_keep_the_cells_and_become_read_only() -> None:
    blank = DepthMap.over(BOX, 6.0, 0.5)
    lower = blank.with_heights(blank.heights - 1)
    assert (5.0, blank.x0, blank.y0, 0.5) == (lower.heights.max(), lower.x0, lower.y0, lower.pitch)
    assert not lower.heights.flags.writeable


@pytest.mark.parametrize("thickness", [6.0, 25.0])
def test_one_sees_through_where_two_sides_have_cut_as_deep_as_the_wood_is_thick(thickness: float) -> None:
    mine, other = DepthMap.over(BOX, thickness, 0.5), DepthMap.over((-12.0, -30.0, 468.0, 34.0), thickness, 0.5)
    # Seen from above a channel along x; from below pits, one of them through, one that meets it, one under whole wood.
    cut = np.where((np.abs(mine.ys - 10) < 3)[:, None], thickness / 2, mine.heights)
    x, y = other.xs, -other.ys[:, None]
    low = np.full(other.heights.shape, thickness)
    low[np.hypot(x - 50, y + 15) < 4] = 0.0
    low[np.hypot(x - 90, y - 10) < 5] = thickness / 2 - 0.5
    low[np.hypot(x - 130, y + 15) < 4] = 0.5
    lowered, pitted = mine.with_heights(cut.astype(np.float32)), other.with_heights(low.astype(np.float32))
    seen = lowered.opened(pitted, thickness, 0.02).heights
    u, v = mine.xs, mine.ys[:, None]
    through, meet = np.hypot(u - 50, v + 15), np.hypot(u - 90, v - 10)
    channel = np.abs(v - 10) < 3
    surely = (through < 3.5) | ((meet < 4.5) & channel)
    perhaps = (through < 4.5) | ((meet < 5.5) & channel)
    assert np.all(seen[surely] == 0)
    assert np.array_equal(lowered.heights[~perhaps], seen[~perhaps])


def test_beside_what_the_other_side_covers_nothing_is_opened() -> None:
    mine = DepthMap.over((0, 0, 20, 20), 6.0, 0.5)
    other = DepthMap.over((0, -10, 10, 0), 0.0, 0.5)
    seen = mine.opened(other, 6.0, 0.02)
    assert (0.0, 6.0) == (seen.heights[:19, :19].max(), seen.heights[21:, 21:].min())


def test_a_pitch_larger_than_the_blank_is_refused() -> None:
    with pytest.raises(ValueError, match="larger than the stock"):
        DepthMap.over((0, 0, 10, 0.4), 6.0, 1.0)


def test_a_map_too_large_for_memory_is_refused_with_the_pitch_that_fits() -> None:
    # 480 x 64 mm in at most 120 million cells: 0.016 mm, since 480 * 64 / 0.016^2 is 120.0 million.
    with pytest.raises(MemoryError, match=r"^0\.016$"):
        DepthMap.over(BOX, 6.0, 0.01)


@given(width=st.floats(5, 60), height=st.floats(5, 60))
def test_the_pitch_that_is_named_does_fit(width: float, height: float) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(depthmap, "LARGEST", 1000)
        with pytest.raises(MemoryError) as refused:
            DepthMap.over((0, 0, width, height), 6.0, 0.01)
        assert 1000 >= DepthMap.over((0, 0, width, height), 6.0, float(str(refused.value))).heights.size
