"""Points that lie together are one patch, whatever their number or shape."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.verification.patches import patches


def test_nothing_makes_no_patch() -> None:
    assert 0 == len(patches(np.empty((0, 2))))


def test_points_of_touching_bins_hang_together_corners_included() -> None:
    points = np.array([[0.5, 0.5], [1.5, 1.5], [2.5, 0.5], [5.5, 0.5], [5.5, -0.5]])
    assert [0, 0, 0, 1, 1] == patches(points).tolist()


def test_a_bin_left_out_parts_two_patches() -> None:
    assert [0, 1] == patches(np.array([[-1.5, 0.5], [0.5, 0.5]])).tolist()
    assert [0, 0] == patches(np.array([[-0.5, 0.5], [0.5, 0.5]])).tolist()


def test_a_long_winding_patch_is_one() -> None:
    turn = np.linspace(0, 12 * np.pi, 40_000)
    spiral = np.stack([3 * turn * np.cos(turn), 3 * turn * np.sin(turn)], axis=1)
    assert 0 == patches(spiral).max()


@given(st.lists(st.tuples(st.integers(-6, 6), st.integers(-6, 6)), min_size=1, max_size=40))
def test_it_agrees_with_walking_from_bin_to_bin(cells: list[tuple[int, int]]) -> None:
    left, groups = set(cells), 0
    while left:
        groups += 1
        walk = [left.pop()]
        while walk:
            x, y = walk.pop()
            near = {(x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)} & left
            left -= near
            walk += near
    found = patches(np.array(cells) + 0.5)
    assert groups == found.max() + 1
