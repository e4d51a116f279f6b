"""Lines: one traverse a level, a short ramp at its beginning, nothing plunged, passes that the bit can bear.

The wood along a line is followed here by itself, point by point, as the bit's middle meets it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, steepest
from toolpaths.operations.operation import Cutting, Lines
from toolpaths.toolpath.strategies.lines import lines, passes
from toolpaths.toolpath.toolpath import Rapid, Section, ToolpathBuilder

SCORER = flat(0.6)
FINE = replace(CUTTING, feed=380.0, plunge=115.0, ramp=265.0, pass_depth=0.3, ramp_angle=2.0, lines="one way")
FRETS = [32.777, 63.715, 92.916]
TOP = 6.0


def operation(half: float = 20.0, depth: float = 0.5, cutting: Cutting = FINE, flip: bool = False) -> Lines:
    way = -1.0 if flip else 1.0
    ends = np.array([[[x, -half * way], [x, half * way]] for x in FRETS])
    return Lines("score_lines", 30, "scorer", cutting, "score", TOP, TOP - depth, ends, ("fret 1", "fret 2", "fret 3"))


def run(o: Lines) -> list[Section]:
    return list(lines(o, SCORER, ToolpathBuilder(safe=SAFE, z=SAFE)))


def low(o: Lines) -> list[Piece]:
    return [p for p in pieces(run(o)) if min(p.a[2], p.b[2]) < TOP - 1e-9]


@pytest.mark.parametrize("flip", [False, True])
def test_every_line_is_approached_from_lower_x(flip: bool) -> None:
    # Screw backlash has one sign then and does not enter the spacing.
    for section, x in zip(run(operation(flip=flip)), FRETS, strict=True):
        sideways = [s for s in section.steps if isinstance(s, Rapid) and s.z == SAFE]
        assert x > sideways[0].x
        assert x == sideways[1].x
        assert {x} == {s.x for s in section.steps[section.steps.index(sideways[1]) :]}


def test_a_leaning_line_is_approached_from_lower_x_for_every_level() -> None:
    ends = np.array([[[50.0, -20.0], [53.0, 20.0]]])
    o = replace(operation(), lines=ends, names=("fret 1",))
    (section,) = run(o)
    rapids = [s for s in section.steps if isinstance(s, Rapid)]
    # Up and over to lower x, then onto the line: for the first level, and again for the second.
    assert 2 == sum(b.x > a.x and b.y == a.y for a, b in pairwise(rapids))
    assert not any(p.b[0] < p.a[0] for p in pieces([section]) if not p.rapid and p.run > 10)


@pytest.mark.parametrize("cut", ["one way", "both"])
def test_one_traverse_a_level(cut: Any) -> None:
    # 40 mm long, 0.25 a level: two traverses of 40 a line, and ramps of 0.25 / tan 2 degrees = 7.16 a level. Derived.
    found = [p for p in low(operation(cutting=replace(FINE, lines=cut))) if not p.rapid]
    assert 6 == sum(p.run == pytest.approx(40.0) for p in found)
    assert 3 * (2 * 40.0 + 2 * 0.25 / math.tan(math.radians(2))) == pytest.approx(sum(p.run for p in found), abs=1e-6)


def test_one_way_every_level_is_cut_the_same_way_and_both_ways_in_turn() -> None:
    for cut, signs in (("one way", [1, 1]), ("both", [1, -1])):
        o = replace(operation(cutting=replace(FINE, lines=cut)), lines=operation().lines[:1], names=("fret 1",))  # type: ignore[arg-type]
        assert signs == [int(np.sign(p.b[1] - p.a[1])) for p in low(o) if p.run > 30 and not p.rapid]


def test_both_ways_the_bit_stays_down_between_the_levels() -> None:
    (section, *_) = run(operation(cutting=replace(FINE, lines="both")))
    assert 1 == sum(isinstance(b, Rapid) for a, b in pairwise(section.steps) if not isinstance(a, Rapid))


def test_twice_each_level_goes_there_and_back() -> None:
    found = [p for p in low(operation(cutting=replace(FINE, twice=True))) if p.run > 30 and not p.rapid]
    assert [1, -1] * 6 == [int(np.sign(p.b[1] - p.a[1])) for p in found]


def test_nothing_is_plunged() -> None:
    # What goes down where wood stands goes along the line, no steeper than the ramp angle; straight down it comes only
    # to where an earlier level has been.
    going_down = [p for p in low(operation()) if p.fall > 0 and p.run > 0]
    assert going_down
    assert 2.0 + 1e-9 >= steepest(low(operation()))


def test_a_short_line_zigzags_so_that_no_slope_is_too_steep() -> None:
    short = operation(half=1.0)
    assert 2.0 + 1e-9 >= steepest(low(short))
    assert 2 == len(passes(short))


def test_passes_are_no_deeper_than_the_bit_bears_and_end_level_on_the_floor() -> None:
    heights = [TOP, *passes(operation())]
    assert 0.3 + 1e-6 >= max(a - b for a, b in pairwise(heights))
    level = [p for p in low(operation()) if p.a[2] == p.b[2] == 5.5 and p.run == pytest.approx(40.0)]
    assert 3 == len(level)  # each line once along at the full depth


def test_the_line_is_left_straight_up_and_crossed_at_the_safe_height() -> None:
    found = pieces(run(operation()))
    assert rapids_are_safe(found)
    for p in found:
        if p.rapid and p.run > 0:
            assert SAFE == p.a[2] == p.b[2]


def test_titles_name_the_fret_the_levels_and_the_way() -> None:
    assert ["fret 1, 2 levels, one way"] == [s.title for s in run(operation())][:1]
    assert "fret 1, 2 levels, there and back" == run(operation(cutting=replace(FINE, lines="both")))[0].title
    assert "fret 1, 2 levels, each cut twice" == run(operation(cutting=replace(FINE, twice=True)))[0].title
    assert "fret 1, 1 level" == run(operation(depth=0.1))[0].title


# Any line: followed point by point

GRID = 0.05


def crowned(length: float, radius: float, middle: float, base: float) -> np.ndarray:
    """(K, 2) of a floor that follows a circle of that radius with its crown at `middle`, the crown at `base`. mm."""
    s = np.linspace(0.0, length, 2 + int(length / 2))
    return np.stack([s, base - radius + np.sqrt(radius**2 - (s - middle) ** 2)], axis=1)


@given(
    length=st.floats(0.8, 90.0),
    depth=st.floats(0.05, 3.0),
    pass_depth=st.floats(0.08, 0.5),
    angle=st.floats(1.0, 4.0),
    lean=st.floats(-0.2, 0.2),
    cut=st.sampled_from(["one way", "both", "twice"]),
    radius=st.sampled_from([None, 150.0, 305.0]),
)
def test_any_line_is_reached_everywhere_and_never_too_deep_at_once(
    length: float, depth: float, pass_depth: float, angle: float, lean: float, cut: str, radius: float | None
) -> None:
    unit = np.array([lean, 1.0]) / math.hypot(lean, 1.0)
    start = np.array([40.0, -length / 2])
    flat_floor = np.array([[0.0, TOP - depth], [length, TOP - depth]])
    floor = flat_floor if radius is None else crowned(length, radius, 0.45 * length, TOP - depth)
    cutting = replace(
        FINE,
        pass_depth=pass_depth,
        ramp_angle=angle,
        twice=cut == "twice",
        lines="both" if cut == "both" else "one way",
    )
    ends = np.array([[start, start + unit * length]])
    floors = () if radius is None else (floor,)
    o = Lines("f", 1, "b", cutting, "t", TOP, float(floor[:, 1].min()), ends, ("fret 1",), floors)
    found = pieces(run(o))
    s = np.linspace(0.0, length, 1 + max(2, int(length / GRID)))
    wood = np.full(len(s), TOP)
    wanted = np.interp(s, floor[:, 0], floor[:, 1])
    own = 0.0 if radius is None else float(np.abs(np.diff(floor[:, 1]) / np.diff(floor[:, 0])).max())
    steep = math.tan(math.radians(angle)) + own
    cut_length = 0.0
    for p in found:
        a, b = (float(np.dot(np.array(at[:2]) - start, unit)) for at in (p.a, p.b))
        if p.rapid or not max(a, b) > -1e-6:
            continue
        if p.run < 1e-9:
            here = wood[np.abs(s - a) <= GRID / 2 + 1e-9]
            assert p.b[2] >= here.max() - 1e-9 or p.fall <= 0  # straight down never into wood
            continue
        under = (s >= min(a, b) - 1e-9) & (s <= max(a, b) + 1e-9)
        height = p.a[2] + (p.b[2] - p.a[2]) * (s[under] - a) / (b - a)
        taken = np.maximum(wood[under] - height, 0.0)
        assert taken.max(initial=0.0) <= pass_depth + 1e-6
        if taken.max(initial=0.0) > 1e-9:
            assert p.fall <= steep * p.run + 1e-9
        wood[under] = np.minimum(wood[under], height)
        cut_length += p.run
    # A chord across a bend of the floor lies below it by less than the way's own chords may: 2 mm, at radius 150.
    assert np.all(wood >= wanted - 0.004)
    assert np.all(wood <= wanted + 1e-6)
    count = len(passes(o, float(floor[:, 1].min())))
    drop = (TOP - float(floor[:, 1].min())) / count
    one = length * (2 if cut == "twice" else 1) + drop / math.tan(math.radians(angle))
    assert cut_length <= count * one + 1e-6
