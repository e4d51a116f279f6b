"""A track knows distances along itself, over corners and arcs alike."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.geometry.loop import Loop
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.toolpath import Arc, Feed, Step, ToolpathBuilder

SQUARE = ArcLengthPath.along(Loop.polygon([(0, 0), (10, 0), (10, 10), (0, 10)]))
# A slot with round ends: two straights of 20, two half turns of radius 5.
SLOT = ArcLengthPath.along(
    Loop(np.array([[0.0, -5.0], [20.0, -5.0], [20.0, 5.0], [0.0, 5.0]]), np.array([0.0, 1.0, 0.0, 1.0]))
)


def pen_at(track: ArcLengthPath, s: float, z: float) -> ToolpathBuilder:
    pen = ToolpathBuilder(safe=10.0)
    pen.x, pen.y = track.at(s)
    pen.z = z
    return pen


def way(pen: ToolpathBuilder, steps: list[Step]) -> list[tuple[float, float]]:
    """(length in plan, fall) of each step from where the pen stood."""
    out = []
    x, y, z = pen.x, pen.y, pen.z
    for step in steps:
        if isinstance(step, Arc):
            r = math.hypot(x - step.cx, y - step.cy)
            turn = math.atan2(step.y - step.cy, step.x - step.cx) - math.atan2(y - step.cy, x - step.cx)
            turn = turn % (2 * math.pi) if step.ccw else (-turn) % (2 * math.pi)
            length = r * turn
        else:
            length = math.hypot(step.x - x, step.y - y)
        out.append((length, z - step.z))
        x, y, z = step.x, step.y, step.z
    return out


def run(
    track: ArcLengthPath, s0: float, s1: float, z0: float = 0.0, z1: float = 0.0
) -> tuple[ToolpathBuilder, list[Step], ToolpathBuilder]:
    """(where it began, the steps, the pen after them)."""
    before, pen = pen_at(track, s0, z0), pen_at(track, s0, z0)
    track.run(pen, s0, s1, z0, z1, 500.0)
    return before, list(pen.steps), pen


def test_a_slot_is_as_long_as_its_straights_and_half_turns() -> None:
    assert 40 + 10 * math.pi == pytest.approx(SLOT.length)


def test_a_place_is_found_on_straights_and_on_arcs() -> None:
    assert (5.0, 0.0) == pytest.approx(SQUARE.at(5))
    assert (25.0, 0.0) == pytest.approx(SLOT.at(20 + 2.5 * math.pi))  # the middle of the right half turn


def test_the_track_goes_round() -> None:
    assert SQUARE.at(5) == pytest.approx(SQUARE.at(45))
    assert SQUARE.at(35) == pytest.approx(SQUARE.at(-5))


def test_backwards_it_passes_the_same_places_the_other_way() -> None:
    back = ArcLengthPath.along(SLOT.loop, backwards=True)
    start = back.nearest(*SLOT.at(3.0))
    assert SLOT.length == pytest.approx(back.length)
    for d in (1.0, 12.0, 30.0, 50.0):
        assert SLOT.at(3.0 - d) == pytest.approx(back.at(start + d))


def test_the_nearest_place_to_a_corner_outside_is_the_corner() -> None:
    assert 10.0 == pytest.approx(SQUARE.nearest(12, -3))


def test_the_nearest_place_on_an_arc_lies_on_the_ray_from_its_centre() -> None:
    assert 20 + 2.5 * math.pi == pytest.approx(SLOT.nearest(40, 0))


def test_nearest_and_at_undo_each_other() -> None:
    for s in np.linspace(0, SLOT.length, 101, endpoint=False):
        assert s == pytest.approx(SLOT.nearest(*SLOT.at(float(s))), abs=1e-9)


def test_a_run_cuts_straights_as_lines_and_turns_as_arcs() -> None:
    _, steps, pen = run(SLOT, 10.0, 10.0 + SLOT.length)
    assert [Feed, Arc, Feed, Arc, Feed] == [type(s) for s in steps]
    assert (10.0, -5.0) == pytest.approx((pen.x, pen.y))


def test_a_run_over_several_rounds_falls_evenly_along_its_whole_way() -> None:
    # 2.3 rounds from 6 down to 2: every step falls in proportion to its length.
    before, steps, pen = run(SLOT, 7.0, 7.0 + 2.3 * SLOT.length, 6.0, 2.0)
    pairs = way(before, steps)
    assert 2.3 * SLOT.length == pytest.approx(sum(length for length, _ in pairs))
    for length, fall in pairs:
        assert length * 4.0 / (2.3 * SLOT.length) == pytest.approx(fall, abs=1e-9)
    assert 2.0 == pen.z


def test_a_run_of_no_length_does_nothing() -> None:
    assert [] == run(SLOT, 7.0, 7.0)[1]


@given(st.floats(0, 300), st.floats(0.001, 200))
def test_a_run_ends_where_it_was_sent_after_just_that_way(s0: float, length: float) -> None:
    before, steps, pen = run(SLOT, s0, s0 + length)
    assert SLOT.at(s0 + length) == pytest.approx((pen.x, pen.y), abs=1e-6)
    assert length == pytest.approx(sum(w for w, _ in way(before, steps)), abs=1e-6)


@given(st.floats(0.01, 50), st.floats(-20, 20), st.floats(-20, 20))
def test_a_circle_is_never_left(radius: float, x: float, y: float) -> None:
    circle = ArcLengthPath.along(Loop.circle(x, y, radius))
    for s in np.linspace(0, 2 * circle.length, 17):
        px, py = circle.at(float(s))
        assert radius == pytest.approx(math.hypot(px - x, py - y), abs=1e-9)
