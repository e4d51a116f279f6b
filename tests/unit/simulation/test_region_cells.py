"""Cells whose centres lie in a region, against a general-purpose geometry library, point by point."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered

MAP = DepthMap.over((-10, -6, 10, 6), 1.0, 0.1)


def full_mask(region: BaseGeometry, depth_map: DepthMap) -> np.ndarray:
    """The mask over the whole map (rows, cols)."""
    out = np.zeros(depth_map.heights.shape, dtype=bool)
    found = covered(region, depth_map)
    if found is not None:
        rows, columns, mask = found
        out[rows, columns] = mask
    return out


def star(seed: int, points: int = 60) -> shapely.Polygon:
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, 2 * np.pi, points))
    radius = rng.uniform(0.5, 8, points)
    return shapely.Polygon(np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1))


REGIONS: dict[str, BaseGeometry] = {
    "square at round places": shapely.box(-3, -2, 4, 5),
    "circle": shapely.Point(1, 1).buffer(3),
    "star": star(1),
    "star over the edges": star(2).buffer(0.5).buffer(0),
    "ring": shapely.Point(0, 0).buffer(5).difference(shapely.Point(1, 0).buffer(2)),
    "two islands": shapely.union_all([shapely.box(-8, -5, -6, -1), shapely.Point(5, 2).buffer(2.2)]),
    "an island in a ring": shapely.union_all(
        [shapely.Point(0, 0).buffer(5).difference(shapely.Point(0, 0).buffer(3)), shapely.Point(0, 0).buffer(1)]
    ),
    "larger than the map": shapely.box(-50, -50, 50, 50),
    "half off the map": shapely.Point(10, 6).buffer(4),
    "thinner than a cell": shapely.LineString([(-9, -5), (9, 5)]).buffer(0.02),
    "a line along a row": shapely.LineString([(-9, 1), (9, 1)]).buffer(0.3, cap_style="flat"),
}


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_the_mask_is_what_the_library_says_of_every_centre(region: BaseGeometry) -> None:
    x, y = np.meshgrid(MAP.xs, MAP.ys)
    assert np.array_equal(shapely.contains_xy(region, x, y), full_mask(region, MAP))


@pytest.mark.parametrize("seed", range(3, 15))
def test_any_star_is_what_the_library_says(seed: int) -> None:
    x, y = np.meshgrid(MAP.xs, MAP.ys)
    region = star(seed).buffer(0)
    assert np.array_equal(shapely.contains_xy(region, x, y), full_mask(region, MAP))


def test_only_the_regions_box_is_looked_at() -> None:
    found = covered(shapely.box(-1, -1, 1, 1), MAP)
    assert found is not None
    assert found[2].shape <= (23, 23)
    assert np.count_nonzero(found[2]) == 400


@pytest.mark.parametrize("region", [shapely.Polygon(), shapely.box(20, 0, 30, 5), shapely.box(0, -30, 5, -20)])
def test_a_region_off_the_map_covers_nothing(region: BaseGeometry) -> None:
    assert covered(region, MAP) is None
