"""What holds the blank is read with its places, and stands in the way where it truly is."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.support.setup_builder import BENCH, context
from tests.support.small_board import small_board, written
from toolpaths.common.errors import JobError
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.screw_holes import ScrewHoles
from toolpaths.job.holders import Hold, held_by
from toolpaths.job.obstacles import ObstacleKind, Present, there_while
from toolpaths.pipeline.load import load_job

SCREWS = {"at": [[10, -30], [10, 30]], "head": 8, "head_height": 3, "sunk": 2}
CLAMP = {"name": "clamp", "x": [-30, -5], "y": [-8, 8], "height": 20}


def hold(**keys: object) -> Hold:
    return Hold.model_validate(keys, context={"units": "mm"})


def test_a_word_is_the_whole_underside() -> None:
    assert held_by("tape").adheres
    assert held_by("vacuum").adheres
    assert not held_by("screws").screws
    assert Hold() == held_by(None)


def test_tape_with_screws_does_not_hold_alone() -> None:
    assert not hold(tape={}, screws=SCREWS).adheres


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"screws": {**SCREWS, "head": 4}}, "must be wider than the thread"),
        ({"screws": {**SCREWS, "at": []}}, "at least 1"),
        ({"clamps": [{**CLAMP, "x": [5, -5]}]}, "write the lower number of x and of y first"),
        ({"clamps": [{**CLAMP, "foot": {"x": [3, 1], "y": [0, 1]}}]}, "write the lower number of x and of y first"),
        ({"clamps": [{**CLAMP, "foot": {"x": [-9, -4], "y": [0, 1]}}]}, "within those of the clamp"),
        ({"tape": {"x": [3, 1]}}, "write the lower number of x and of y first"),
        ({"glue": {}}, "Extra inputs"),
    ],
)
def test_what_cannot_be_meant_is_refused(keys: dict[str, object], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        hold(**keys)


@pytest.mark.parametrize(
    ("typed", "place", "words"),
    [
        ("glue", "5:", "not one of the choices"),
        ("{screws: {at: [[5]]}}", "screws.at[0]", "too few entries"),
        ("{clamps: [{name: a, x: [1, 2], y: [3, 4]}]}", "clamps[0].height", "is missing"),
        ("{tape: {thick: 1}}", "tape.thick", "not known here"),
        ("{tape: {thickness: 0.2}}\n    under: {tape: 0.3}", "setups[0]", "give it once"),
    ],
)
def test_a_slip_is_told_with_its_place(typed: str, place: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(JobError) as told:
        load_job(written(tmp_path, small_board(hold=typed)))
    problem = told.value.problems[0]
    assert problem.line >= 10
    assert words in problem.problem
    if not place[0].isdigit():
        assert place in problem.key


# Where it stands


@given(
    sunk=st.floats(0, 7), high=st.floats(0.1, 10), under=st.floats(0, 20), head=st.floats(5, 20),
    flip=st.sampled_from([None, "about x"]),
)  # fmt: skip
def test_a_screw_stands_on_the_floor_of_its_hole(
    sunk: float, high: float, under: float, head: float, flip: str | None
) -> None:
    """Its top: the blank's top, less what it is sunk, plus its head; from the bed, plus what lies under (geometry)."""
    screws = {"at": [(10.0, -30.0), (20.0, 30.0)], "head": head, "head_height": high, "sunk": sunk}
    setup = {"hold": {"screws": (screws,)}, "under": {"backing": under}, "flip": flip}
    seen = context(setup=setup)
    first, second = seen.obstacles
    assert first.top == pytest.approx(8 - sunk + high)
    assert seen.above_bed(first.top) == pytest.approx(8 - sunk + high + under)
    assert (first.kind, first.radius) == (ObstacleKind.screw, head / 2)
    assert second.bounds == pytest.approx((20 - head / 2, 30 - head / 2, 20 + head / 2, 30 + head / 2))


def test_screws_whose_holes_are_bored_lie_as_askew_as_the_blank() -> None:
    """Turned by 0.01 rad about the zero at the nut line; the far screw moves by its distance times the angle."""
    setup = {
        "hold": {"screws": ({"at": [(200.0, 0.0)]},)},
        "skew": {"points": [(0.0, -35.0), (100.0, -34.0)]},
    }
    (driven,) = context(setup=setup).obstacles
    (bored,) = context(ScrewHoles(bit="eighth"), setup=setup).obstacles
    assert driven.box[:2] == (200.0, 0.0)
    assert bored.box[1] == pytest.approx(200 * math.sin(math.atan(0.01)), abs=0.01)


def test_what_is_there_while_a_program_runs() -> None:
    setup = {"hold": {"screws": (SCREWS,), "clamps": ({**CLAMP, "until": "screws"}, CLAMP)}}
    seen = context(ScrewHoles(bit="eighth"), Plane(bit="planer", leave=6), setup=setup).setup
    boring, cutting = there_while(seen, {"screw_holes"}, False), there_while(seen, {"plane"}, False)
    assert boring == {Present.always, Present.with_blank, Present.before_screws}
    assert cutting == {Present.always, Present.with_blank, Present.with_screws}
    assert there_while(seen, {"plane"}, True) == {Present.always}


# What lies under the blank


@given(backing=st.floats(0, 20), tape=st.floats(0, 2))
def test_z_on_the_bed_counts_what_lies_between(backing: float, tape: float) -> None:
    seen = context(setup={"under": {"backing": backing, "tape": tape}})
    assert seen.zero[2] == pytest.approx(-(backing + tape))
    assert seen.above_bed(0.0) == pytest.approx(backing + tape)
    # A through cut: through the tape, and no more than half of the backing or the machine's allowance.
    most = tape + min(BENCH.bed_allowance, backing / 2) if backing else BENCH.bed_allowance
    assert seen.breakthrough == pytest.approx(most)
    assert seen.breakthrough <= max(BENCH.bed_allowance, backing + tape)


def test_the_tape_s_thickness_may_stand_with_the_tape() -> None:
    assert context(setup={"hold": {"tape": {"thickness": 0.2}}}).bed == -0.2
    assert context(setup={"hold": {"tape": {"thickness": 0.2}}, "under": {"tape": 0.2}}).bed == -0.2
