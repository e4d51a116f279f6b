"""In which order, with which bit, in how many programs."""

from __future__ import annotations

from typing import ClassVar, Literal

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, CUTTING, context
from toolpaths.features.feature import Feature
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.geometry.loop import Area, Loop
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Bore, Clear, Contour, Lines, Operation, Raster, Tab
from toolpaths.pipeline.plan import chosen, ordered, plan
from toolpaths.target_shape.demand import Demand

AUTOMATIC = BENCH.model_copy(update={"tool_change": "automatic"})

PLANE = Plane(bit="planer", leave=6)
LINES = ScoreLines(bit="scorer", depth=0.5)
POCKETS = MarkerPockets(bit="eighth", diameter=6, depth=1.8)
PINS = PinBores.model_validate({"bit": "eighth", "at": [[-8, 5]], "diameter": 4})
OUTLINE = Outline(bit="quarter", tabs=Tabs(count=4, length=8, height=1.5))


def order(*features: Feature) -> list[str]:
    return [f.name for f in ordered(features)]


def programs(*features: Feature, **job: object) -> list[tuple[tuple[str, ...], list[str]]]:
    s = context(*features, **job)  # type: ignore[arg-type]
    return [(b.bits, list(dict.fromkeys(o.feature for o in b.operations))) for b in plan([s])]


def test_planing_comes_first_and_the_outline_last_whatever_the_job_s_order() -> None:
    assert ["plane", "marker_pockets", "score_lines", "outline"] == order(OUTLINE, POCKETS, PLANE, LINES)


def test_what_lies_inside_keeps_the_job_s_order_but_one_bit_at_a_time() -> None:
    assert ["plane", "marker_pockets", "pin_bores", "score_lines", "outline"] == order(
        PLANE, POCKETS, LINES, PINS, OUTLINE
    )


def test_a_bit_that_is_needed_last_comes_last_and_one_that_is_in_the_collet_first() -> None:
    by_outline_s_bit = POCKETS.model_copy(update={"bit": "quarter"})
    assert ["score_lines", "marker_pockets", "outline"] == order(by_outline_s_bit, LINES, OUTLINE)
    by_planer = PINS.model_copy(update={"bit": "planer"})
    assert ["plane", "pin_bores", "score_lines", "outline"] == order(LINES, by_planer, PLANE, OUTLINE)


def test_one_program_a_bit_where_bits_are_changed_by_hand() -> None:
    assert [
        (("planer",), ["plane"]),
        (("scorer",), ["score_lines"]),
        (("eighth",), ["marker_pockets", "pin_bores"]),
        (("quarter",), ["outline"]),
    ] == programs(PLANE, LINES, POCKETS, PINS, OUTLINE)


def test_neighbours_with_one_bit_share_a_program() -> None:
    assert [(("quarter",), ["marker_pockets", "outline"])] == programs(
        MarkerPockets(bit="quarter", diameter=8, depth=1.8), OUTLINE
    )


def test_one_program_a_setup_where_the_machine_changes_bits() -> None:
    assert [(("planer", "scorer", "eighth", "quarter"), ["plane", "score_lines", "marker_pockets", "outline"])] == (
        programs(PLANE, LINES, POCKETS, OUTLINE, machine=AUTOMATIC)
    )


def test_a_left_handed_instrument_is_cut_as_the_mirror_image() -> None:
    features = (PLANE, LINES, POCKETS, PINS, OUTLINE)
    # So wide that no line's beginning is held back by the blank's edge, which lies where it lies.
    stock = {"length": 510, "width": 80, "thickness": 8}
    right, left = (
        [o for b in plan([context(*features, setup={"centre_at": 36}, stock=stock, **more)]) for o in b.operations]
        for more in ({}, {"handed": "left"})
    )
    flip = np.array([1.0, -1.0])
    kinds = set()
    for r, m in zip(right, left, strict=True):
        kinds.add(type(r))
        match r, m:
            case Raster(), Raster():
                assert r.box == m.box  # the blank itself lies where it lies
            case Lines(), Lines():
                assert np.array_equal(r.lines * flip, m.lines)
            case Clear(), Clear():
                assert [a.outer.mirrored().as_circle() for a in r.areas] == [a.outer.as_circle() for a in m.areas]
            case Bore(), Bore():
                assert [[-8.0, -5.0]] == m.centres.tolist()
            case Contour(), Contour():
                assert sorted((r.loop.points * flip).tolist()) == sorted(m.loop.points.tolist())
                assert m.loop.shape().exterior.is_ccw
                assert [(t.at[0], -t.at[1]) for t in r.tabs] == [t.at for t in m.tabs]
            case _:
                pytest.fail(f"{r} became {m}")
    assert {Raster, Lines, Clear, Bore, Contour} == kinds


# A part of the set


def batches() -> tuple[object, ...]:
    return plan([context(PLANE, LINES, POCKETS, PINS, OUTLINE)])


def names(some: object) -> list[list[str]]:
    return [[o.feature for o in b.operations] for b in some]  # type: ignore[attr-defined]


def test_without_a_name_the_whole_set_is_written() -> None:
    before, keep = chosen(batches(), None, None)  # type: ignore[arg-type]
    assert () == before
    assert 4 == len(keep)
    assert names(batches()) == names(keep)


def test_only_one_feature_is_written_and_those_before_it_count_as_cut() -> None:
    before, keep = chosen(batches(), "pin_bores", None)  # type: ignore[arg-type]
    assert [["plane"], ["score_lines"], ["marker_pockets"]] == names(before)
    assert [["pin_bores"]] == names(keep)


def test_from_a_feature_on_all_that_follow_are_written() -> None:
    before, keep = chosen(batches(), None, "pin_bores")  # type: ignore[arg-type]
    assert [["plane"], ["score_lines"], ["marker_pockets"]] == names(before)
    assert [["pin_bores"], ["outline"]] == names(keep)


def test_a_name_that_is_not_there_is_answered_with_those_that_are() -> None:
    with pytest.raises(KeyError, match="plane, score_lines, marker_pockets, pin_bores, outline"):
        chosen(batches(), "plain", None)  # type: ignore[arg-type]


class Several(Feature):
    """Two operations with two bits."""

    key: ClassVar[str] = "several"
    order: ClassVar[Literal["face", "inside", "free"]] = "inside"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.pocket})
    stage: ClassVar[Stage] = Stage.fill

    def demands(self, context: SetupContext) -> list[Demand]:
        return []

    def operations(self, context: SetupContext) -> list[Operation]:
        loop = Loop.circle(50, 0, 5)
        rough = Clear("several", 30, "quarter", CUTTING, "rough", 6.0, 4.0, (Area(loop, (), "a"),))
        return [rough, Clear("several", 30, "eighth", CUTTING, "fine", 6.0, 4.0, (Area(loop, (), "a"),))]


def test_a_feature_with_two_bits_makes_two_programs_and_stays_one_feature() -> None:
    found = plan([context(Several(bit="quarter"))])
    assert [("quarter",), ("eighth",)] == [b.bits for b in found]
    before, keep = chosen(found, "several", None)
    assert () == before
    assert 2 == len(keep)


def test_what_a_second_bit_has_still_to_do_is_written_from_a_later_feature_on() -> None:
    # The second bit waits for the collet. If the bit of the markers breaks, what it waits for is not cut yet.
    found = plan([context(Several(bit="quarter"), MarkerPockets(bit="three", diameter=6, depth=1.8))])
    assert [["several"], ["marker_pockets"], ["several"]] == names(found)
    before, keep = chosen(found, None, "marker_pockets")
    assert [["several"]] == names(before)
    assert [("three",), ("eighth",)] == [b.bits for b in keep]
    assert [["marker_pockets"], ["several"]] == names(keep)


def test_from_the_feature_itself_both_its_bits_are_written() -> None:
    found = plan([context(PLANE, Several(bit="quarter"), MarkerPockets(bit="three", diameter=6, depth=1.8))])
    before, keep = chosen(found, None, "several")
    assert [["plane"]] == names(before)
    assert [("quarter",), ("three",), ("eighth",)] == [b.bits for b in keep]


def test_tabs_are_mirrored_with_their_direction() -> None:
    (m,) = plan([context(OUTLINE, handed="left")])[0].operations
    (r,) = plan([context(OUTLINE)])[0].operations
    assert isinstance(m, Contour)
    assert isinstance(r, Contour)
    assert [Tab((t.at[0], -t.at[1]), (t.along[0], -t.along[1]), 8.0, 1.5) for t in r.tabs] == list(m.tabs)
