"""Slots of straight walls: where one runs out beyond its open end."""

from __future__ import annotations

import math

import pytest
from shapely import Point

from toolpaths.operations.slots import RUN_ON, run_out


def test_a_slot_that_lies_aslant_runs_out_in_its_own_direction() -> None:
    # From (0, 0) to (30, 40): 50 long. Two radii of 2 and 1 mm beyond its end, as wide as it.
    strip = run_out((0.0, 0.0), (30.0, 40.0), 3.0, 2.0)
    beyond = 2 * 2.0 + RUN_ON
    assert 3.0 * beyond == pytest.approx(strip.area)
    assert (30 + 0.6 * beyond / 2, 40 + 0.8 * beyond / 2) == pytest.approx(strip.centroid.coords[0])
    assert strip.distance(Point(30 + 0.6 * beyond, 40 + 0.8 * beyond)) < 1e-9
    assert math.hypot(3.0, beyond) == pytest.approx(
        max(Point(a).distance(Point(b)) for a in strip.exterior.coords for b in strip.exterior.coords)
    )
