"""Passes over a round top leave too little wood between them, whatever the radius, the ridges allowed and the "
"bit's width."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolpaths.features.crown_passes import angles, tip_at
from toolpaths.job.bits.flat import Flat
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Level


def dome(nut: float, end: float) -> CrownFloor:
    return CrownFloor(Level(6.0), nut, end, 500.0)


def flat(diameter: float) -> Flat:
    return Flat(shape="flat", diameter=diameter, cutting_length=10.0, shank=6.0, stickout=30.0)


@pytest.mark.parametrize("diameter", [1.0, 1.5875, 3.175, 6.35, 12.0])
@pytest.mark.parametrize("scallop", [0.02, 0.05, 0.08, 0.1])
@pytest.mark.parametrize(("nut", "end"), [(184.0, 184.0), (241.3, 406.4), (468.0, 620.4), (508.0, 660.4)])
def test_the_stair_of_a_flat_end_has_no_gap_and_no_step_above_the_scallop(
    diameter: float, scallop: float, nut: float, end: float
) -> None:
    # What a flat end leaves across the board at one x: the lowest of its passes, each level over its width.
    top, bit, half = dome(nut, end), flat(diameter), 30.0
    found = angles(top, bit, scallop, (500.0, half))
    for x, radius in ((0.0, nut), (500.0, end)):
        tip = tip_at(top, bit, np.full(len(found), x), found, 6.0)
        y = np.linspace(0.0, 0.98 * half * radius / end, 4001)
        inside = np.abs(y[:, None] - tip[None, :, 1]) <= diameter / 2 + 1e-9
        left = np.minimum(np.where(inside, tip[None, :, 2], np.inf).min(axis=1), 6.0)
        over = left - (6.0 - radius + np.sqrt(radius**2 - y**2))
        assert over.min() > -1e-3
        assert over.max() <= scallop + 1e-6
    assert found[-1] >= math.asin(half / end) - 1e-9
