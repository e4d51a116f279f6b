"""Whatever the pocket, its island and the two bits: the second cuts only what the first left, and all of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.support.two_bits import SKIM, judge
from toolpaths.geometry.loop import Loop

SETTINGS = settings(max_examples=15, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])


@st.composite
def outlines(draw: st.DrawFn) -> Loop:
    """Star-shaped outlines of straight edges, 5 to 12 corners, blunt and sharp ones, turned anyhow."""
    n = draw(st.integers(5, 12))
    radii = draw(st.lists(st.floats(4.0, 14.0), min_size=n, max_size=n))
    turn = draw(st.floats(0.0, 2 * math.pi))
    angles = turn + np.arange(n) * 2 * math.pi / n
    return Loop.polygon([(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)])


@pytest.mark.slow
@given(
    outline=outlines(),
    first=st.floats(2.0, 6.35),
    ratio=st.floats(0.2, 0.9),
    step=st.floats(0.2, 0.6),
    allowance=st.sampled_from([0.0, 0.1]),
    island=st.one_of(st.none(), st.floats(1.0, 3.0)),
)
@SETTINGS
def test_the_second_bit_cuts_all_that_is_left_and_nothing_else(
    outline: Loop, first: float, ratio: float, step: float, allowance: float, island: float | None
) -> None:
    then = max(0.6, first * ratio)
    assume(then < first - 0.05)
    area = outline.shape()
    islands: tuple[Loop, ...] = ()
    if island is not None:
        islands = (
            Loop.polygon([(-island, -island / 2), (island, -island / 2), (island, island / 2), (-island, island / 2)]),
        )
        assume(area.buffer(-0.5).covers(islands[0].shape()))
        area = area.difference(islands[0].shape())
    # The first bit fits in; else the feature gives the pocket to the second alone.
    assume(not area.buffer(-first / 2 - 0.06).is_empty)
    assert shapely.is_valid(area)
    judge(outline, islands, first, then, replace(SKIM, step_over=step, finish_allowance=allowance))
