"""A long cut divided at a seam: no bit past the borders, nothing left out between both parts, slopes at the seam."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import CUTTING, flat
from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import Loop
from toolpaths.operations.operation import Contour, Raster, Tab
from toolpaths.toolpath.cut_within import cut_within
from toolpaths.toolpath.strategies.contour import contour
from toolpaths.toolpath.strategies.raster import raster
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, ToolpathBuilder

SAFE, BIT = 12.0, flat(6.0)
COMMON: dict[str, Any] = {
    "feature": "f", "job_line": 1, "bit": "six", "cutting": CUTTING, "title": "t", "top": 8.0, "floor": 2.0,
}  # fmt: skip


def outline(angle: float, tabs: int) -> Contour:
    """A long board's outline, turned a little, with tabs on both sides."""
    c, s = math.cos(angle), math.sin(angle)
    corners = [(-40.0, -20.0), (200.0, -27.0), (200.0, 27.0), (-40.0, 20.0)]
    loop = Loop.polygon([(x * c - y * s, x * s + y * c) for x, y in corners])
    at = [(150.0, -25.5), (-10.0, 20.9)][:tabs]
    placed = tuple(Tab((x * c - y * s, x * s + y * c), (c, s), 8.0, 3.5) for x, y in at)
    return Contour(**COMMON, loop=loop, kerf=6.0, tabs=placed)


def sections_of(
    operation: Contour | Raster, within: tuple[float, float] | None
) -> tuple[list[Section], ToolpathBuilder]:
    pen = ToolpathBuilder(safe=SAFE, z=SAFE)
    made = list((contour if isinstance(operation, Contour) else raster)(operation, BIT, pen))  # type: ignore[arg-type]
    if within is None:
        return made, pen
    held = type(operation)(**{f: getattr(operation, f) for f in operation.__dataclass_fields__} | {"within": within})
    return cut_within(made, held, BIT, (0.0, 0.0, SAFE), pen), pen


def cuts(sections: Sequence[Section]) -> Array:
    """Points (N, 3) every 0.5 mm along all that is cut below the height of travel."""
    out, here = [], (0.0, 0.0, SAFE)
    for step in (s for section in sections for s in section.steps):
        there = (step.x, step.y, step.z)
        if not isinstance(step, Rapid):
            n = max(2, math.ceil(math.dist(here, there) / 0.5))
            t = np.linspace(0, 1, n)[:, None]
            if isinstance(step, Arc):
                a0, a1 = (math.atan2(p[1] - step.cy, p[0] - step.cx) for p in (here, there))
                turn = (a1 - a0) % (2 * math.pi) if step.ccw else -((a0 - a1) % (2 * math.pi))
                angle, r = a0 + turn * t[:, 0], math.hypot(here[0] - step.cx, here[1] - step.cy)
                z = here[2] + (there[2] - here[2]) * t[:, 0]
                out.append(np.stack([step.cx + r * np.cos(angle), step.cy + r * np.sin(angle), z], axis=1))
            else:
                out.append(np.array(here) + t * (np.array(there) - here))
        here = there
    return np.concatenate(out)


def floors(points: Array, places: Array) -> Array:
    """The lowest that the bit's middle comes within 0.6 mm of places (N, 2)."""
    away = np.hypot(points[:, None, 0] - places[None, :, 0], points[:, None, 1] - places[None, :, 1])
    return np.where(away < 0.6, points[:, None, 2], np.inf).min(axis=0)


OPERATIONS = st.one_of(
    st.builds(outline, st.floats(-0.05, 0.05), st.integers(0, 2)),
    st.builds(lambda x: Raster(**{**COMMON, "floor": 6.0}, box=(-50.0, -10.0, x, 10.0), skim=0.3), st.floats(180, 260)),
)


@given(OPERATIONS, st.floats(20, 120))
def test_both_parts_together_cut_what_the_whole_cuts(operation: Contour | Raster, seam: float) -> None:
    whole, _ = sections_of(operation, None)
    near, _ = sections_of(operation, (-math.inf, seam + 10))
    far, _ = sections_of(operation, (seam - 10, math.inf))
    assert cuts(near)[:, 0].max() <= seam + 10 + 1e-9
    assert cuts(far)[:, 0].min() >= seam - 10 - 1e-9
    every = cuts(whole)
    deepest = every[every[:, 2] < operation.top - 0.01]
    both = np.concatenate([cuts(near), cuts(far)])
    places = deepest[::7, :2]
    assert floors(both, places) == pytest.approx(floors(every, places), abs=0.02)


@given(OPERATIONS, st.floats(20, 120))
def test_nothing_goes_deeper_or_elsewhere_than_the_whole(operation: Contour | Raster, seam: float) -> None:
    whole, _ = sections_of(operation, None)
    every = cuts(whole)
    for within in ((-math.inf, seam + 10), (seam - 10, math.inf)):
        part, _ = sections_of(operation, within)
        points = cuts(part)
        low = points[points[:, 2] < operation.top - 0.01]
        away = np.min(np.hypot(low[:, None, 0] - every[None, :, 0], low[:, None, 1] - every[None, :, 1]), axis=1)
        assert away.max() < 0.6  # a quarter of a millimetre beside a pass at most, where it is entered
        assert (low[:, 2] >= floors(every, low[:, :2]) - 0.02).all()


@given(OPERATIONS, st.floats(20, 120))
def test_no_rapid_below_the_height_of_travel_and_the_pen_is_where_the_bit_is(
    operation: Contour | Raster, seam: float
) -> None:
    for within in ((-math.inf, seam + 10), (seam - 10, math.inf)):
        part, pen = sections_of(operation, within)
        here = (0.0, 0.0, SAFE)
        for step in (s for section in part for s in section.steps):
            if isinstance(step, Rapid):
                assert step.z == SAFE
                assert here[2] == SAFE or here[:2] == (step.x, step.y)
            here = (step.x, step.y, step.z)
        assert here == (pen.x, pen.y, pen.z)


def test_the_bit_comes_in_on_a_slope_no_steeper_than_its_ramp() -> None:
    part, _ = sections_of(outline(0.0, 0), (-math.inf, 100.0))
    here, steep = (0.0, 0.0, SAFE), []
    for step in (s for section in part for s in section.steps):
        run = math.hypot(step.x - here[0], step.y - here[1])
        if isinstance(step, Feed) and step.z < here[2] - 1e-9 and here[2] <= 8.0 + 1e-9 and run > 1e-9:
            steep.append((here[2] - step.z) / run)
        here = (step.x, step.y, step.z)
    assert steep
    assert max(steep) <= CUTTING.slope * 1.001


def test_the_bit_leaves_on_its_own_way_back_rising() -> None:
    part, _ = sections_of(outline(0.0, 0), (-math.inf, 100.0))
    steps = [s for section in part for s in section.steps]
    ends = [i for i, s in enumerate(steps) if isinstance(s, Feed | Arc) and abs(s.x - 100.0) < 1e-9]
    left = [i for i in ends if i + 1 < len(steps) and isinstance(steps[i + 1], Feed) and steps[i + 1].z > steps[i].z]
    assert left
    for i in left:
        back = steps[i + 1]
        assert 2.9 < 100.0 - back.x <= 3.0
        assert pytest.approx(steps[i].z + 0.6, abs=1e-6) == back.z
