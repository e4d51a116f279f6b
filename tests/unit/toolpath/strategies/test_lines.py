"""Scoring: every line approached from the same side in x, nothing plunged, passes that a thin bit can bear."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, steepest
from toolpaths.operations.operation import Cutting, Lines
from toolpaths.toolpath.strategies.lines import lines, passes
from toolpaths.toolpath.toolpath import Rapid, Section, ToolpathBuilder

SCORER = flat(0.6)
FINE = replace(CUTTING, feed=205.0, plunge=60.0, pass_depth=0.15, ramp_angle=2.0)
FRETS = [32.777, 63.715, 92.916]


def operation(half: float = 20.0, depth: float = 0.5, cutting: Cutting = FINE, flip: bool = False) -> Lines:
    way = -1.0 if flip else 1.0
    ends = np.array([[[x, -half * way], [x, half * way]] for x in FRETS])
    return Lines("score_lines", 30, "scorer", cutting, "score", 6.0, 6.0 - depth, ends, ("fret 1", "fret 2", "fret 3"))


def run(o: Lines) -> list[Section]:
    return list(lines(o, SCORER, ToolpathBuilder(safe=SAFE, z=SAFE)))


def low(o: Lines) -> list[Piece]:
    return [p for p in pieces(run(o)) if min(p.a[2], p.b[2]) < 6.0 - 1e-9]


@pytest.mark.parametrize("flip", [False, True])
def test_every_line_is_approached_from_lower_x(flip: bool) -> None:
    # Screw backlash has one sign then and does not enter the spacing.
    for section, x in zip(run(operation(flip=flip)), FRETS, strict=True):
        sideways = [s for s in section.steps if isinstance(s, Rapid) and s.z == SAFE]
        assert x > sideways[0].x
        assert x == sideways[1].x
        assert {x} == {s.x for s in section.steps[section.steps.index(sideways[1]) :]}


def test_nothing_is_plunged() -> None:
    # Whatever goes down below the top goes along the line, no steeper than the ramp angle.
    going_down = [p for p in low(operation()) if p.fall > 0]
    assert going_down
    assert 0 < min(p.run for p in going_down)
    assert 2.0 + 1e-9 >= steepest(low(operation()))


def test_a_short_line_takes_more_passes_so_that_no_slope_is_too_steep() -> None:
    short = operation(half=1.0)
    assert 2.0 + 1e-9 >= steepest(low(short))
    assert math.ceil(0.5 / (2 * math.tan(math.radians(2)))) == len(passes(short, 2.0))


def test_passes_are_no_deeper_than_the_bit_bears_and_end_level_on_the_floor() -> None:
    heights = [6.0, *passes(operation(), 40.0)]
    assert 0.15 + 1e-6 >= max(a - b for a, b in pairwise(heights))
    level = [p for p in low(operation()) if p.a[2] == p.b[2] == 5.5 and p.run == pytest.approx(40.0)]
    assert 3 == len(level)  # each line once along at the full depth


def test_the_line_is_left_straight_up_and_crossed_at_the_safe_height() -> None:
    found = pieces(run(operation()))
    assert rapids_are_safe(found)
    for p in found:
        if p.rapid and p.run > 0:
            assert SAFE == p.a[2] == p.b[2]


def test_titles_name_the_fret_and_the_passes() -> None:
    assert ["fret 1, 4 passes", "fret 2, 4 passes", "fret 3, 4 passes"] == [s.title for s in run(operation())]
    assert "fret 1, 1 pass" == run(operation(depth=0.1))[0].title
