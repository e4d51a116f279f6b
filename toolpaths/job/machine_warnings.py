"""Warnings about unlikely numbers in a machine file.

All limits are common practice, no source. A warning is no error: the file may be used as it stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
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
SOFTEST_FRAME, STIFFEST_FRAME = 20.0, 3_000.0
"""Routers that people measured give way by 1 mm under forces between these at the bit, N. From memory."""
SHORT_LINE = 60
"""Below this arcs and comments become several lines, characters."""


Doubt = tuple[tuple[str, ...], str]
"""A key of the machine file, step by step, and the warning about its value."""


def doubts(machine: Machine) -> list[Doubt]:
    """Every warning about a machine."""
    parts = (_travel, _speeds, _spindle, _offsets, _text, _heights, _holding)
    return [doubt for part in parts for doubt in part(machine)]


def _travel(m: Machine) -> Iterator[Doubt]:
    other = "in" if m.units == "mm" else "mm"
    for axis, length in zip("xyz", m.travel.as_tuple(), strict=True):
        low, high = (SHALLOWEST, TALLEST) if axis == "z" else (SHORTEST, LONGEST)
        if not low <= length <= high:
            words = f"{axis.upper()} travels {show(length, m.units)}: {_usual(low, high, m)}"
            yield ("travel", axis), f"{words}; bare numbers here are {m.units}, not {other}"


def _speeds(m: Machine) -> Iterator[Doubt]:
    for axis, rapid, feed, start in zip(
        "xyz", m.rapid.as_tuple(), m.feed_limit.as_tuple(), m.acceleration.as_tuple(), strict=True
    ):
        if not SLOWEST_RAPID <= rapid <= FASTEST_RAPID:
            words = f"{axis.upper()} goes {_speed(rapid, m)}: {_usual(SLOWEST_RAPID, FASTEST_RAPID, m, '/min')}"
            yield ("rapid", axis), f"{words}; speeds here are a minute, not a second"
        if feed > rapid:
            words = f"{axis.upper()} would cut at {_speed(feed, m)}, faster than its rapid of {_speed(rapid, m)}"
            yield ("feed_limit", axis), words
        if not SLOWEST_START <= start <= HARDEST_START:
            words = (
                f"{axis.upper()} accelerates at {_number(start, m)} {m.units}/s2: "
                f"{_usual(SLOWEST_START, HARDEST_START, m, '/s2')}; the minutes of a program and the chips in its "
                "corners are computed from it"
            )
            yield ("acceleration", axis), words
    if m.corner_deviation > ROUNDEST_CORNER:
        words = f"corners rounded off by {show(m.corner_deviation, m.units, 4)} are seen in the wood"
        yield ("corner_deviation",), words


def _spindle(m: Machine) -> Iterator[Doubt]:
    s = m.spindle
    for key, rpm in (("min_rpm", s.min_rpm), ("max_rpm", s.max_rpm)):
        if not SLOWEST_SPINDLE <= rpm <= FASTEST_SPINDLE:
            words = f"{rpm} rpm: router spindles turn at {SLOWEST_SPINDLE} to {FASTEST_SPINDLE}"
            yield ("spindle", key), words
    if s.spin_up < 1:
        yield ("spindle", "spin_up"), f"{s.spin_up:g} s is a short time for a spindle to be up to speed; measure it"
    for (a, slow), (b, fast) in pairwise(s.dial.items()):
        if fast <= slow:
            yield ("spindle", "dial", b), f"mark {b} gives {fast} rpm, mark {a} before it {slow}: not faster"


def _offsets(m: Machine) -> Iterator[Doubt]:
    for name, zero in m.offsets.items():
        for at, travel, axis in zip(zero or (), m.travel.as_tuple(), "XYZ", strict=False):
            low, high = (-travel, 0.0) if axis == "Z" else (0.0, travel)
            if not low <= at <= high:
                words = (
                    f"{axis} of {name} at {show(at, m.units)} lies outside the travel, {show(low, m.units)} to "
                    f"{show(high, m.units)} in machine coordinates"
                )
                yield ("offsets", name), words


def _text(m: Machine) -> Iterator[Doubt]:
    scale = MM_PER_INCH if m.units == "in" else 1.0
    whole = math.floor(math.log10(max(m.travel.as_tuple()) / scale)) + 1
    if m.precision == "single" and m.decimals > SINGLE_DIGITS - whole:
        words = (
            f"single precision holds {SINGLE_DIGITS} digits in all: beside {whole} whole ones of this travel it "
            f"keeps {SINGLE_DIGITS - whole} behind the point, and {m.decimals} are written"
        )
        yield ("decimals",), words
    if m.line_length < SHORT_LINE:
        words = f"lines of {m.line_length} characters: many arcs do not fit and become straight pieces"
        yield ("line_length",), words
    if m.arcs == "none" and not FINEST_CHORD <= m.chord_tolerance <= COARSEST_CHORD:
        fine = m.chord_tolerance < FINEST_CHORD
        words = "makes programs of very many short moves" if fine else "is seen in the wood"
        yield ("chord_tolerance",), f"{show(m.chord_tolerance, m.units, 5)} {words}"


def _heights(m: Machine) -> Iterator[Doubt]:
    safe = f"{show(m.safe_height, m.units)} above stock and clamps"
    if m.safe_height > m.travel.z / 2:
        yield ("safe_height",), f"{safe} is more than half of the {show(m.travel.z, m.units)} that Z travels"
    elif m.safe_height < LEAST_SAFE:
        yield ("safe_height",), f"{safe} is low: a bit may hit a clamp"
    for axis, at, travel in (("x", m.park.x, m.travel.x), ("y", m.park.y, m.travel.y)):
        if abs(at) > travel:
            yield ("park", axis), f"the parking place lies {show(at, m.units)} off, outside the travel"
    if m.bed_allowance > DEEPEST_BED:
        yield ("bed_allowance",), f"every through cut goes up to {show(m.bed_allowance, m.units)} into the bed"


def _holding(m: Machine) -> Iterator[Doubt]:
    if m.runout > MOST_RUNOUT:
        words = f"{show(m.runout, m.units, 4)} of runout breaks small bits; clean the collet, or buy a new one"
        yield ("runout",), words
    if m.stiffness is not None and not SOFTEST_FRAME <= m.stiffness <= STIFFEST_FRAME:
        words = (
            f"{m.stiffness:g} N/mm: {SOFTEST_FRAME:g} to {STIFFEST_FRAME:g} N/mm is usual, also in a file in inches; "
            "1 kg pulls with 9.8 N"
        )
        yield ("stiffness",), words
    if m.collet.holder_diameter < m.collet.nut_diameter:
        yield ("collet", "holder_diameter"), "the holder is narrower than the collet nut below it; measure both"


def _number(mm: float, m: Machine) -> str:
    return f"{mm / (MM_PER_INCH if m.units == 'in' else 1.0):g}"


def _speed(mm_min: float, m: Machine) -> str:
    return f"{_number(mm_min, m)} {m.units}/min"


def _usual(low: float, high: float, m: Machine, per: str = "") -> str:
    return f"{_round(low, m)} to {_round(high, m)} {m.units}{per} is usual"


def _round(mm: float, m: Machine) -> str:
    return f"{mm:g}" if m.units == "mm" else f"{float(f'{mm / MM_PER_INCH:.1g}'):g}"
