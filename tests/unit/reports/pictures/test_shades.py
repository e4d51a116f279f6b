from __future__ import annotations

import numpy as np
import pytest

from toolpaths.reports.pictures import shades
from toolpaths.simulation.depth_map import DepthMap


def test_a_line_one_cell_wide_does_not_vanish_when_the_map_is_made_smaller() -> None:
    level = DepthMap.over((0, 0, 100, 20), 6.0, 0.1)
    heights = level.heights.copy()
    heights[:, 503] = 5.5
    small = shades.lowest(level.with_heights(heights), (0, 0, 100, 20), 200, 40)
    assert (40, 200) == small.shape
    assert 40 == int((small == 5.5).sum())


def test_a_map_made_larger_repeats_its_cells() -> None:
    level = DepthMap.over((0, 0, 4, 2), 6.0, 1.0)
    heights = level.heights.copy()
    heights[0, 0] = 1.0
    large = shades.lowest(level.with_heights(heights), (0, 0, 4, 2), 40, 20)
    # The first row of the map lies at the lowest y, which is the bottom of a picture.
    assert np.all(large[10:, :10] == 1.0)
    assert 100 == int((large == 1.0).sum())


def test_beside_the_map_nothing_is_known() -> None:
    level = DepthMap.over((0, 0, 10, 10), 6.0, 0.5)
    seen = shades.lowest(level, (-10, -10, 20, 20), 30, 30)
    assert 100 == int(np.isfinite(seen).sum())
    assert not np.isfinite(shades.lowest(level, (50, 50, 60, 60), 10, 10)).any()


def test_half_a_millimetre_takes_more_than_a_quarter_of_the_colours_of_a_six_millimetre_board() -> None:
    # sqrt(0.5 / 6) = 0.2887
    assert pytest.approx(0.2887, abs=1e-4) == float(shades.scale_of(0.5 / 6))


def test_the_colours_grow_darker_all_the_way_down() -> None:
    # Relative luminance of sRGB: ITU-R BT.709 weights, IEC 61966-2-1 transfer.
    table = shades.colour_table() / 255
    linear = np.where(table <= 0.04045, table / 12.92, ((table + 0.055) / 1.055) ** 2.4)
    luminance = linear @ [0.2126, 0.7152, 0.0722]
    assert np.all(np.diff(luminance) <= 1e-4)


def test_face_line_through_cut_and_uncut_wood_can_be_told_apart() -> None:
    heights = np.array([[6.0, 5.5, 4.2, 1.5, -0.2, 8.0]], dtype=np.float32)
    colours = shades.painted(np.repeat(heights, 20, axis=0), 6.0, shades.colour_table()).astype(int)
    seen = [colours[10, i, :3] for i in range(6)]
    for i in range(6):
        for j in range(i):
            assert 60 < np.abs(seen[i] - seen[j]).sum(), (i, j)
