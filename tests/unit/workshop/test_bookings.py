"""Hours at the machine: what is booked together, where the hands come between, and how the minutes add up."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

DEMOS = Path(__file__).parents[3] / "demo_jobs"


def demo(name: str) -> Outcome:
    return made(DEMOS / f"{name}.yaml", Changes(pitch=0.5))


def planned(*names: str) -> InstrumentPlan:
    return plan_of_instrument([demo(name) for name in names])


def put_in(outcome: Outcome, *setups: str) -> list[int]:
    """How often a bit is put in for each setup, counted by walking along its programs from an empty collet."""
    held, out = "", []
    for setup in setups:
        count = 0
        for bit in (bit for p in outcome.programs if p.setup == setup for bit in p.bits):
            count += bit != held
            held = bit
        out.append(count)
    return out


@pytest.mark.slow
def test_a_jig_and_what_lies_on_it_is_one_booking() -> None:
    plan = planned("tenor_board_on_jig", "tenor_neck_on_jig", "tenor_jig")
    (booking,) = plan.bookings
    assert [(s.piece, s.setup) for s in booking.setups] == [
        ("jig", "jig"), ("board", "face"), ("neck", "face"), ("neck", "back"),
    ]  # fmt: skip
    jig, board, neck = plan.outcomes.values()
    counts = [*put_in(jig, "jig"), *put_in(board, "face"), *put_in(neck, "face", "back")]
    assert [s.changes for s in booking.setups] == counts
    # The bench router's change_minutes is 3.
    assert sum(s.change_minutes for s in booking.setups) == pytest.approx(3.0 * sum(counts))
    assert plan.minutes == pytest.approx(plan.cutting + 3.0 * sum(counts))
    assert plan.cutting == pytest.approx(sum(p.minutes for o in plan.outcomes.values() for p in o.programs))


def test_work_by_hand_between_two_setups_divides_the_bookings() -> None:
    first, second = planned("inlaid_board").bookings
    assert [s.setup for s in first.setups] == ["face", "pieces"]
    # The bit of the setup before is in the collet no more.
    assert [(s.setup, s.changes, s.bits) for s in second.setups] == [("edge", 1, ("sixteenth",))]


def test_a_bit_that_stays_in_the_collet_is_not_changed() -> None:
    """tenor_neck: the back's first two programs, the bed's bores and the witness ring, are both pinner's."""
    plan = planned("tenor_neck")
    neck = plan.outcomes["neck"]
    assert neck.programs[7].bits == neck.programs[8].bits == ("pinner",)
    assert [s.changes for s in plan.bookings[0].setups] == put_in(neck, "face", "back")
    assert plan.bookings[0].setups[1].changes < len(plan.bookings[0].setups[1].programs)


def test_another_machine_is_another_booking() -> None:
    board, neck = demo("tenor_board"), demo("tenor_neck")
    other = replace(board, machine=board.machine.model_copy(update={"name": "the other router"}))
    plan = plan_of_instrument([neck, other])
    assert [[s.machine for s in b.setups] for b in plan.bookings] == [["the other router"], ["bench router"] * 2]
    assert [b.number for b in plan.bookings] == [1, 2]
    assert len(planned("tenor_board", "tenor_neck").bookings) == 1


def test_the_stretches_hold_every_step_in_order() -> None:
    plan = planned("inlaid_board", "tenor_neck")
    assert tuple(step for stretch in plan.stretches for step in stretch.steps) == plan.steps
    assert all(step.at_machine == (one.booking is not None) for one in plan.stretches for step in one.steps)
