"""What is left to saw of a fret slot after the router, in the middle and at the edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show
from toolpaths.instrument.boards import crossings, drop_at
from toolpaths.instrument.fans import fret_line
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST, Instrument, Job

LEAST_UNDER = 1.5
"""Wood that should stay under a fret's slot, mm. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ToSaw:
    """One slot. `middle`, `edges`: depth still to saw there, mm. `stop`: from the surface that is sawn from to the
    bottom of the slot, where a saw's stop is set, in the middle and at the edges, mm."""

    fret: int
    middle: float
    edges: float
    stop: tuple[float, float]


def to_saw(job: Job, fret: int, depth: float, follows: bool) -> ToSaw:
    """What is left of a slot to `saw.depth` below the finished surface, from a line of that depth.

    `follows`: the line's depth counts from the top once it is radiused. Where slots are sawn first, the saw goes
    from the flat face as deep as the edges need, and is level; else it follows the radiused top. All lengths mm.
    Source: elementary geometry (the sagitta); the order of work is common practice, no source.
    """
    wanted, drop = job.saw.depth, _at_edge(job, fret)
    at_edge = depth + drop if follows else depth
    if SAWN_FIRST in job.by_hand:
        bottom = wanted + drop
        return ToSaw(fret, max(bottom - depth, 0.0), max(bottom - at_edge, 0.0), (bottom, bottom))
    return ToSaw(fret, max(wanted - depth, 0.0), max(wanted - max(at_edge - drop, 0.0), 0.0), (wanted, wanted))


@dataclass(frozen=True, slots=True)
class SquareBlank:
    """Whether the blank's parallel edges still stand once a setup is done, and the name of the first setup after it
    that cuts the outline; empty where none does."""

    stands: bool
    until: str


def square_blank(job: Job, scored: str) -> SquareBlank:
    """What stands of the blank's edges after the setup of that name, from the setups and their features in order.

    An outline takes them away where it goes through, or where one comes from each side.
    """
    setups = [s for s in job.setups if s.stock is None]
    number = next(i for i, s in enumerate(setups) if s.name == scored)
    cut = [(s.flip, f) for s in setups[: number + 1] for f in s.features if CutKind.outline in f.cuts]
    freed = any(getattr(f, "depth", None) is None for _, f in cut) or len({flip for flip, _ in cut}) > 1
    later = (s.name for s in setups[number + 1 :] if any(CutKind.outline in f.cuts for f in s.features))
    return SquareBlank(not freed, next(later, ""))


def sawn_from(job: Job) -> str:
    """The surface that the saw's stop counts from, with its article."""
    if job.instrument.board.radius is None:
        return "the face"
    return "the flat face" if SAWN_FIRST in job.by_hand else "the radiused top"


def under_saw(job: Job, fret: int) -> float:
    """Wood that stays under a slot sawn to `saw.depth`, mm: least at the edges, where the top lies lower."""
    return job.instrument.board.thickness - job.saw.depth - _at_edge(job, fret)


def frets_named(instrument: Instrument, named: Sequence[int] | None) -> tuple[int, ...]:
    """The frets that a feature is for, each once: all of the instrument's where none are named.

    Raises FeatureError for a fret that the instrument has not, and for a list without one.
    """
    count, first = instrument.frets, 0 if instrument.zero_fret else 1
    numbers = range(first, count + 1) if named is None else named
    if not numbers:
        raise FeatureError("no fret is named", "leave `frets` out for all of them", "frets")
    wrong = [n for n in numbers if not first <= n <= count]
    if wrong:
        raise FeatureError(f"there is no fret {wrong[0]}", f"the instrument has {count} frets", "frets")
    return tuple(dict.fromkeys(numbers))


def slotted(job: Job) -> frozenset[int]:
    """The frets whose slots the router cuts to depth: nothing is left to saw there."""
    cut = [f for setup in job.setups for f in setup.features if CutKind.fret_slot in f.cuts]
    every = range(0 if job.instrument.zero_fret else 1, job.instrument.frets + 1)
    return frozenset(n for f in cut for n in (getattr(f, "frets", None) or every))


def _at_edge(job: Job, fret: int) -> float:
    """How much lower than its crown the radiused top lies at a fret's end, the lower one where they differ, mm."""
    return max(drop_at(job.instrument, x, y) for x, y in crossings(job.instrument, fret_line(job.instrument, fret)))


_MOST_KINDS = 6
"""Kinds of slots that sentences name one by one; the table has each of more."""


def neighbours_alike(slots: Sequence[ToSaw], units: Units) -> list[list[ToSaw]]:
    """Slots one after the other whose lengths read the same, together."""
    places = groupby(enumerate(slots), key=lambda one: (one[1].fret - one[0], _reads(one[1], units)))
    return [[slot for _, slot in same] for _, same in places]


def sawing_words(job: Job, slots: Sequence[ToSaw], units: Units) -> str:
    """Sentences about the slots to saw; neighbours that read the same share one."""
    first = SAWN_FIRST in job.by_hand
    curved = job.instrument.board.radius is not None
    when = "" if not curved else " before radiusing, from the flat face" if first else " after radiusing"
    surface = "radiused top" if curved else "face"
    out = [
        f"Saw {len(slots)} fret slots{when}, with a saw of {show(job.saw.kerf, units)} kerf, to "
        f"{show(job.saw.depth, units)} below the {surface}. Check this depth against your fret's tang."
    ]
    kinds = neighbours_alike(slots, units)
    if len(kinds) > _MOST_KINDS:
        left = [mm for s in slots for mm in (s.middle, s.edges)]
        stops = [s.stop[0] for s in slots]
        out.append(
            f"{_span(left, units)} are left to saw, with the saw's stop at {_span(stops, units)} from "
            f"{sawn_from(job)}: each fret is in the table of what is left to saw."
        )
    else:
        each = len({_reads(s, units) for s in slots}) == 1
        for same in [slots] if each else kinds:
            s = same[0]
            ends = f" in the middle and {show(s.edges, units)} at the edges" if abs(s.middle - s.edges) > 5e-3 else ""
            stop = f", the saw's stop at {show(s.stop[0], units)} from {sawn_from(job)}"
            out.append(f"{'Each' if each else _frets(same)}: {show(s.middle, units)} left to saw{ends}{stop}.")
    under = min(under_saw(job, s.fret) for s in slots)
    out.append(f"At least {show(max(under, 0.0), units)} of wood stays under them.")
    return " ".join(out)


def _span(lengths: Sequence[float], units: Units) -> str:
    """`1.50 mm to 2.29 mm`, or one length where both read the same."""
    low, high = show(min(lengths), units), show(max(lengths), units)
    return high if low == high else f"{low} to {high}"


def _reads(slot: ToSaw, units: Units) -> tuple[str, ...]:
    """Its lengths as they are read."""
    return tuple(show(mm, units) for mm in (slot.middle, slot.edges, *slot.stop))


def _frets(slots: Sequence[ToSaw]) -> str:
    """`Fret 7`, or `Frets 1 to 19`."""
    first, last = slots[0].fret, slots[-1].fret
    return f"Fret {first}" if first == last else f"Frets {first} to {last}"
