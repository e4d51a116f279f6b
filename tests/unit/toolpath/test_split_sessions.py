"""Toolpaths divided into bookings: where a program may end, and how the next one comes back."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, CUTTING, context
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Channel, ProgramPlan
from toolpaths.pipeline.move import move
from toolpaths.pipeline.plan import plan
from toolpaths.toolpath.split_sessions import SessionPart, divided
from toolpaths.toolpath.time_estimate import minutes_of
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath

CHANGE = 3.0
"""Minutes for a bit, where a machine file does not say."""
STOCK_TOP: dict[str, Any] = {"zero": {"x": "nut", "y": "centreline", "z": "stock top"}}


def works(s: SetupContext) -> list[tuple[Toolpath, SetupContext]]:
    return [(move(b, s), s) for b in plan([s])]


def scored(**more: Any) -> SetupContext:
    return context(Plane(bit="planer", leave=6), ScoreLines(bit="scorer", depth=0.5, pass_depth=0.1), **more)


def outlined(tabs: bool = True) -> SetupContext:
    return context(Outline(bit="quarter", tabs=Tabs(count=4, length=8, height=1.5) if tabs else None))


def channelled() -> tuple[Toolpath, SetupContext]:
    """A slot 400 mm long, 6 wide and 6 deep, in three levels of 2 mm."""
    s = context()
    slot = Channel(
        feature="rod",
        job_line=30,
        bit="eighth",
        cutting=CUTTING,
        title="the slot",
        ends=np.array([[[20.0, 0.0], [420.0, 0.0]]]),
        names=("slot",),
        width=6.0,
        top=8.0,
        floor=2.0,
        floor_line=np.array([[0.0, 2.0]]),
    )
    return move(ProgramPlan("face", (slot,)), s), s


def spent(parts: Sequence[SessionPart], s: SetupContext) -> dict[int, float]:
    """Minutes of each session, each program with a bit put in where the one before had another."""
    out: dict[int, float] = {}
    held = (0, "")
    for p in parts:
        bit = (p.session, p.toolpath.sections[0].bit)
        out[p.session] = out.get(p.session, 0.0) + minutes_of(p.toolpath, s)[0] + CHANGE * (bit != held)
        held = bit
    return out


def cuts(parts: Sequence[SessionPart]) -> list[Step]:
    return [s for p in parts for section in p.toolpath.sections for s in section.steps if not isinstance(s, Rapid)]


@pytest.mark.parametrize("booked", [9, 12, 20, 45])
def test_every_session_fits_into_its_booking_and_they_are_numbered_in_order(booked: float) -> None:
    s = scored()
    parts = divided(works(s), booked)
    assert max(spent(parts, s).values()) <= booked
    assert sorted({p.session for p in parts}) == list(range(1, parts[-1].session + 1))


def test_what_fits_into_one_booking_is_not_divided() -> None:
    s = scored()
    whole = works(s)
    parts = divided(whole, 240)
    assert [t for t, _ in whole] == [p.toolpath for p in parts]
    assert {1} == {p.session for p in parts}
    assert not any(p.goes_on for p in parts)


def test_nothing_is_lost_and_nothing_cut_twice() -> None:
    s = scored()
    meant = [step for t, _ in works(s) for section in t.sections for step in section.steps]
    assert [step for step in meant if not isinstance(step, Rapid)] == cuts(divided(works(s), 9))


def test_a_program_that_would_fit_whole_is_not_divided_for_a_small_rest() -> None:
    s = scored()
    planing, lines = (minutes_of(t, s)[0] + CHANGE for t, _ in works(s))
    booked = lines / 0.98
    assert planing > 0.05 * booked
    parts = divided(works(s), booked)
    # Planing leaves more than a quarter of the booking, so it is filled; the next one holds the rest.
    assert [1, 1, 2] == [p.session for p in parts]
    small = divided(works(context(Plane(bit="planer", leave=6), machine=BENCH)), planing / 0.98)
    assert [(1, False)] == [(p.session, p.goes_on) for p in small]


def test_a_bit_is_not_put_in_for_less_than_that_takes() -> None:
    """Of the booking that planing leaves, one scored line would fit: it waits."""
    s = scored()
    planing = minutes_of(works(s)[0][0], s)[0]
    parts = divided(works(s), (planing + CHANGE + CHANGE + 2.5) / 0.99)
    assert [1, 2] == [p.session for p in parts][:2]


def test_programs_that_go_on_say_so_and_hold_the_operation_that_they_share() -> None:
    s = scored()
    parts = divided(works(s), 20)
    going = [p for p in parts if p.goes_on]
    assert going
    for p in going:
        assert ("score_lines",) == tuple(o.feature for o in p.toolpath.program_plan.operations)
        assert len(p.toolpath.sections) == len(p.toolpath.owners)


@pytest.mark.parametrize("tabs", [True, False])
def test_every_part_begins_and_ends_at_the_height_of_travel(tabs: bool) -> None:
    s = outlined(tabs)
    parts = divided(works(s), CHANGE + 0.9)
    assert len(parts) > 2
    for p in parts:
        first, last = p.toolpath.sections[0].steps[0], p.toolpath.sections[-1].steps[-1]
        assert isinstance(first, Rapid)
        assert s.travel_height == first.z == last.z


def test_between_two_levels_the_bit_comes_back_straight_down_where_it_was_lifted() -> None:
    s = outlined(tabs=False)
    parts = divided(works(s), CHANGE + 0.9)
    levels = [(a, b) for a, b in pairwise(parts) if "level" in b.toolpath.sections[0].title]
    assert len(levels) > 1
    for before, after in levels:
        *_, at, up = before.toolpath.sections[-1].steps
        cutting = after.toolpath.program_plan.operations[0].cutting
        assert Rapid(at.x, at.y, s.travel_height) == up
        assert (
            Rapid(at.x, at.y, s.travel_height),
            Feed(at.x, at.y, at.z + 0.5, cutting.descent),
            Feed(at.x, at.y, at.z, cutting.plunge),
        ) == after.toolpath.sections[0].steps[:3]


def test_a_piece_longer_than_a_booking_is_divided_between_its_own_levels() -> None:
    toolpath, s = channelled()
    (piece,) = toolpath.sections
    parts = divided([(toolpath, s)], CHANGE + 0.6 * minutes_of(toolpath, s)[0])
    assert 2 == len(parts)
    sections = [p.toolpath.sections[0] for p in parts]
    assert [piece.title, f"{piece.title}, going on"] == [section.title for section in sections]
    for section in sections[1:]:
        _level_then_lower(section)


def _level_then_lower(section: Section) -> None:
    """After its return a piece goes on below the height where it came back."""
    back = section.steps[2]
    following = next(x for x in section.steps[3:] if isinstance(x, Feed | Arc))
    assert following.z < back.z


def test_a_piece_too_long_is_refused_in_words() -> None:
    s = context(ScoreLines(bit="scorer", depth=0.5))
    with pytest.raises(FeatureError) as caught:
        divided(works(s), 3.5)
    assert (
        "score_lines: fret 1, 2 levels, one way takes 0.6 minutes, and a booking of 3.5 leaves 0.5 for it after the "
        "bit change (3 minutes)"
    ) == caught.value.problem
    assert "book longer, or cut it with a wider bit" == caught.value.hint


def test_planing_stops_between_its_levels_only_where_the_next_bit_is_not_set_on_the_stocks_top() -> None:
    on_bed, on_top = (context(Plane(bit="planer", leave=6), **more) for more in ({}, {"setup": STOCK_TOP}))
    minutes = minutes_of(works(on_bed)[0][0], on_bed)[0]
    booked = CHANGE + 0.7 * minutes
    assert 2 == len(divided(works(on_bed), booked))
    with pytest.raises(FeatureError, match="planing, which is not divided because Z is zeroed on the stock's top"):
        divided(works(on_top), booked)


def test_a_machine_whose_bits_go_in_quickly_cuts_more_in_a_booking() -> None:
    quick = scored(machine=BENCH.model_copy(update={"change_minutes": 0.0}))
    assert divided(works(quick), 12)[-1].session < divided(works(scored()), 12)[-1].session
