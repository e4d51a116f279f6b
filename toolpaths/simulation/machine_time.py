"""The time that a program takes, from its text: pass by pass, dwells apart, work by hand not counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Mask
from toolpaths.gcode.program import PassTime
from toolpaths.gcode.reader.trace import ARC_CW, FEED, PLANE_AXES, RAPID, Moves, Trace
from toolpaths.job.machine import Machine
from toolpaths.operations.machine_motion import Drive, bend_feed, driven

_AT_REST = frozenset({"G4", "M0", "M1", "M3", "M5", "M6"})
"""Words at which a machine stands still before it goes on."""


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes of one program. `moving`: under way; `dwelling`: G4, the spindle coming up to speed.

    The way to the parking place is nobody's pass. `seconds` (M,): of each straight move.
    """

    moving: float
    dwelling: float
    passes: tuple[PassTime, ...]
    seconds: Array = field(default_factory=lambda: np.zeros(0), compare=False, repr=False)

    @property
    def minutes(self) -> float:
        """What the machine takes by itself: pauses in which it waits for a hand are not counted."""
        return self.moving + self.dwelling

    @property
    def by_feature(self) -> dict[str, float]:
        """Minutes under way of each feature, by name."""
        return summed(self.passes)


def summed(passes: Sequence[PassTime]) -> dict[str, float]:
    """Minutes of each feature, by name."""
    out: dict[str, float] = {}
    for one in passes:
        out[one.feature] = out.get(one.feature, 0.0) + one.minutes
    return out


def times_of(trace: Trace, moves: Moves, machine: Machine) -> Times:
    """Minutes of a program from its text. `moves`: the trace flattened, in machine directions, none left out.

    The way from wherever the bit stands to the first known place is not counted.
    """
    drive = reached(trace, moves, machine)
    section = np.where(_aside(trace, moves), -1, trace.section[moves.parent])
    passes = [
        _pass(name, title, trace, moves, drive, np.nonzero(section == i)[0])
        for i, (name, title) in enumerate(trace.sections)
    ]
    scale = 1000.0 if machine.dwell == "milliseconds" else 1.0
    dwelling = sum(e.value for e in trace.events if e.word == "G4") / scale
    return Times(float(drive.seconds.sum()) / 60, dwelling / 60, tuple(passes), drive.seconds)


def reached(trace: Trace, moves: Moves, machine: Machine) -> Drive:
    """How each straight move (M,) is driven: seconds, and the feeds really reached, mm/min.

    The machine stands still at pauses, dwells and changes of spindle and bit; a curve is driven no faster than
    its acceleration bears.
    """
    feeds = np.where(trace.kind[moves.parent] == RAPID, np.inf, trace.feed[moves.parent])
    curved = trace.kind[moves.parent] >= ARC_CW
    if curved.any():
        feeds = np.minimum(feeds, _bend_feeds(trace, machine)[moves.parent])
    smooth = np.zeros(len(moves) + 1, dtype=np.bool_)
    if len(moves):
        smooth[1:-1] = curved[1:] & (moves.parent[1:] == moves.parent[:-1])
    seconds, peak, mean = (np.zeros(len(moves)) for _ in range(3))
    for lo, hi in _runs(trace, moves):
        points = np.concatenate([moves.start[lo : lo + 1], moves.end[lo:hi]])
        run = driven(points, feeds[lo:hi], machine, smooth[lo : hi + 1])
        seconds[lo:hi], peak[lo:hi], mean[lo:hi] = run.seconds, run.peak, run.mean
    return Drive(seconds, peak, mean)


def _aside(trace: Trace, moves: Moves) -> Mask:
    """Which moves (M,) only lead to the parking place: rapids after the last standstill, no pass's own."""
    last = max((e.before for e in trace.events if e.word in _AT_REST), default=0)
    late = moves.parent >= last
    return late if np.all(trace.kind[moves.parent[late]] == RAPID) else np.zeros_like(late)


def _bend_feeds(trace: Trace, machine: Machine) -> Array:
    """The highest feed (N,) of each move's curve, mm/min; infinite for straight ones."""
    out = np.full(len(trace), np.inf)
    axes = machine.acceleration.as_tuple()
    for i in np.nonzero(trace.kind >= ARC_CW)[0]:
        a, b, _ = PLANE_AXES[int(trace.plane[i])]
        radius = float(np.hypot(*(trace.start[i] - trace.centre[i])[[a, b]]))
        out[i] = bend_feed(radius, min(axes[a], axes[b])) if radius > 0 else np.inf
    return out


def _runs(trace: Trace, moves: Moves) -> list[tuple[int, int]]:
    """From and to of the straight moves between two standstills."""
    rests = [e.before for e in trace.events if e.word in _AT_REST]
    breaks = set(np.searchsorted(moves.parent, rests).tolist()) if rests else set()
    gaps = np.nonzero(np.any(moves.start[1:] != moves.end[:-1], axis=1))[0] + 1
    marks = sorted({0, len(moves), *breaks, *gaps.tolist()})
    return list(pairwise(marks))


def _pass(name: str, title: str, trace: Trace, moves: Moves, drive: Drive, mine: NDArray[np.int64]) -> PassTime:
    seconds = drive.seconds[mine]
    cuts = mine[trace.kind[moves.parent[mine]] >= FEED]
    spent = float(drive.seconds[cuts].sum())
    return PassTime(
        feature=name,
        title=title,
        minutes=float(seconds.sum()) / 60,
        feed=float(trace.feed[moves.parent[cuts]].max(initial=0.0)),
        peak=float(drive.peak[cuts].max(initial=0.0)),
        mean=float((drive.mean[cuts] * drive.seconds[cuts]).sum()) / spent if spent else 0.0,
    )
