"""Upright arcs found again in straight cuts along one axis: true to them, and only where they follow an arc."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolpaths.gcode.writer.vertical_arcs import TOLERANCE, UprightArc, with_uprights
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Step

R = 1600.0
START = (0.0, 5.0, 10.0)


def floor(x: float) -> float:
    """A hollow of radius 1600 whose lowest place is x = 60, at height 10 - 60^2 / 3200 (to 1 um)."""
    return 10 + math.sqrt(R**2 - 60**2) - math.sqrt(R**2 - (x - 60) ** 2)


def hollow(step: float = 4.0, feed: float = 800.0) -> list[Step]:
    # Chords of 4 mm stray 4^2 / (8 x 1600) = 0.00125 mm. Derived.
    return [Feed(x, 5.0, floor(x), feed) for x in np.arange(step, 120 + step / 2, step).tolist()]


def found(steps: list[Step], axes: tuple[int, ...] = (0, 1)) -> list[Step | UprightArc]:
    return list(with_uprights(steps, START, axes))


def test_a_hollow_becomes_one_arc_of_its_radius() -> None:
    (arc,) = found(hollow())
    assert isinstance(arc, UprightArc)
    assert (120.0, 5.0) == (arc.x, arc.y)
    assert 10.0 == pytest.approx(arc.z, abs=1e-9)
    assert 60.0 == pytest.approx(arc.along, abs=1e-3)
    assert R == pytest.approx(arc.up - floor(60), rel=1e-4)
    # Along the hollow from left to right it turns to the left.
    assert arc.left
    assert 30 == len(arc.instead)


def test_run_the_other_way_or_arched_up_it_turns_to_the_right() -> None:
    back = [Feed(s.x - 120, s.y, s.z, 800.0) for s in [Feed(0, 5, 10, 800), *hollow()[:-1]][::-1]]
    (arc,) = with_uprights(back, START, (0, 1))
    assert isinstance(arc, UprightArc)
    assert not arc.left
    arched = [Feed(s.x, s.y, 20 - s.z, 800.0) for s in hollow()]
    (arc,) = found(list(arched))
    assert isinstance(arc, UprightArc)
    assert not arc.left
    assert arc.up < 10


def test_along_y_it_is_found_as_well() -> None:
    across = [Feed(0.0, 5 + s.x, s.z, 800.0) for s in hollow()]
    (arc,) = found(list(across))
    assert isinstance(arc, UprightArc)
    assert 1 == arc.axis
    assert 65.0 == pytest.approx(arc.along, abs=1e-3)
    assert list(across) == found(list(across), axes=(0,))


def test_it_strays_from_the_cuts_by_no_more_than_is_allowed() -> None:
    rng = np.random.default_rng(4)
    rough = [Feed(s.x, s.y, s.z + rng.uniform(-0.001, 0.001), 800.0) for s in hollow()]
    arcs = [a for a in found(list(rough)) if isinstance(a, UprightArc)]
    assert arcs
    at = START
    for arc in arcs:
        radius = math.hypot(arc.x - arc.along, arc.z - arc.up)
        for cut in arc.instead:
            middle = ((at[0] + cut.x) / 2, (at[2] + cut.z) / 2)
            for x, z in ((cut.x, cut.z), middle):
                assert TOLERANCE >= abs(math.hypot(x - arc.along, z - arc.up) - radius)
            at = (cut.x, cut.y, cut.z)


@pytest.mark.parametrize(
    "steps",
    [
        [Feed(x, 5.0, 10 - x / 10, 800.0) for x in (10.0, 20.0, 30.0, 40.0, 50.0)],  # a slope
        [Feed(x, 5.0, 10.0, 800.0) for x in (10.0, 20.0, 30.0, 40.0, 50.0)],  # level
        hollow()[:3],  # too few
        [Feed(x, 5.0, 10 - 2 * (i % 2), 800.0) for i, x in enumerate(range(4, 60, 4))],  # teeth
        [Feed(s.x, 5 + s.x / 100, s.z, 800.0) for s in hollow()],  # askew
        [Rapid(s.x, s.y, s.z) for s in hollow()],
        [Arc(20.0, 5.0, 10.0, 10.0, 5.0, True, 800.0)],
    ],
)
def test_what_is_no_upright_arc_is_left_as_it_is(steps: list[Step]) -> None:
    assert steps == found(steps)


def test_another_feed_ends_the_arc() -> None:
    steps = hollow()
    slower = [Feed(s.x, s.y, s.z, 400.0) for s in steps[15:]]
    arcs = found([*steps[:15], *slower])
    assert [800.0, 400.0] == [a.feed for a in arcs if isinstance(a, UprightArc)]
    assert 2 == len(arcs)


def test_nothing_is_made_of_cuts_from_an_unknown_place() -> None:
    steps = hollow()
    assert steps[0] == next(iter(with_uprights(steps, None, (0, 1))))
