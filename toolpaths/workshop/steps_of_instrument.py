"""The steps of all jobs of an instrument in one order: what of one job waits for another.

The rules are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from toolpaths.job.stage import Stage
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.step import Piece, Step, StepId, StepKind, Wait, in_order
from toolpaths.workshop.steps_of_piece import steps_of_piece

Chosen = Callable[[Step], bool]


@dataclass(frozen=True, slots=True)
class Rule:
    """Every chosen step of the first piece comes before every chosen one of the second."""

    first: Piece
    done: Chosen
    second: Piece
    waits: Chosen


def _by_stage(*stages: Stage) -> Chosen:
    return lambda step: step.kind is StepKind.hand and step.stage in stages


def _every(step: Step) -> bool:
    return True


def _at_machine(step: Step) -> bool:
    return step.at_machine


def _prepared(step: Step) -> bool:
    return step.kind is StepKind.prepare


def _before_frets(step: Step) -> bool:
    return not _fretted(step)


def _tried(step: Step) -> bool:
    return step.kind is StepKind.try_on


def _on_neck(step: Step) -> bool:
    """The board is glued and hard, and the shaft trimmed."""
    return step.stage in (Stage.glue, Stage.trim) or step.wait is Wait.board


_glued, _fretted = _by_stage(Stage.glue), _by_stage(Stage.frets)
_off_jig = _by_stage(Stage.off_router)

RULES = (
    # The blanks are tried in the jig's seat, so they are there.
    Rule("board", _prepared, "jig", _off_jig),
    Rule("neck", _prepared, "jig", _off_jig),
    # A jig stays where it was cut, and carries the zero of all that lies on it.
    Rule("jig", _every, "board", _at_machine),
    Rule("jig", _every, "neck", _at_machine),
    # Top, slots, inlays and binding are done while the board lies flat by itself.
    Rule("board", _before_frets, "neck", _tried),
    # Pressed in, frets bend a thin board: it is on the neck by then, and the plane that trims the shaft meets no fret.
    Rule("neck", _on_neck, "board", _fretted),
    # The back is not yet carved while the frets are pressed in: the neck lies firmly.
    Rule("board", _fretted, "neck", _by_stage(Stage.back, Stage.holes)),
)


def steps_of_instrument(outcomes: Iterable[Outcome]) -> tuple[Step, ...]:
    """Every step of jobs of different pieces, in one order, whatever the order in which they are given."""
    by_piece = {outcome.job.part: steps_of_piece(outcome) for outcome in outcomes}
    if "board" in by_piece and "neck" in by_piece:
        by_piece["neck"] = _with_trial(by_piece["neck"])
    needs: dict[StepId, set[StepId]] = {}
    for rule in RULES:
        done = {step.id for step in by_piece.get(rule.first, ()) if rule.done(step)}
        for step in by_piece.get(rule.second, ()):
            if rule.waits(step):
                needs.setdefault(step.id, set()).update(done)
    every = (step for steps in by_piece.values() for step in steps)
    return in_order(replace(step, needs=step.needs | needs.get(step.id, set())) for step in every)


def _with_trial(steps: Sequence[Step]) -> list[Step]:
    """The neck's steps with the board laid on, dry, before it is glued; as they are where no board is glued on."""
    first = next((step for step in steps if _glued(step)), None)
    if first is None:
        return list(steps)
    trial = Step(("neck", len(steps)), StepKind.try_on, first.needs)
    return [replace(s, needs=frozenset({trial.id})) if s is first else s for s in (*steps, trial)]
