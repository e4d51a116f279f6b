"""The steps of one job in the order of its piece: prepared, laid on, cut, measured, freed, finished by hand.

The order of the handwork is that of its list (`instrument/handwork/work_order.py`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.handwork.work_order import stage_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.stage import Stage
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import finished_in, measures
from toolpaths.workshop.step import Piece, Step, StepKind, Wait

_UNTIL_EDGES = frozenset({Stage.off_router, Stage.fill, Stage.slots, Stage.top, Stage.edges})
"""What is done before a board stands on edge at the machine: it is finished then, but for its frets."""


@dataclass(slots=True)
class _Chain:
    """Steps of a piece, each needing the one before."""

    piece: Piece
    steps: list[Step] = field(default_factory=list)

    @property
    def next(self) -> tuple[Piece, int]:
        """The id of the next step."""
        return self.piece, len(self.steps)

    def add(self, step: Step) -> None:
        """Adds a step with the next id, which needs the one before."""
        self.steps.append(replace(step, needs=frozenset({self.steps[-1].id}) if self.steps else frozenset()))


def steps_of_piece(outcome: Outcome) -> list[Step]:
    """Every step of a job, in order, each needing the one before it."""
    job = outcome.job
    chain = _Chain(job.part)
    sheets = [s for s in outcome.setups if s.context.apart and s.context.setup.stand is None]
    on_edge = [s for s in outcome.setups if s.context.setup.stand is not None]
    chain.add(Step(chain.next, StepKind.prepare))
    for sheet in sheets:
        chain.add(Step(chain.next, StepKind.prepare, setup=sheet.context.setup.name))
    if job.part != "jig":
        chain.add(Step(chain.next, StepKind.wait, wait=Wait.blank))
    for setup in outcome.setups:
        if setup not in on_edge:
            _at_machine(chain, outcome, setup)
    late = {f.name for s in on_edge for f in s.context.setup.features}
    by_hand = [(stage_of(job, work), work) for work in outcome.handwork if not work.when]
    before = [(stage, w) for stage, w in by_hand if not on_edge or (stage in _UNTIL_EDGES and w.feature not in late)]
    after = [pair for pair in by_hand if pair not in before]
    _by_hand(chain, outcome, before, rests=True)
    for setup in on_edge:
        _at_machine(chain, outcome, setup)
    _by_hand(chain, outcome, after, rests=False)
    return chain.steps


# Private


def _at_machine(chain: _Chain, outcome: Outcome, setup: SetupReport) -> None:
    """One setup: what is done before it, its programs, what is measured and done after each."""
    name = setup.context.setup.name
    own = {f.name for f in setup.context.setup.features}
    first = setup is outcome.setups[0]
    of_features = {f.name for s in outcome.job.setups for f in s.features}
    general = {"", name} if first else {name}
    mine = [w for w in outcome.handwork if w.feature in own or (w.feature not in of_features and w.setup in general)]
    for work in _each(w for w in mine if w.when == "before the setup"):
        chain.add(Step(chain.next, StepKind.hand, work=work, stage=Stage.before, setup=name))
    chain.add(Step(chain.next, StepKind.lay, setup=name))
    found = list(measures(outcome, setup))
    waiting = list(_each(w for w in mine if w.when == "before the next"))
    lies = ""
    for program in (p for p in outcome.programs if p.setup == name):
        if program.lie is not None and not program.on_bed and program.lie.name != lies:
            lies = program.lie.name
            if program.lie.number > 1:
                chain.add(Step(chain.next, StepKind.lay, setup=name, place=lies))
        lying, rows = (
            tuple(row.mark for row in found if row.program.number == program.number and row.mark.before is before)
            for before in (True, False)
        )
        if lying:
            chain.add(Step(chain.next, StepKind.measure, setup=name, measures=lying))
        chain.add(Step(chain.next, StepKind.program, setup=name, program=program.number, minutes=program.minutes))
        if rows:
            chain.add(Step(chain.next, StepKind.measure, setup=name, program=program.number, measures=rows))
        waiting = _then(chain, waiting, finished_in(outcome, program), name)
    _then(chain, waiting, own, name)


def _then(chain: _Chain, waiting: Sequence[Handwork], ended: Collection[str], setup: str) -> list[Handwork]:
    """Adds what follows features that have ended; returns what still waits."""
    for work in waiting:
        if work.feature in ended:
            chain.add(Step(chain.next, StepKind.hand, work=work, stage=Stage.before, setup=setup))
    return [work for work in waiting if work.feature not in ended]


def _by_hand(chain: _Chain, outcome: Outcome, work: Sequence[tuple[Stage, Handwork]], *, rests: bool) -> None:
    """The steps by hand, stage by stage; behind each what is waited for. `rests`: the part has just been cut free."""
    rests = rests and outcome.job.part != "jig" and _cuts(outcome, CutKind.face)
    for stage, group in groupby(work, key=lambda pair: pair[0]):
        if rests and stage is not Stage.off_router:
            chain.add(Step(chain.next, StepKind.wait, wait=Wait.part))
            rests = False
        for _, one in group:
            chain.add(Step(chain.next, StepKind.hand, work=one, stage=stage))
        wait = _after(outcome, stage)
        if wait is not None:
            chain.add(Step(chain.next, StepKind.wait, wait=wait))
    if rests:
        chain.add(Step(chain.next, StepKind.wait, wait=Wait.part))


def _after(outcome: Outcome, stage: Stage) -> Wait | None:
    """What is waited for when a stage is done: glue, or filler, hardens."""
    if stage is Stage.edges and not outcome.job.instrument.board.binding:
        return None
    return {
        Stage.fill: Wait.inlays,
        Stage.bars: Wait.bars,
        Stage.edges: Wait.binding,
        Stage.glue: Wait.board,
    }.get(stage)


def _cuts(outcome: Outcome, kind: CutKind) -> bool:
    return any(kind in f.cuts for s in outcome.job.setups for f in s.features)


def _each(work: Iterator[Handwork]) -> list[Handwork]:
    """Each sentence once: two features may ask for the same."""
    return list({one.what: one for one in work}.values())
