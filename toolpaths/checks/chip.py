"""Are the chips as thick as the bit and the wood bear, and not so thin that the bit rubs and burns?

Chip load is feed / (rpm x flutes), judged for level and sloping cuts by the band of the bit's diameter and the
wood's hardness (for a pointed bit, the mean of tip and widest: see `trade.chips`). Moves straight down and
ramps are slow on purpose: they are never too thin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.core.bit import Bit
from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding, Severity
from toolpaths.core.reading import at_move, depth_steps, feature_of
from toolpaths.core.trace import RAPID
from toolpaths.core.units import MM_PER_INCH
from toolpaths.trade.chips import Band, bit_band, chip_load

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

STOP_ABOVE = 2.0
"""Times the top of the band at which a warning becomes a stop."""
_ROUND = 0.01
"""Part of the band's ends that rounding of feeds and speeds may take."""
_MOST = 4000
_AROUND = (0.0, 0.5, 1.0, 1.5)
"""Places on the bit's edge, in half turns from straight ahead, where it may meet wood."""


def check(evidence: Evidence) -> list[Finding]:
    """Findings `chip-thick` and `chip-thin`."""
    trace, moves = evidence.trace, evidence.moves
    middle, fall = depth_steps(evidence)
    level = np.abs(fall) < 1e-6
    # A move that comes down is judged where it is deepest.
    lower = np.where((fall > 0)[:, None], moves.end, moves.start)
    places = np.where(level[:, None], middle, lower)
    down = (trace.kind[moves.parent] != RAPID) & (places[:, 2] < evidence.scene.top)
    groups = np.stack([moves.bit, trace.feed[moves.parent], trace.rpm[moves.parent]], axis=1)
    found: list[Finding] = []
    for number, feed, text_rpm in np.unique(groups[down], axis=0):
        known = evidence.bits.get(int(number))
        if known is None:
            continue
        name, bit = known
        slow, fast = _speeds(evidence, name, float(feed), float(text_rpm))
        if slow <= 0:
            continue
        case = _Case(evidence, name, bit, bit_band(bit, evidence.scene.wood.janka), float(feed))
        of_group = down & (groups == (number, feed, text_rpm)).all(axis=1)
        if chip_load(float(feed), slow, bit.flutes) > case.band.high * (1 + _ROUND):
            found += case.findings("chip-thick", slow, _cutting(evidence, bit, places, np.nonzero(of_group)[0]))
        elif chip_load(float(feed), fast, bit.flutes) < case.band.low * (1 - _ROUND):
            inside = np.nonzero(of_group & level)[0]
            found += case.findings("chip-thin", fast, _cutting(evidence, bit, places, inside))
    return found


@dataclass(frozen=True, slots=True)
class _Case:
    """One bit at one feed (mm/min) against its band."""

    evidence: Evidence
    name: str
    bit: Bit
    band: Band
    feed: float

    def findings(self, code: str, rpm: float, cutting: Ints) -> Iterator[Finding]:
        """One for each section feature among the moves that cut (indices of the trace)."""
        first: dict[str, int] = {}
        for move in cutting:
            first.setdefault(feature_of(self.evidence, int(move)), int(move))
        load = chip_load(self.feed, rpm, self.bit.flutes)
        stop = code == "chip-thick" and load > self.band.high * STOP_ABOVE * (1 + _ROUND)
        for feature, move in first.items():
            yield at_move(
                self.evidence,
                code,
                self._message(code, load, rpm),
                move,
                feature=feature,
                severity=Severity.stop if stop else None,
            )

    def _message(self, code: str, load: float, rpm: float) -> str:
        units, flutes = self.evidence.job.units, self.bit.flutes
        thick = code == "chip-thick"
        end = self.band.high if thick else self.band.low
        trouble = "too thick for" if thick else "so thin that it rubs: too thin for"
        return (
            f"a chip of {_chip(load, units)} a tooth ({_feed(self.feed, units)}, {rpm:.0f} rpm, {flutes} flutes) is "
            f"{trouble} {self.name} in {self.evidence.scene.wood.name}, which wants {_chip(self.band.low, units)} to "
            f"{_chip(self.band.high, units)} ({self.band.origin}); feed {'at most' if thick else 'at least'} "
            f"{_feed(end * rpm * flutes, units)}{self._or_speed(thick, end, rpm)}"
        )

    def _or_speed(self, thick: bool, end: float, rpm: float) -> str:
        """The speed that would do instead, where the spindle and the bit have it."""
        spindle = self.evidence.machine.spindle
        wanted = self.feed / (end * self.bit.flutes)
        highest = min(spindle.max_rpm, self.bit.max_rpm or spindle.max_rpm)
        if not spindle.min_rpm <= wanted <= highest:
            return ""
        hundreds = np.ceil(wanted / 100) * 100 if thick else np.floor(wanted / 100) * 100
        return f", or turn at {hundreds:.0f} rpm" if spindle.min_rpm <= hundreds <= highest else ""


def _speeds(evidence: Evidence, name: str, feed: float, text_rpm: float) -> tuple[float, float]:
    """Slowest and fastest speed at which the feed may be driven: the text's, or by hand the job's for that feed."""
    if not evidence.machine.spindle.dialled:
        return text_rpm, text_rpm
    mine = [o.cutting for o in evidence.operations if o.bit == name]
    slack = 0.06 * MM_PER_INCH if evidence.machine.units == "in" else 0.6
    same = [c.rpm for c in mine if any(abs(f - feed) <= slack for f in c.feeds)]
    speeds = same or [c.rpm for c in mine] or [0.0]
    return min(speeds), max(speeds)


def _cutting(evidence: Evidence, bit: Bit, places: Array, moves: Ints) -> Ints:
    """Which of the straight moves meet wood standing before them; as indices of the trace, in order.

    Looked at in one place of each move, (M, 3) mm: ahead, behind and to both sides, just inside the bit's edge.
    """
    # Thousands of moves at one wrong feed need not all be looked at to say so.
    moves = moves[:: max(1, -(-len(moves) // _MOST))]
    if not len(moves):
        return moves
    run = evidence.moves.end[moves, :2] - evidence.moves.start[moves, :2]
    angle = np.arctan2(run[:, 1], run[:, 0])
    # A level point of the bit's edge: a pointed bit's tip is no wider than this.
    reach = max(bit.width_at(1e-3) / 2 - 1e-3, 0.0)
    meets = np.zeros(len(moves), dtype=bool)
    for half_turns in _AROUND:
        rest = np.nonzero(~meets)[0]
        if not len(rest):
            break
        a = angle[rest] + np.pi * half_turns
        points = places[moves[rest], :2] + reach * np.stack([np.cos(a), np.sin(a)], axis=1)
        standing = evidence.standing.heights(points, before=evidence.first + moves[rest])
        meets[rest] = standing > places[moves[rest], 2] + 1e-6
    return np.unique(evidence.moves.parent[moves[meets]])


def _chip(mm: float, units: str) -> str:
    return f"{mm / MM_PER_INCH:.5f} in" if units == "in" else f"{mm:.4f} mm"


def _feed(feed: float, units: str) -> str:
    return f"{feed / MM_PER_INCH:.1f} in/min" if units == "in" else f"{feed:.0f} mm/min"
