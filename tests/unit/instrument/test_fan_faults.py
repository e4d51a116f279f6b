"""Fans that cannot be built are told with the key to change; those that can be built are not."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from toolpaths.instrument.fan_faults import fan_faults
from toolpaths.job.job import Instrument


def instrument(scale: Any, **more: Any) -> Instrument:
    board = {"width": {"nut": 48, "end": 64}, "overhang": 8, "thickness": 6, **more.pop("board", {})}
    return Instrument.model_validate(
        {"scale_length": scale, "frets": 24, "strings": 7, "nut_spread": 42, "board": board, **more}
    )


def fan(bass: float = 686, treble: float = 648, square: float = 7) -> dict[str, float]:
    return {"bass": bass, "treble": treble, "square_fret": square}


def told(scale: Any, kerf: float = 0.58, **more: Any) -> list[tuple[str, str]]:
    return [(".".join(f.key), f.problem) for f in fan_faults(instrument(scale, **more), kerf, "mm")]


@pytest.mark.parametrize(
    ("scale", "more"),
    [
        (648, {}),
        (648, {"zero_fret": True}),
        (648, {"nut_compensation": 0.5}),
        (fan(), {}),
        (fan(square=0), {}),
        (fan(square=24), {}),
        (fan(square=7.5), {"nut_compensation": 0.8}),
        (fan(), {"zero_fret": {"nut_behind": 4}}),
        (fan(648, 686), {}),
        (fan(648, 648), {}),
    ],
)
def test_what_can_be_built_is_not_faulted(scale: Any, more: dict[str, Any]) -> None:
    assert [] == told(scale, **more)


@pytest.mark.parametrize("square", [-0.5, 24.5, 30])
def test_the_square_fret_stands_on_the_board(square: float) -> None:
    assert [("scale_length.square_fret", f"fret {square:g} is not on this board")] == told(fan(square=square))


def test_a_single_string_has_no_fan() -> None:
    assert [("scale_length", "one string has only one scale length")] == told(fan(), strings=1)


def test_a_fan_of_more_than_45_degrees_is_a_slip_of_the_pen() -> None:
    # Parallel sides, square at the nut: fret 24 leans by (bass - treble) 0.75 / 42, 45 degrees at 56 mm. By hand.
    straight = {"board": {"width": {"nut": 48, "end": 48}}}
    assert [] == told(fan(703.9, 648, 0), **straight)
    ((key, problem),) = told(fan(704.1, 648, 0), **straight)
    assert ("scale_length", "fret 24 would be 45.1 degrees from square; 45 is the most") == (key, problem)


def test_slots_that_meet_at_the_edge_are_told_with_the_side() -> None:
    # Parallel sides: at the edge the scale is 648 - 3 / 42 x 30 = 645.857; frets 59 and 60 stand
    # 645.857 (2^(-59/12) - 2^(-60/12)) = 1.200 mm apart along the neck there, less square to lines that lean.
    short = {"board": {"width": {"nut": 48, "end": 48}}, "frets": 60}
    wide = fan(678, 648, 60)
    assert [] == told(wide, kerf=1.19, **short)
    ((key, problem),) = told(wide, kerf=1.21, **short)
    assert "scale_length" == key
    assert "fret 59 and fret 60 would be only" in problem
    assert "at the treble edge" in problem


def test_frets_that_cross_on_the_board_are_told() -> None:
    # Strings 4 mm apart on a board 60 wide: at the treble edge the scale would be 40 - (10 / 4) 28 < 0. By hand.
    narrow = {"nut_spread": 4, "board": {"width": {"nut": 60, "end": 60}}, "frets": 3}
    ((key, problem),) = told(fan(50, 40, 1), **narrow)
    assert ("scale_length", "the nut and fret 1 would cross at the treble edge") == (key, problem)


@pytest.mark.parametrize("scale", [648, fan()])
def test_a_nut_does_not_stand_nearer_to_fret_1_than_to_its_own_line(scale: Any) -> None:
    assert [("nut_compensation", "the nut would be nearer to fret 1 than to the nut line")] == told(
        scale, nut_compensation=20
    )


def test_a_zero_fret_leaves_the_nut_nothing_to_compensate() -> None:
    ((key, problem),) = told(648, zero_fret=True, nut_compensation=0.5)
    assert ("nut_compensation", "with a zero fret the strings sound from that fret, not from the nut") == (key, problem)


def test_a_headstock_begins_behind_the_nut_s_furthest_corner() -> None:
    neck = {"thickness": {1: 20}, "headstock": {"length": 35, "width": 80, "thickness": 14}}
    # The flare of 25 and the shelf of 6 alone would do: 31 of 35. The nut's bass corner lies about 7 mm further back.
    assert [] == told(648, neck=neck)
    assert ["neck.headstock.length"] == [key for key, _ in told(fan(), neck=neck)]


@pytest.mark.parametrize("scale", [fan(3000, 20, 12), fan(20, 3000, 24), fan(3000, 648, 0), fan(20, 20, 60)])
def test_wild_figures_are_told_and_break_nothing(scale: Any) -> None:
    assert told(scale)


@pytest.mark.parametrize("scale", [fan(5000, 1, 12), fan(1e-3, 1e-3, 3), fan(1e308, 648)])
def test_figures_that_cannot_be_meant_are_not_even_taken(scale: Any) -> None:
    with pytest.raises(ValidationError, match=r"must be from 20 mm to 3000 mm|must not be more than"):
        told(scale)
