"""What is left to saw, in the middle and at the edges, before and after the top is radiused.

A board 42 mm wide under 241.3 mm: the edges come down 0.9155 mm. Derived (elementary geometry).
"""

from __future__ import annotations

import pytest

from tests.support.words_builder import job
from toolpaths.instrument.handwork.sawing import sawing_words, to_saw
from toolpaths.job.job import SAWN_FIRST, Board, Instrument, Job, Saw, Width


def board(radius: float | None = 241.3, *, first: bool = False, depth: float = 2.0) -> Job:
    width = Width(nut=42, there=42, at="end")
    instrument = Instrument(
        scale_length=300,
        frets=5,
        strings=4,
        board=Board(width=width, overhang=8, thickness=6, radius=None).model_copy(update={"radius": radius}),
    )
    own = job(instrument=instrument)
    return own.model_copy(update={"saw": Saw(depth=depth), "by_hand": (SAWN_FIRST,) if first else ()})


def test_on_a_flat_board_all_along_alike() -> None:
    slot = to_saw(board(None), 3, 0.5, follows=False)
    assert (1.5, 1.5) == (slot.middle, slot.edges)


def test_a_line_that_is_gone_at_the_edges_leaves_the_whole_slot_there() -> None:
    slot = to_saw(board(), 3, 0.5, follows=False)
    assert (1.5, 2.0) == pytest.approx((slot.middle, slot.edges))


def test_a_deeper_line_leaves_less() -> None:
    slot = to_saw(board(), 3, 1.2, follows=False)
    assert (0.8, 2.0 - (1.2 - 0.9155)) == pytest.approx((slot.middle, slot.edges), abs=1e-4)


def test_a_line_that_follows_leaves_the_same_everywhere() -> None:
    slot = to_saw(board(), 3, 0.5, follows=True)
    assert (1.5, 1.5) == pytest.approx((slot.middle, slot.edges))


def test_sawn_first_the_stop_stands_deeper_by_the_sagitta() -> None:
    slot = to_saw(board(first=True), 3, 0.5, follows=False)
    assert 2.0 + 0.9155 == pytest.approx(slot.stop[0], abs=1e-4)
    assert 2.0 + 0.9155 - 0.5 == pytest.approx(slot.edges, abs=1e-4)


def test_it_is_told_slot_by_slot_where_they_differ() -> None:
    of = board(depth=2.2)
    words = sawing_words(of, [to_saw(of, n, 0.5, follows=False) for n in (1, 2)], "mm")
    assert "Saw 2 fret slots after radiusing, with a saw of 0.58 mm kerf, to 2.20 mm below the radiused top" in words
    assert "Each: 1.70 mm left to saw in the middle and 2.20 mm at the edges" in words
    wider = of.instrument.board.model_copy(update={"width": Width(nut=30, there=52, at="end")})
    tapered = of.model_copy(update={"instrument": of.instrument.model_copy(update={"board": wider})})
    words = sawing_words(tapered, [to_saw(tapered, n, 1.4, follows=False) for n in (1, 5)], "mm")
    assert "Fret 1: 0.80 mm left to saw in the middle and" in words
    assert "Fret 5: 0.80 mm left to saw in the middle and" in words
    # Frets beside each other that read the same share a sentence.
    alike = [to_saw(tapered, 1, 1.4, follows=False), *(to_saw(of, n, 0.5, follows=False) for n in (7, 8, 9))]
    words = sawing_words(of, alike, "mm")
    assert "Fret 1: 0.80 mm left to saw" in words
    assert "Frets 7 to 9: 1.70 mm left to saw in the middle and 2.20 mm at the edges" in words


def test_many_kinds_of_slots_are_a_range_in_the_sentence_and_stand_in_the_table() -> None:
    own = board(None)
    slots = [to_saw(own, n, 0.1 * n, follows=False) for n in range(1, 6)] * 2
    said = sawing_words(own, slots, "mm")
    assert "1.50 mm to 1.90 mm are left to saw, with the saw's stop at 2.00 mm" in said
    assert "Fret" not in said
