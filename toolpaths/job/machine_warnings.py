"""Warnings about unlikely figures in a machine file.

All limits are common practice, no source. A doubt is no fault: the file may be used as it stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from toolpaths.common.units import MM_PER_INCH, show
from toolpaths.job.machine import Machine

SLOWEST_START, HARDEST_START = 10.0, 5_000.0
"""Accelerations of small routers and of large ones lie between these, mm/s2."""
SLOWEST_RAPID, FASTEST_RAPID = 300.0, 20_000.0
"""Rapids of small routers and of large ones lie between these, mm/min."""
SHORTEST, LONGEST = 100.0, 4_000.0
"""Travels in x and y, mm."""
SHALLOWEST, TALLEST = 25.0, 400.0
"""Travel in z, mm."""
SLOWEST_SPINDLE, FASTEST_SPINDLE = 3_000, 60_000
"""Speeds of router spindles, rpm."""
LEAST_SAFE = 2.0
"""A bit that travels lower above the wood meets the next thing that was forgotten, mm."""
DEEPEST_BED = 2.0
"""A bed that is cut deeper than this under every part does not last, mm."""
MOST_RUNOUT = 0.1
"""More runout than this wants a new collet, mm."""
FINEST_CHORD, COARSEST_CHORD = 0.0005, 0.02
"""Finer chords make programs of many lines; coarser ones are seen in the wood, mm."""
ROUNDEST_CORNER = 0.1
"""A controller that rounds corners off more is seen in the wood, mm."""
SINGLE_DIGITS = 7
"""Digits that a number of 32 bits holds, whole ones and those behind the point: 24 bits are 7.2 (IEEE 754)."""
SHORT_LINE = 60
"""Below this arcs and comments become several lines, characters."""


@dataclass(frozen=True, slots=True)
class MachineWarning:
    """What is asked, and the key it is asked about."""

    key: tuple[str, ...]
    words: str


def doubts(machine: Machine) -> list[MachineWarning]:
    """Every doubt about a machine."""
    return [
        *_travel(machine),
        *_speeds(machine),
        *_spindle(machine),
        *_offsets(machine),
        *_text(machine),
        *_heights(machine),
        *_holding(machine),
    ]


def _travel(m: Machine) -> Iterator[MachineWarning]:
    for axis, length in zip("xyz", m.travel.as_tuple(), strict=True):
        low, high = (SHALLOWEST, TALLEST) if axis == "z" else (SHORTEST, LONGEST)
        if not low <= length <= high:
            yield MachineWarning(
                ("travel", axis),
                f"{axis.upper()} travels {show(length, m.units)}: {_usual(low, high, m)}; {_units_too(m)}",
            )


def _speeds(m: Machine) -> Iterator[MachineWarning]:
    for axis, rapid, feed, start in zip(
        "xyz", m.rapid.as_tuple(), m.feed_limit.as_tuple(), m.acceleration.as_tuple(), strict=True
    ):
        if not SLOWEST_RAPID <= rapid <= FASTEST_RAPID:
            yield MachineWarning(
                ("rapid", axis),
                f"{axis.upper()} goes {_speed(rapid, m)}: {_between(SLOWEST_RAPID, FASTEST_RAPID, 'min', m)}; "
                "speeds here are a minute, not a second",
            )
        if feed > rapid:
            yield MachineWarning(
                ("feed_limit", axis),
                f"{axis.upper()} would cut at {_speed(feed, m)}, faster than its rapid of {_speed(rapid, m)}",
            )
        if not SLOWEST_START <= start <= HARDEST_START:
            yield MachineWarning(
                ("acceleration", axis),
                f"{axis.upper()} gains {_number(start, m)} {m.units}/s in a second: "
                f"{_between(SLOWEST_START, HARDEST_START, 's2', m)}; the minutes of a program and the chips in its "
                "corners are reckoned from it",
            )
    if m.corner_deviation > ROUNDEST_CORNER:
        yield MachineWarning(
            ("corner_deviation",), f"corners rounded off by {show(m.corner_deviation, m.units, 4)} are seen in the wood"
        )


def _spindle(m: Machine) -> Iterator[MachineWarning]:
    s = m.spindle
    for key, rpm in (("min_rpm", s.min_rpm), ("max_rpm", s.max_rpm)):
        if not SLOWEST_SPINDLE <= rpm <= FASTEST_SPINDLE:
            yield MachineWarning(
                ("spindle", key), f"{rpm} rpm: router spindles turn at {SLOWEST_SPINDLE} to {FASTEST_SPINDLE}"
            )
    if s.spin_up < 1:
        yield MachineWarning(
            ("spindle", "spin_up"), f"{s.spin_up:g} s is soon for a spindle to be up to speed; time it"
        )
    marks = list(s.dial.items())
    for (a, slow), (b, fast) in pairwise(marks):
        if fast <= slow:
            yield MachineWarning(
                ("spindle", "dial", b), f"mark {b} gives {fast} rpm, mark {a} before it {slow}: not faster"
            )


def _offsets(m: Machine) -> Iterator[MachineWarning]:
    for name, zero in m.offsets.items():
        for at, travel, axis in zip(zero or (), m.travel.as_tuple(), "XYZ", strict=False):
            low, high = (-travel, 0.0) if axis == "Z" else (0.0, travel)
            if not low <= at <= high:
                yield MachineWarning(
                    ("offsets", name),
                    f"{axis} of {name} at {show(at, m.units)} lies outside the travel, {show(low, m.units)} to "
                    f"{show(high, m.units)} in machine coordinates",
                )


def _text(m: Machine) -> Iterator[MachineWarning]:
    scale = MM_PER_INCH if m.units == "in" else 1.0
    if m.precision == "single":
        whole = math.floor(math.log10(max(m.travel.as_tuple()) / scale)) + 1
        if m.decimals > SINGLE_DIGITS - whole:
            yield MachineWarning(
                ("decimals",),
                f"single precision holds {SINGLE_DIGITS} digits in all: beside {whole} whole ones of this travel it "
                f"keeps {SINGLE_DIGITS - whole} behind the point, and {m.decimals} are written",
            )
    if m.line_length < SHORT_LINE:
        yield MachineWarning(
            ("line_length",), f"lines of {m.line_length} characters: many arcs do not fit, and become chords"
        )
    if m.arcs == "none" and not FINEST_CHORD <= m.chord_tolerance <= COARSEST_CHORD:
        fine = m.chord_tolerance < FINEST_CHORD
        yield MachineWarning(
            ("chord_tolerance",),
            f"{show(m.chord_tolerance, m.units, 5)} "
            + ("makes programs of very many short moves" if fine else "is seen in the wood"),
        )


def _heights(m: Machine) -> Iterator[MachineWarning]:
    if m.safe_height > m.travel.z / 2:
        yield MachineWarning(
            ("safe_height",),
            f"{show(m.safe_height, m.units)} above stock and clamps takes more than half of Z's "
            f"{show(m.travel.z, m.units)} of travel",
        )
    elif m.safe_height < LEAST_SAFE:
        yield MachineWarning(
            ("safe_height",), f"{show(m.safe_height, m.units)} above stock and clamps leaves little to spare"
        )
    for axis, at, travel in (("x", m.park.x, m.travel.x), ("y", m.park.y, m.travel.y)):
        if abs(at) > travel:
            yield MachineWarning(("park", axis), f"the parking place lies {show(at, m.units)} off, beyond the travel")
    if m.bed_allowance > DEEPEST_BED:
        yield MachineWarning(
            ("bed_allowance",), f"every through cut goes up to {show(m.bed_allowance, m.units)} into the bed"
        )


def _holding(m: Machine) -> Iterator[MachineWarning]:
    if m.runout > MOST_RUNOUT:
        yield MachineWarning(
            ("runout",),
            f"{show(m.runout, m.units, 4)} of runout breaks small bits; clean the collet, or take a new one",
        )
    if m.collet.holder_diameter < m.collet.nut_diameter:
        yield MachineWarning(("collet", "holder_diameter"), "the holder is narrower than the collet nut below it")


def _number(mm: float, m: Machine) -> str:
    return f"{mm / (MM_PER_INCH if m.units == 'in' else 1.0):g}"


def _speed(mm_min: float, m: Machine) -> str:
    return f"{_number(mm_min, m)} {m.units}/min"


def _usual(low: float, high: float, m: Machine) -> str:
    return f"{_round(low, m)} to {_round(high, m)} {m.units} is usual"


def _between(low: float, high: float, unit: str, m: Machine) -> str:
    return f"{_round(low, m)} to {_round(high, m)} {m.units}/{unit} is usual"


def _round(mm: float, m: Machine) -> str:
    return f"{mm:g}" if m.units == "mm" else f"{float(f'{mm / MM_PER_INCH:.1g}'):g}"


def _units_too(m: Machine) -> str:
    other = "in" if m.units == "mm" else "mm"
    return f"bare numbers here are {m.units}, not {other}"
