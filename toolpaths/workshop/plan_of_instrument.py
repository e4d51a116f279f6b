"""The plan of a whole instrument, from the runs of its jobs: what is bought, made ready, booked, and done in order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from toolpaths.common.units import Units
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.bookings import Booking, Stretch, stretches_of
from toolpaths.workshop.ready import Ready, ready_for
from toolpaths.workshop.step import PIECES, Piece, Step
from toolpaths.workshop.steps_of_instrument import steps_of_instrument
from toolpaths.workshop.to_buy import Item, to_buy


@dataclass(frozen=True, slots=True)
class InstrumentPlan:
    """Everything that a plan says. `outcomes` by piece, in the order of `PIECES`; `stretches` hold the steps."""

    outcomes: Mapping[Piece, Outcome]
    steps: tuple[Step, ...]
    stretches: tuple[Stretch, ...]
    ready: Ready
    goods: tuple[Item, ...]

    @property
    def bookings(self) -> tuple[Booking, ...]:
        """The bookings of the machine, in order."""
        return tuple(s.booking for s in self.stretches if s.booking is not None)

    @property
    def cutting(self) -> float:
        """Minutes of all programs."""
        return sum(b.cutting for b in self.bookings)

    @property
    def minutes(self) -> float:
        """Minutes of all programs and changes of bits."""
        return sum(b.minutes for b in self.bookings)

    @property
    def stopped(self) -> tuple[Outcome, ...]:
        """The jobs that may not be cut."""
        return tuple(outcome for outcome in self.outcomes.values() if outcome.stopped)

    @property
    def units(self) -> Units:
        """Of the instrument's board, where its job is here; else of the first job."""
        first = self.outcomes.get("board") or next(iter(self.outcomes.values()))
        return first.job.units


def plan_of_instrument(outcomes: Iterable[Outcome]) -> InstrumentPlan:
    """The plan of jobs that belong together, one a piece; the same for any order of them."""
    given = {outcome.job.part: outcome for outcome in outcomes}
    found: dict[Piece, Outcome] = {piece: given[piece] for piece in PIECES if piece in given}
    steps, ready = steps_of_instrument(found.values()), ready_for(found)
    return InstrumentPlan(found, steps, stretches_of(steps, found), ready, to_buy(found, ready))
