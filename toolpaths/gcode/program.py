"""A program: its text, and the names that files and reports use for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from toolpaths.job.placed import Lie

BESIDE = ".txt"
"""What is put behind a program's file name for the file of its words, where its controller takes no comments."""


@dataclass(frozen=True, slots=True)
class TouchOff:
    """What the bit touches before the program runs, and the Z that is entered then (mm, program's zero)."""

    surface: str
    z: float


@dataclass(frozen=True, slots=True)
class PassTime:
    """One pass or piece, as the comment before it names it: minutes under way, and the feeds of its cutting moves.

    mm/min: `feed` the highest that is asked for, `peak` the highest that is reached, `mean` length by time.
    """

    feature: str
    title: str
    minutes: float
    feed: float
    peak: float
    mean: float


@dataclass(frozen=True, slots=True)
class Program:
    """One file of G-code. `number` counts from 1 in a set of `count`; `minutes` is an estimate.

    In the minutes are all moves and all dwells, in those of a feature the moves alone; what hands do is in neither.
    `session`: which booking it belongs to, from 1; 0 where none is asked for.
    `beside`: what would stand in its comments, for the file beside it, where the machine takes none; else empty.
    `on_bed`: it cuts the bare bed, before the work lies on it. `lie`: in which of its places the blank lies then.
    """

    name: str
    text: str
    setup: str
    bits: tuple[str, ...]
    number: int
    count: int
    minutes: float
    touch_off: TouchOff | None
    feature_minutes: dict[str, float]
    on_bed: bool = False
    beside: str = ""
    passes: tuple[PassTime, ...] = ()
    session: int = 0
    lie: Lie | None = None


def bit_changes(programs: Sequence[Program]) -> tuple[int, ...]:
    """Number of bit changes for each program of a set; a bit that is already in the collet stays there.

    Every session begins with an empty collet.
    """
    out: list[int] = []
    held, session = "", -1
    for program in programs:
        held = held if program.session == session else ""
        out.append(sum(bit != before for before, bit in pairwise((held, *program.bits))))
        held, session = (program.bits or (held,))[-1], program.session
    return tuple(out)


@dataclass(frozen=True, slots=True)
class BookedSession:
    """Which booking a program belongs to, from 1, of how many; minutes of each; `goes_on`: it continues a cut."""

    number: int
    count: int
    booked: float
    goes_on: bool = False


@dataclass(frozen=True, slots=True)
class Heading:
    """The facts of a program's header that its job does not hold.

    `bit_numbers`: number of every bit of the job; `altered`: the command line's changes in words;
    `found`: what it follows of what was measured, in words; `accepted`: accepted findings, as `code@feature`;
    `lift`: mm by which the whole program is raised;
    `booked`: its booking, where the work is divided into such.
    """

    version: str
    job_hash: str
    name: str
    number: int
    count: int
    bit_numbers: dict[str, int]
    touch_off: TouchOff | None
    altered: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()
    lift: float = 0.0
    booked: BookedSession | None = None
