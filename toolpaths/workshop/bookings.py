"""The hours at the machine: which setups go into one booking, and where the hands must work in between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from toolpaths.gcode.program import bit_changes
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.step import Piece, Step, StepKind


@dataclass(frozen=True, slots=True)
class BookedSetup:
    """One setup in a booking: its programs, their minutes, the bits in order, and how often one is put in.

    `change_minutes`: of all those changes together, as the machine's file has them.
    """

    piece: Piece
    setup: str
    machine: str
    programs: tuple[int, ...]
    bits: tuple[str, ...]
    minutes: float
    changes: int
    change_minutes: float


@dataclass(frozen=True, slots=True)
class Booking:
    """Setups that follow each other at the machine without other work between them."""

    number: int
    setups: tuple[BookedSetup, ...]

    @property
    def cutting(self) -> float:
        """Minutes of its programs."""
        return sum(s.minutes for s in self.setups)

    @property
    def minutes(self) -> float:
        """Minutes of its programs and of the changes of bits. Laying on and zeroing are not in it."""
        return self.cutting + sum(s.change_minutes for s in self.setups)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Steps that follow each other at one place: at the machine, in a booking, or away from it (None)."""

    steps: tuple[Step, ...]
    booking: Booking | None


def stretches_of(steps: Sequence[Step], outcomes: Mapping[Piece, Outcome]) -> tuple[Stretch, ...]:
    """Steps in their order, divided where the work goes to the machine and where it leaves it."""
    out: list[Stretch] = []
    number = 0
    for (at_machine, _), group in groupby(steps, key=lambda s: (s.at_machine, _machine(s, outcomes))):
        own = tuple(group)
        number += at_machine
        out.append(Stretch(own, _booking(number, own, outcomes) if at_machine else None))
    return tuple(out)


# Private


def _machine(step: Step, outcomes: Mapping[Piece, Outcome]) -> str:
    """The machine that a step is done at: jobs may be for different ones."""
    return outcomes[step.piece].machine.name if step.at_machine else ""


def _booking(number: int, steps: Sequence[Step], outcomes: Mapping[Piece, Outcome]) -> Booking:
    setups: list[BookedSetup] = []
    laid = dict.fromkeys((s.piece, s.setup) for s in steps if s.kind is StepKind.lay)
    for piece, group in groupby(laid, key=lambda key: key[0]):
        outcome, names = outcomes[piece], [name for _, name in group]
        programs = [p for p in outcome.programs if p.setup in names]
        changes = dict(zip((p.number for p in programs), bit_changes(programs), strict=True))
        for name in names:
            own = [p for p in programs if p.setup == name]
            count = sum(changes[p.number] for p in own)
            setups.append(
                BookedSetup(
                    piece=piece,
                    setup=name,
                    machine=outcome.machine.name,
                    programs=tuple(p.number for p in own),
                    bits=tuple(dict.fromkeys(bit for p in own for bit in p.bits)),
                    minutes=sum(p.minutes for p in own),
                    changes=count,
                    change_minutes=count * outcome.machine.change_minutes,
                )
            )
    return Booking(number, tuple(setups))
