"""Skimming: rows broken where something stands, gone on with as far as nothing is between, entered on ramps."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe
from toolpaths.operations.operation import KeptClear, Skim
from toolpaths.toolpath.strategies.skim import skim, spans_of
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

PLANER = flat(25.0)
LIGHT = replace(CUTTING, pass_depth=0.3, step_over=0.6)
CLAMP = KeptClear((40.0, 30.0, 60.0, 50.0), 13.5)


def operation(*clear: KeptClear, along: str = "x", take: float = 0.3) -> Skim:
    box = (-10.0, 0.0, 110.0, 90.0) if along == "x" else (0.0, -10.0, 90.0, 110.0)
    return Skim("skim", 0, "planer", LIGHT, "skim", 12.0, 12.0 - take, box, along, clear)  # type: ignore[arg-type]


def run(o: Skim) -> list[Section]:
    return list(skim(o, PLANER, ToolpathBuilder(safe=SAFE, z=SAFE)))


def level(o: Skim, z: float) -> list[Piece]:
    return [p for p in pieces(run(o)) if not p.rapid and p.a[2] == p.b[2] == z]


def test_rows_are_at_most_a_step_over_apart_and_reach_both_sides() -> None:
    rows = [s.across for s in spans_of(operation(), PLANER)]
    # 90 mm in steps of at most 15: six of them, seven rows.
    assert [0, 15, 30, 45, 60, 75, 90] == pytest.approx(rows)
    assert {(-10.0, 110.0)} == {(s.start, s.end) for s in spans_of(operation(), PLANER)}


def test_a_row_ends_at_the_round_edge_of_what_stands_in_it() -> None:
    found = {round(s.across): (s.start, s.end) for s in spans_of(operation(CLAMP), PLANER) if s.start == -10.0}
    # Beside the box 13.5 mm before it; 10 mm past its far side sqrt(13.5^2 - 10^2) = 9.0692 mm. Derived.
    assert 40 - 13.5 == pytest.approx(found[45][1])
    assert 40 - 9.0692 == pytest.approx(found[60][1], abs=1e-4)
    assert found[75][1] == 110.0


def test_rows_run_along_either_axis() -> None:
    turned = KeptClear((30.0, 40.0, 50.0, 60.0), 13.5)
    assert spans_of(operation(CLAMP), PLANER) == spans_of(operation(turned, along="y"), PLANER)
    a, b = level(operation(CLAMP), 11.7), level(operation(turned, along="y"), 11.7)
    assert sum(p.run for p in a) == pytest.approx(sum(p.run for p in b), rel=1e-3)


def test_an_empty_board_is_skimmed_in_one_go() -> None:
    steps = pieces(run(operation()))
    # Its first rapid is not among the pieces.
    assert 0 == sum(1 for p in steps if p.rapid and p.run > 0)


def test_around_a_clamp_there_are_three_goes_at_most_and_one_round_it() -> None:
    # Left of it and on; right of it; once round it.
    steps = pieces(run(operation(CLAMP)))
    assert 2 >= sum(1 for p in steps if p.rapid and p.run > 0)


def test_each_level_begins_where_the_one_before_it_ended() -> None:
    sections = run(operation(take=0.9))
    assert ["skim, level 1 of 3", "skim, level 2 of 3", "skim, level 3 of 3"] == [s.title for s in sections]
    heights = sorted({p.a[2] for p in pieces(sections) if not p.rapid and p.a[2] == p.b[2]}, reverse=True)
    assert [11.7, 11.4, 11.1] == pytest.approx(heights)


@pytest.mark.parametrize("clear", [(), (CLAMP,), (CLAMP, KeptClear((90.0, -50.0, 95.0, 200.0), 13.5))])
def test_it_goes_down_on_ramps_alone_and_its_rapids_are_safe(clear: tuple[KeptClear, ...]) -> None:
    found = pieces(run(operation(*clear, take=0.6)))
    rapids_are_safe(found)
    for p in found:
        # Onto the floor of the level before it the bit may go straight down.
        cut = 12.0 - 0.3 * p.section
        if not p.rapid and p.b[2] < min(p.a[2], cut) - 1e-9:
            assert (p.a[2] - p.b[2]) <= p.run * math.tan(math.radians(LIGHT.ramp_angle)) * 1.001


def test_a_short_piece_is_entered_there_and_back_as_often_as_it_takes() -> None:
    # Two walls leave 3 mm for the bit's middle; 0.3 mm of a ramp of 3 degrees are 5.7 mm.
    walls = KeptClear((-50.0, -50.0, 20.0, 200.0), 13.5), KeptClear((50.0, -50.0, 200.0, 200.0), 13.5)
    found = spans_of(operation(*walls), PLANER)
    assert {(33.5, 36.5)} == {(s.start, s.end) for s in found}
    assert level(operation(*walls), 11.7)


def test_pieces_too_short_for_a_row_are_left_to_the_way_round() -> None:
    walls = KeptClear((-50.0, -50.0, 20.0, 200.0), 13.5), KeptClear((48.0, -50.0, 200.0, 200.0), 13.5)
    assert [] == spans_of(operation(*walls), PLANER)
    # Still cut: by going round the strip's edge.
    assert 4 <= len(level(operation(*walls), 11.7))


def test_moves_follow_each_other() -> None:
    found = pieces(run(operation(CLAMP, take=0.6)))
    assert all(a.b == b.a for a, b in pairwise(found))


def test_the_way_round_is_gone_once_a_level_and_only_where_something_stands() -> None:
    plain, round_it = (sum(p.run for p in level(operation(*c), 11.7)) for c in ((), (CLAMP,)))
    # Seven rows of 120 mm and six steps of 15, the first of them with its ramp's way back, 5.7 mm at most.
    assert 7 * 120 + 6 * 15 == pytest.approx(plain, abs=6)
    # Round the box of 20 by 20 at 13.5 mm: 4 x 20 + 2 pi 13.5 = 164.8 mm, and the ramp again. Of four rows (30, 45 and
    # 60 cross the box's rounded room, of 47 mm at most) 3 x 47 mm are not cut.
    assert plain - 3 * 47 + 164.8 - 1 < round_it < plain + 164.8 + 60
