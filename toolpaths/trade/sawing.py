"""What is left to saw of a fret slot once the router has scored or cut it, in the middle and at the edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.core.job import SAWN_FIRST, Job
from toolpaths.core.units import Units, show
from toolpaths.trade.boards import crossings
from toolpaths.trade.fans import fret_line
from toolpaths.trade.radius import radius_at, sagitta


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
    instrument, wanted = job.instrument, job.saw.depth
    drop = max(_drop(job, x, abs(y)) for x, y in crossings(instrument, fret_line(instrument, fret)))
    at_edge = depth + drop if follows else depth
    if SAWN_FIRST in job.by_hand:
        bottom = wanted + drop
        return ToSaw(fret, max(bottom - depth, 0.0), max(bottom - at_edge, 0.0), (bottom, bottom))
    return ToSaw(fret, max(wanted - depth, 0.0), max(wanted - max(at_edge - drop, 0.0), 0.0), (wanted, wanted))


def slotted(job: Job) -> frozenset[int]:
    """The frets whose slots the router cuts to depth: nothing is left to saw there."""
    instrument, out = job.instrument, set[int]()
    for feature in (f for setup in job.setups for f in setup.features if f.key == "fret_slots"):
        named: tuple[int, ...] | None = getattr(feature, "frets", None)
        out |= set(range(0 if instrument.zero_fret else 1, instrument.frets + 1)) if named is None else set(named)
    return frozenset(out)


def _drop(job: Job, x: float, edge: float) -> float:
    """How much lower than its crown the radiused top lies there, mm."""
    radius = radius_at(job.instrument.board, job.instrument, x)
    return 0.0 if radius is None else sagitta(radius, 2 * min(edge, radius))


def sawing_words(job: Job, slots: Sequence[ToSaw], units: Units) -> str:
    """All of them in sentences; slots that are alike are told together."""
    first = SAWN_FIRST in job.by_hand
    curved = job.instrument.board.radius is not None
    when = "" if not curved else " before radiusing, from the flat face" if first else " after radiusing"
    out = [
        f"Saw {len(slots)} fret slots{when} with a saw of {show(job.saw.kerf, units)} kerf, to "
        f"{show(job.saw.depth, units)} below the finished surface; the fret's tang has the last word."
    ]
    alike = {(round(s.middle, 2), round(s.edges, 2), round(s.stop[0], 2)) for s in slots}
    told = slots[:1] if len(alike) == 1 else slots
    for s in told:
        name = "Each" if len(alike) == 1 else f"Fret {s.fret}"
        ends = f" in the middle and {show(s.edges, units)} at the edges" if abs(s.middle - s.edges) > 5e-3 else ""
        stop = f", the saw's stop at {show(s.stop[0], units)}" if first or len(alike) == 1 else ""
        out.append(f"{name}: {show(s.middle, units)} left to saw{ends}{stop}.")
    return " ".join(out)
