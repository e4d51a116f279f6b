"""Divide toolpaths into booked sessions: every program ends within one, at a place where it can stop.

A program ends after a whole piece or level, the bit up and the spindle off. Only a piece that is longer than a
booking is divided between its own levels. The next program begins straight above where the bit was lifted, comes
down where all is cut already, and goes on from there with the ramp of the next level.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.job.setup_context import SetupContext
from toolpaths.toolpath.divide_toolpath import in_two, may_begin, section_in_two
from toolpaths.toolpath.time_estimate import minutes_of, section_minutes
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Step, Toolpath

_UNUSED = 0.25
"""Up to this part of a booking is left unused rather than a program divided."""
_RESERVE = 0.01
"""Part of a booking that is kept, for what rounding in the text may add."""
_LEVEL = 1e-9


@dataclass(frozen=True, slots=True)
class SessionPart:
    """The toolpath of one program. `session`: its booking, from 1; `goes_on`: it continues the cut before it."""

    toolpath: Toolpath
    session: int = 0
    goes_on: bool = False


def divided(works: Sequence[tuple[Toolpath, SetupContext]], booked: float) -> list[SessionPart]:
    """Toolpaths divided into bookings of `booked` minutes, bit changes included, in the same order.

    Raises FeatureError where a piece, or one level of it, takes longer than a booking.
    """
    out: list[SessionPart] = []
    book = _Booking(booked)
    for toolpath, context in works:
        rest, goes_on = toolpath, False
        while True:
            room = book.room(rest, context)
            if minutes_of(rest, context)[0] <= room:
                out.append(SessionPart(rest, book.session, goes_on))
                book.take(rest, context)
                break
            found = None
            if book.fresh or book.left > _UNUSED * book.length:
                found = _after_sections(rest, context, room)
            if (
                found is not None
                and not book.fresh
                and minutes_of(found[0], context)[0] < context.machine.change_minutes
            ):
                found = None  # The bit would have to be put in once more for less than that takes.
            if found is None and book.fresh:
                found = _after_levels(rest, context, room)
                if found is None:
                    raise _too_long(rest, context, booked, room)
            if found is not None:
                first, rest = found
                out.append(SessionPart(first, book.session, goes_on))
                goes_on = True
            book.next()
    return out


class _Booking:
    """The current booking: the minutes left of it, and which bit is in the collet."""

    def __init__(self, booked: float) -> None:
        self.length = self.left = booked * (1 - _RESERVE)
        self.session = 1
        self._held = ""

    @property
    def fresh(self) -> bool:
        """Whether this booking is still empty."""
        return self.left == self.length

    def room(self, toolpath: Toolpath, context: SetupContext) -> float:
        """Minutes left for cutting once the bits are in."""
        return self.left - self._changes(toolpath) * context.machine.change_minutes

    def take(self, toolpath: Toolpath, context: SetupContext) -> None:
        """Take a program's time off this booking."""
        self.left = self.room(toolpath, context) - minutes_of(toolpath, context)[0]
        self._held = toolpath.sections[-1].bit

    def next(self) -> None:
        """Begin the next booking, with an empty collet."""
        self.session, self.left, self._held = self.session + 1, self.length, ""

    def _changes(self, toolpath: Toolpath) -> int:
        bits = [self._held, *(s.bit for s in toolpath.sections)]
        return sum(a != b for a, b in pairwise(bits))


def _after_sections(toolpath: Toolpath, context: SetupContext, minutes: float) -> tuple[Toolpath, Toolpath] | None:
    """As many whole sections as fit, and the rest; None where none does."""
    *sections, _ = section_minutes(toolpath, context).tolist()
    spent = np.cumsum(sections)
    for k in range(int(np.searchsorted(spent, minutes)), 0, -1):
        if k < len(toolpath.sections) and may_begin(toolpath, context, k):
            first, rest = in_two(toolpath, context, k)
            if minutes_of(first, context)[0] <= minutes:
                return first, rest
    return None


def _after_levels(toolpath: Toolpath, context: SetupContext, minutes: float) -> tuple[Toolpath, Toolpath] | None:
    """As many levels of the first section as fit, and the rest; None where none does."""
    for i in reversed(_ends_of_levels(toolpath.sections[0].steps)):
        first, rest = in_two(section_in_two(toolpath, 0, i, "going on"), context, 1)
        if minutes_of(first, context)[0] <= minutes:
            return first, rest
    return None


def _ends_of_levels(steps: Sequence[Step]) -> list[int]:
    """Indices of the steps that go below all before them, right after a level cut at the lowest height so far."""
    out: list[int] = []
    low = np.inf
    for i, step in enumerate(steps):
        if isinstance(step, Rapid):
            continue
        if i >= 2 and step.z < low - _LEVEL:
            before, at = steps[i - 2], steps[i - 1]
            if isinstance(at, Feed | Arc) and abs(at.z - low) < _LEVEL and abs(before.z - low) < _LEVEL:
                out.append(i)
        low = min(low, step.z)
    return out


def _too_long(toolpath: Toolpath, context: SetupContext, booked: float, room: float) -> FeatureError:
    section, count = toolpath.sections[0], len(toolpath.sections)
    whole = next((k for k in range(1, count) if may_begin(toolpath, context, k)), count)
    piece = Toolpath(toolpath.program_plan, toolpath.sections[:whole], toolpath.owners[:whole])
    title, hint = section.title, "book longer, or cut it with a wider bit"
    if whole > 1:
        title = "planing, which is not divided because Z is zeroed on the stock's top,"
        hint = "book longer, or zero Z on the bed: then planing can stop between two levels"
    return FeatureError(
        f"{section.feature}: {title} takes {minutes_of(piece, context)[0]:.1f} minutes, and a booking of "
        f"{booked:g} leaves {max(room, 0.0):.1f} for it after the bit change ({context.machine.change_minutes:g} "
        "minutes)",
        hint,
        "",
    )
