"""A drilled hole's floor: a cone about its middle, level from its rim on."""

import numpy as np
import pytest

from toolpaths.target_shape.bevel_floor import ConeFloor

PIT = ConeFloor(10.0, 3.0, 1.5, 0.6, 2.0)


def test_it_rises_from_its_point_to_its_rim_and_no_further() -> None:
    # 1.5 + 0.6 r up to r = 2: by hand.
    heights = PIT.height(np.array([10.0, 11.0, 10.0, 10.0]), np.array([3.0, 3.0, 5.0, 9.0]))
    assert [1.5, 2.1, 2.7, 2.7] == pytest.approx(heights.tolist())
    assert [0.6, 0.6] == PIT.slope(np.array([10.0, 99.0]), np.array([3.0, 3.0])).tolist()


def test_turned_over_it_lies_on_the_other_side_of_the_centreline() -> None:
    assert ConeFloor(10.0, -3.0, 1.5, 0.6, 2.0) == PIT.mirrored()
