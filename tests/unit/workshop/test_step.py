"""Steps are sorted so that each comes after all that it needs, in the same order however they are given."""

from __future__ import annotations

from graphlib import CycleError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.stage import Stage
from toolpaths.workshop.step import PIECES, Step, StepId, StepKind, Wait, in_order


@st.composite
def graphs(draw: st.DrawFn) -> list[Step]:
    """Up to 25 steps of all pieces and kinds, each needing some of those drawn before it."""
    ids: list[StepId] = []
    steps: list[Step] = []
    for number in range(draw(st.integers(1, 25))):
        one = (draw(st.sampled_from(PIECES)), number)
        needs = frozenset(draw(st.lists(st.sampled_from(ids), max_size=3))) if ids else frozenset()
        kind, stage = draw(st.sampled_from(StepKind)), draw(st.sampled_from([None, *Stage]))
        steps.append(Step(one, kind, needs, stage=stage, work=Handwork("", "")))
        ids.append(one)
    return steps


@given(graphs(), st.randoms())
def test_each_step_comes_after_all_that_it_needs(steps: list[Step], chance: object) -> None:
    ordered = in_order(steps)
    assert sorted(s.id for s in ordered) == sorted(s.id for s in steps)
    place = {step.id: k for k, step in enumerate(ordered)}
    assert all(place[need] < place[step.id] for step in steps for need in step.needs)
    mixed = list(steps)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert in_order(mixed) == ordered


def test_what_can_be_prepared_is_prepared_first_and_the_machine_comes_before_the_bench() -> None:
    board, neck = Step(("board", 0), StepKind.prepare), Step(("neck", 0), StepKind.prepare)
    rest = Step(("board", 1), StepKind.wait, frozenset({board.id}), wait=Wait.blank)
    cut = Step(("neck", 1), StepKind.program, frozenset({neck.id}))
    glue = Step(("board", 2), StepKind.hand, frozenset({rest.id}), stage=Stage.glue)
    assert [s.id for s in in_order([glue, cut, rest, neck, board])] == [board.id, neck.id, rest.id, cut.id, glue.id]


def test_steps_that_need_each_other_have_no_order() -> None:
    one: StepId = ("board", 0)
    other: StepId = ("neck", 0)
    with pytest.raises(CycleError):
        in_order([Step(one, StepKind.hand, frozenset({other})), Step(other, StepKind.hand, frozenset({one}))])


def test_a_need_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError):
        in_order([Step(("board", 0), StepKind.hand, frozenset({("neck", 3)}))])
