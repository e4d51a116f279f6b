"""Arcs become chords that keep their ends, stray no more than allowed, and turn the way they should."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, FEED, RAPID, Header, Trace, arc_points, arc_sweep, flattened

Array = NDArray[np.float64]

# First, second and normal axis by name, written out here once more: NISTIR 6556 (turns are seen from the
# positive end of the third axis, so that X turns to Y, Z to X and Y to Z counter-clockwise).
AXES = {17: "XYZ", 18: "ZXY", 19: "YZX"}
PLANES = pytest.mark.parametrize("plane", [17, 18, 19])
TURNS = pytest.mark.parametrize("ccw", [True, False])


def place(plane: int, first: float, second: float, normal: float = 0.0) -> Array:
    """A point from its coordinates along a plane's first, second and normal axis."""
    by_name = dict(zip(AXES[plane], (first, second, normal), strict=True))
    return np.array([by_name["X"], by_name["Y"], by_name["Z"]])


def along(plane: int, points: Array) -> Array:
    """Coordinates along a plane's first, second and normal axis."""
    return points[..., ["XYZ".index(name) for name in AXES[plane]]]


def trace_of(*moves: tuple[int, list[float], list[float]], bits: list[int] | None = None) -> Trace:
    """A trace in G17 of (kind, end, centre), from an unknown place."""
    n = len(moves)
    ends = np.array([m[1] for m in moves], dtype=np.float64).reshape(n, 3)
    nowhere = np.full((1, 3), np.nan)
    whole = np.zeros(n, dtype=np.int64)
    return Trace(
        header=Header(),
        kind=np.array([m[0] for m in moves], dtype=np.int64),
        start=np.concatenate([nowhere, ends])[:n],
        end=ends,
        centre=np.array([m[2] for m in moves], dtype=np.float64).reshape(n, 3),
        plane=whole + 17,
        line=np.arange(1, n + 1),
        feed=np.full(n, 100.0),
        rpm=np.full(n, 9000.0),
        bit=whole + 1 if bits is None else np.array(bits, dtype=np.int64),
        offset=whole,
        offsets=("G54",),
        section=whole - 1,
        sections=(),
        events=(),
        lines=n,
        ended=True,
    )


NONE = [math.nan] * 3


# arc_sweep


@PLANES
@pytest.mark.parametrize(
    ("ccw", "sweep"), [(True, math.pi / 2), (False, -3 * math.pi / 2)], ids=["counter-clockwise", "clockwise"]
)
def test_a_quarter_from_first_to_second_axis_is_counter_clockwise(plane: int, ccw: bool, sweep: float) -> None:
    centre = place(plane, 5, 7)
    radius, first, found = arc_sweep(place(plane, 8, 7), place(plane, 5, 10), centre, plane, ccw)
    assert (3, 0, sweep) == pytest.approx((radius, first, found))


@PLANES
@TURNS
def test_counter_clockwise_is_a_right_handed_turn_about_the_normal(plane: int, ccw: bool) -> None:
    # The vector product tells the same without any table of planes.
    start, end, centre = place(plane, 2, 0), place(plane, 2 * math.cos(0.3), 2 * math.sin(0.3)), place(plane, 0, 0)
    normal = place(plane, 0, 0, 1)
    right_handed = float(np.cross(start - centre, end - centre) @ normal) > 0
    assert right_handed
    assert (ccw == right_handed) == (abs(arc_sweep(start, end, centre, plane, ccw)[2]) < math.pi)


@PLANES
@TURNS
def test_an_end_at_the_start_is_a_full_turn(plane: int, ccw: bool) -> None:
    start = place(plane, 8, 7)
    _, _, sweep = arc_sweep(start, start + place(plane, 0, 0, -3), place(plane, 5, 7), plane, ccw)
    assert (2 * math.pi if ccw else -2 * math.pi) == sweep


# arc_points


@PLANES
@TURNS
@pytest.mark.parametrize("radius", [0.01, 0.5, 3.175, 25, 300])
@pytest.mark.parametrize("error", [0.002, 0.05])
def test_chords_keep_their_ends_and_stray_no_more_than_allowed(
    plane: int, ccw: bool, radius: float, error: float
) -> None:
    centre = place(plane, -40, 12, 5)
    start = place(plane, -40 + radius * math.cos(0.4), 12 + radius * math.sin(0.4), 5)
    end = place(plane, -40 + radius * math.cos(2.9), 12 + radius * math.sin(2.9), 5)
    points = arc_points(start, end, centre, plane, ccw, error)
    assert start.tolist() == points[0].tolist()
    assert end.tolist() == points[-1].tolist()
    from_centre = along(plane, points - centre)
    assert np.full(len(points), radius) == pytest.approx(np.hypot(from_centre[:, 0], from_centre[:, 1]), abs=1e-9)
    middle = (from_centre[1:] + from_centre[:-1]) / 2
    sagitta = radius - np.hypot(middle[:, 0], middle[:, 1])
    assert sagitta.max() <= error + 1e-9


@pytest.mark.parametrize(
    ("radius", "error", "chords"),
    # Chords of a full circle: ceil(2 pi / (2 acos(1 - e/R))); derived from the sagitta of a chord.
    [(3.175, 0.01, 40), (25, 0.01, 112), (100, 0.05, 100)],
)
def test_a_circle_takes_as_few_chords_as_its_error_allows(radius: float, error: float, chords: int) -> None:
    start = np.array([radius, 0.0, 0.0])
    assert chords + 1 == len(arc_points(start, start, np.zeros(3), 17, True, error))


@PLANES
@TURNS
@pytest.mark.parametrize(("end", "sweep"), [((0, 4), math.pi / 2), ((4, 0), 2 * math.pi), ((-4, 0), math.pi)])
def test_a_helix_is_as_long_as_its_unrolled_triangle(
    plane: int, ccw: bool, end: tuple[float, float], sweep: float
) -> None:
    # Length of a helix: sqrt((r sweep)^2 + rise^2).
    if not ccw and end == (0, 4):
        sweep = 3 * math.pi / 2
    rise, radius, error = -2.5, 4.0, 0.002
    points = arc_points(place(plane, 4, 0, 1), place(plane, *end, 1 + rise), place(plane, 0, 0, 1), plane, ccw, error)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    exact = math.hypot(radius * sweep, rise)
    # A chord is shorter than its arc by a third of its sagitta over the radius, at most.
    assert exact * (1 - error / (3 * radius)) <= length <= exact
    heights = along(plane, points)[:, 2]
    assert np.linspace(1, 1 + rise, len(points)) == pytest.approx(heights, abs=1e-12)


def test_radii_that_differ_a_little_are_blended() -> None:
    points = arc_points(np.array([1.0, 0, 0]), np.array([0, 1.002, 0]), np.zeros(3), 17, True, 0.0001)
    radii = np.hypot(points[:, 0], points[:, 1])
    assert np.all(np.diff(radii) > 0)
    assert (1, 1.002) == (radii[0], radii[-1])


# flattened


def test_straight_moves_stay_as_they_are_and_are_shifted_to_the_frame() -> None:
    trace = trace_of((RAPID, [0, 0, 5], NONE), (RAPID, [1, 2, 5], NONE), (FEED, [1, 2, -1], NONE), bits=[4, 4, 7])
    moves = flattened(trace, (100, 200, 300))
    assert [[100, 200, 305], [101, 202, 305]] == moves.start.tolist()
    assert [[101, 202, 305], [101, 202, 299]] == moves.end.tolist()
    assert [1, 2] == moves.parent.tolist()
    assert [4, 7] == moves.bit.tolist()


def test_moves_from_or_to_an_unknown_place_are_left_out() -> None:
    nan = math.nan
    trace = trace_of((RAPID, [nan, nan, 5], NONE), (RAPID, [0, 0, 5], NONE), (RAPID, [1, 0, 5], NONE))
    moves = flattened(trace, (0, 0, 0))
    assert [2] == moves.parent.tolist()
    assert 1 == len(moves)


def test_arcs_stand_among_straight_moves_in_the_order_of_the_program_and_join_up() -> None:
    trace = trace_of(
        (RAPID, [0, 0, 0], NONE),
        (FEED, [10, 0, 0], NONE),
        (ARC_CCW, [10, 10, 0], [10, 5, 0]),
        (FEED, [0, 10, 0], NONE),
        (ARC_CW, [0, 0, -2], [0, 5, 0]),
        (RAPID, [0, 0, 9], NONE),
        bits=[1, 1, 1, 1, 2, 2],
    )
    moves = flattened(trace, (0, 0, 0), error=0.002)
    assert np.all(np.diff(moves.parent) >= 0)
    assert {1, 2, 3, 4, 5} == set(moves.parent.tolist())
    assert moves.end[:-1].tolist() == moves.start[1:].tolist()
    assert [10, 10, 0] == moves.end[moves.parent == 2][-1].tolist()
    assert [0, 0, -2] == moves.end[moves.parent == 4][-1].tolist()
    # Half circles bulge out on one side (x > 10) and, clockwise on the way back down, in on the other (x > 0).
    assert 15 == pytest.approx(moves.end[moves.parent == 2][:, 0].max(), abs=0.002)
    assert 5 == pytest.approx(moves.end[moves.parent == 4][:, 0].max(), abs=0.002)
    assert np.all(moves.bit[moves.parent == 4] == 2)


def test_nothing_is_flattened_to_nothing() -> None:
    assert 0 == len(flattened(trace_of(), (0, 0, 0)))
