"""`handwork.html`: the work in order, its tables, and no markup from anybody's title."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from markupsafe import escape

from tests.support.made import made as make
from toolpaths.instrument.handwork.work_order import groups_of
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.handwork_page import (
    _folded,
    handwork_page,
    positions_table,
    slots_table,
    stations_table,
)
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.hand_list import hand_groups
from toolpaths.workshop.plan_of_instrument import plan_of_instrument

ROOT = Path(__file__).parents[4]
COARSE = Changes(pitch=0.5)


@pytest.fixture(scope="module")
def board() -> Outcome:
    return make(ROOT / "demo_jobs" / "compound_board.yaml", COARSE)


@pytest.fixture(scope="module")
def neck() -> Outcome:
    return make(ROOT / "demo_jobs" / "tenor_neck.yaml", COARSE)


def test_the_groups_of_a_board_come_in_the_order_of_the_work(board: Outcome) -> None:
    titles = [g.title for g in groups_of(board.job, board.handwork)]
    assert ["When it comes off the router", "Markers and inlays", "The top", "The slots", "Frets"] == titles
    page = handwork_page(board)
    places = [page.index(f"<h2>{title}</h2>") for title in titles]
    assert sorted(places) == places


def test_those_of_a_neck_too_with_the_bars_before_the_rod(neck: Outcome) -> None:
    groups = {g.title: [h.what for h in g.entries] for g in groups_of(neck.job, neck.handwork)}
    assert ["Before and between the setups", "When it comes off the router", "Markers and inlays"] == list(groups)[:3]
    assert ["Channel and bars", "Gluing", "The back", "Holes"] == list(groups)[3:]
    channel = groups["Channel and bars"]
    assert next(i for i, w in enumerate(channel) if "bars in" in w) < next(
        i for i, w in enumerate(channel) if "rod in dry" in w
    )


def test_nothing_of_the_list_is_lost(neck: Outcome, board: Outcome) -> None:
    for outcome in (neck, board):
        assert sorted(h.what for h in outcome.handwork) == sorted(
            h.what for g in groups_of(outcome.job, outcome.handwork) for h in g.entries
        )


def test_slots_that_are_cut_are_not_among_those_to_saw(board: Outcome) -> None:
    # 2.1 below the top, scored 0.4 below it: 1.7 everywhere, for frets 1 to 10, in one row.
    table = slots_table(board)
    assert (("1 to 10", "1.70", "1.70", "2.10"),) == table.rows
    assert "from the radiused top" in table.title


def test_slots_that_differ_have_rows_of_their_own(board: Outcome) -> None:
    # Each part of a row is as it is read: neighbours whose cells differ, or numbers with a gap, are not joined.
    rows = [(1, ("1.50",)), (2, ("1.50",)), (3, ("1.60",)), (5, ("1.60",))]
    assert (("1 to 2", "1.50"), ("3", "1.60"), ("5", "1.60")) == _folded(rows)


def test_the_list_is_in_the_order_of_the_plan(neck: Outcome) -> None:
    plan = plan_of_instrument([neck])
    planned = [step.work.what for step in plan.steps if step.work is not None]
    page = handwork_page(neck)
    listed = [entry.what for group in hand_groups(neck) for entry in group.entries]
    assert planned == listed
    places = [page.index(str(escape(what.split("`")[0]))) for what in listed]
    assert sorted(places) == places


def test_positions_in_millimetres_and_sixty_fourths(board: Outcome) -> None:
    rows = {row[0]: row for row in positions_table(board).rows}
    # Half of 530 is 265.00 mm = 10.4331 in; 10 7/16 in is 265.1125.
    assert ("12", "265.00", "10.4331", "10 7/16", "-0.11") == rows["12"]


def test_a_fanned_board_has_both_edges(neck: Outcome) -> None:
    fanned = make(ROOT / "demo_jobs" / "fanned_seven.yaml", COARSE)
    table = positions_table(fanned)
    assert ("fret", "centreline, mm", "bass edge, mm", "treble edge, mm") == table.headers[:4]
    assert all(float(row[2]) != float(row[3]) for row in table.rows if row[0] != "8")


def test_the_back_has_its_stations(neck: Outcome) -> None:
    rows = {row[0]: row for row in stations_table(neck).rows}
    # thickness {1: 20.5, 12: 22}, board 6; fret 12 of 584 at 292.
    assert ("fret 1", "32.78", "20.50", "14.50") == rows["fret 1"][:4]
    assert ("fret 12", "292.00", "22.00", "16.00") == rows["fret 12"][:4]
    assert "25.00" == rows["heel"][2]


def test_a_title_with_markup_stays_text(board: Outcome) -> None:
    title = '<script>alert(1)</script> & "quotes"'
    page = handwork_page(replace(board, job=board.job.model_copy(update={"title": title})))
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_every_entry_has_a_box_to_tick(board: Outcome) -> None:
    assert len(board.handwork) == len(re.findall(r'<li class="todo">', handwork_page(board)))
