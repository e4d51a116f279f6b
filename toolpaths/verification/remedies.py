"""Entries of a job that remove a finding: a key and a value that works, rounded to the safe side."""

from __future__ import annotations

import math
from collections.abc import Iterable

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.operations.feeds_and_speeds import RAMP_THIN
from toolpaths.operations.operation import Cutting
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Remedy

_LEAST = 0.1
"""A cut less deep than this is none, mm."""


def in_words(remedies: tuple[Remedy, ...], otherwise: str) -> str:
    """`feed: 800` or `rpm: 12000` with `feed: 900`, as typed in a job; where there is none, what else to do."""
    each = (" with ".join(f"`{entry.key}: {entry.value}`" for entry in remedy) for remedy in remedies)
    return f"set {' or '.join(each)}" if remedies else otherwise


def fed(
    inputs: CheckInput, bit: str, feature: str, pairs: Iterable[tuple[float, float]], *, up: bool = False
) -> tuple[Remedy, ...]:
    """Entries that bring feeds of the text down to others, or up: the plunge, or the feed of which a ramp is a part.

    `pairs`: each feed and the one wanted, mm/min; the entries do for all. None where the job does not give one of
    these feeds, or the machine has no such.
    """
    wanted: dict[str, float] = {}
    for feed, other in pairs:
        found = _keys(inputs, bit, feature, feed, other, up)
        if not found:
            return ()
        for key, value in found.items():
            wanted[key] = (max if up else min)(value, wanted.get(key, value))
    limit = min(inputs.machine.feed_limit.x, inputs.machine.feed_limit.y)
    typed = tuple(
        Entry(key, _feed_text(inputs, value, up)) for key, value in wanted.items() if not up or value <= limit
    )
    return (typed,) if typed and all(float(entry.value) > 0 for entry in typed) else ()


def turned(
    inputs: CheckInput, bit: str, feature: str, feed: float, wanted: float, *, up: bool, same_chip: bool = False
) -> tuple[Remedy, ...]:
    """Entries with another speed, at least (`up`) or at most `wanted` rpm, where bit and spindle allow it.

    The feed stays, or keeps the same chip: one that the job leaves open follows the speed by itself.
    """
    cutting, spindle = _cutting(inputs, bit, feature, feed), inputs.machine.spindle
    own = inputs.bit_named(bit).max_rpm
    highest = min(spindle.max_rpm, own or spindle.max_rpm)
    speeds = [float(v) for v in spindle.dial.values()] if spindle.dialled else []
    speeds = speeds or [100.0 * (math.ceil(wanted / 100) if up else math.floor(wanted / 100))]
    fit = [v for v in speeds if spindle.min_rpm <= v <= highest and (v >= wanted if up else v <= wanted)]
    if cutting is None or not fit:
        return ()
    rpm = min(fit) if up else max(fit)
    entries: Remedy = (Entry("rpm", f"{rpm:.0f}"),)
    if same_chip == (cutting.limits.get("feed") == "job"):
        entries += (Entry("feed", _feed_text(inputs, cutting.feed * (rpm / cutting.rpm if same_chip else 1), False)),)
    return (entries,)


def depth(mm: float, units: Units, *, up: bool = False) -> str:
    """A length as typed in a job, at most that long, or at least."""
    steps = mm / MM_PER_INCH * 1e4 if units == "in" else mm * 1e3
    return f"{(math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6)) / (1e4 if units == 'in' else 1e3):.6g}"


def shallower(inputs: CheckInput, feature: str, by: float) -> tuple[Remedy, ...]:
    """The `depth` of a feature, less by so many mm; none where it has no such key, or hardly anything would be left."""
    now = given_depth(inputs, feature)
    return () if now is None or now - by < _LEAST else ((Entry("depth", depth(now - by, inputs.job.units)),),)


def given_depth(inputs: CheckInput, feature: str) -> float | None:
    """The `depth` that the job gives a feature of this setup, mm; None where it gives none."""
    # Of this setup alone: another may have a feature of the same name.
    own = next((f for f in inputs.context.setup.features if f.name == feature), None)
    given = None if own is None else own.model_dump().get("depth")
    return given if isinstance(given, float) else None


# Private


def _keys(inputs: CheckInput, bit: str, feature: str, feed: float, wanted: float, up: bool) -> dict[str, float]:
    """The keys that a feed of the text comes from, and their values that bring it to `wanted`."""
    cutting, slack, out = _cutting(inputs, bit, feature, feed), 0.6 * _digit(inputs), {}
    if cutting is None:
        return {}
    if abs(cutting.feed - feed) <= slack:
        out["feed"] = wanted
    elif abs(cutting.ramp - feed) <= slack and not (up and cutting.limits.get("ramp") == "machine"):
        # A ramp's feed is rounded to a step, by at most a tenth of it; at a lower feed its moves may go at the feed.
        step = min(0.25 * MM_PER_INCH if inputs.machine.units == "in" else 5.0, 0.1 * wanted)
        out["feed"] = (wanted + step) / RAMP_THIN if up else wanted
    if abs(cutting.plunge - feed) <= slack and not up:
        out["plunge"] = wanted
    return out


def _cutting(inputs: CheckInput, bit: str, feature: str, feed: float) -> Cutting | None:
    """How the feature drives that bit, where the job gives the feed; of several the one that is nearest to it."""
    slack = 0.6 * _digit(inputs)
    own = [o.cutting for o in inputs.operations if o.bit == bit and o.feature == feature]
    off = [min(abs(f - feed) for f in c.feeds) for c in own]
    return own[off.index(min(off))] if own and min(off) <= slack else None


def _digit(inputs: CheckInput) -> float:
    """The last digit of a feed in the text, mm/min."""
    return 0.1 * MM_PER_INCH if inputs.machine.units == "in" else 1.0


def _feed_text(inputs: CheckInput, mm_min: float, up: bool) -> str:
    """A feed as typed in the job, on the digit that the text will have."""
    digit = _digit(inputs)
    feed = digit * (math.ceil(mm_min / digit - 1e-6) if up else math.floor(mm_min / digit + 1e-6))
    return f"{feed / MM_PER_INCH:.5g}" if inputs.job.units == "in" else f"{feed:.6g}"
