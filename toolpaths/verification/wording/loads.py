"""The words of the checks of the loads on bit and spindle.

`remedy`: entries of the job that end a finding, as typed; empty where there are none. What there is more to say is in
`docs/checks.md`.
"""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_chip, show_feed, show_fine
from toolpaths.verification.wording.message import Message

_FEET = 1 / 0.3048
_LOOK = "look for burns; a smaller bit avoids them"

# How thick the chips are


def chip_too_thick(load: float, most: float, *, down: bool, remedy: str, feed: float, units: Units) -> Message:
    """`load`, `most`: chips, mm a tooth. `down`: on a plunge. `feed`: the one that would do, mm/min."""
    return Message(
        "chip too thick",
        todo=remedy or f"feed at most {show_feed(feed, units)}",
        measured=f"{show_chip(load, units)} {'going down' if down else 'a tooth'}",
        limit=f"most {show_chip(most, units)}",
    )


def chip_too_thin(load: float, least: float, *, remedy: str, feed: float, units: Units) -> Message:
    """`load`, `least`: chips, mm a tooth. `feed`: the one that would do, mm/min."""
    return Message(
        "thin chips burn",
        todo=remedy or f"feed at least {show_feed(feed, units)}",
        measured=f"{show_chip(load, units)} a tooth",
        limit=f"least {show_chip(least, units)}",
    )


def pass_too_narrow(load: float, least: float, *, brief: bool, units: Units) -> Message:
    """`load`, `least`: chips on that pass, mm a tooth. `brief`: on few moves of the feature."""
    return Message(
        "on a narrow pass, the chip is thin" if brief else "narrow passes: thin chips burn wood",
        todo=_LOOK if brief else "take a smaller bit; do not feed faster",
        measured=show_chip(load, units),
        limit=f"least {show_chip(least, units)}",
    )


def moves_too_short(load: float, least: float, *, units: Units) -> Message:
    """`load`, `least`: chips on moves that are too short for the feed, mm a tooth."""
    return Message(
        "short moves stay slow: thin chips",
        todo=_LOOK,
        measured=show_chip(load, units),
        limit=f"least {show_chip(least, units)}",
    )


# How much wood at once


def pass_too_deep_for_bit(name: str, depth: float, most: float, *, remedy: str, units: Units) -> Message:
    """`name`: of the bit. `depth`, `most`: of a pass, mm."""
    return Message(
        f"the pass is too deep for {name}",
        todo=remedy or "take less depth at once",
        measured=show(depth, units),
        limit=f"most {show(most, units)}",
    )


def pass_deeper_than_the_job_s(depth: float, most: float, *, units: Units) -> Message:
    """`depth`, `most`: of a pass, mm."""
    return Message(
        "this pass is deeper than the job's",
        todo="cut it in more passes",
        measured=f"{show(depth, units)} at once",
        limit=f"most {show(most, units)}",
    )


def fine_bit_too_deep(depth: float, most: float, *, remedy: str, units: Units) -> Message:
    """`depth`, `most`: of a pass, mm."""
    return Message(
        "a bit this fine breaks in deep passes",
        todo=remedy or "take less depth at once",
        measured=show_fine(depth, units),
        limit=f"most {show_fine(most, units)}",
    )


def fine_bit_too_steep(slope: float, most: float) -> Message:
    """`slope`, `most`: of a ramp, degrees."""
    return Message(
        "a bit this fine breaks on a steep ramp",
        todo="go down on a longer ramp, in waste",
        measured=f"{slope:.1f} degrees",
        limit=f"most {most:.0f} degrees",
    )


def fine_bit_plunges(deep: float, most: float, *, units: Units) -> Message:
    """`deep`: wood straight below it, mm. `most`: slope of a ramp, degrees."""
    return Message(
        "straight down, a bit this fine breaks",
        todo=f"go down on a ramp of {most:.0f} degrees at most, in waste",
        measured=f"{show(deep, units)} of wood",
    )


def chips_packed(deep: float, most: float, *, wider: float | None, units: Units) -> Message:
    """`deep`, `most`: of a slot as wide as the bit, mm. `wider`: a width that chips leave; None for a slot bit."""
    open_it = "keep extraction at the bit, or saw the last of it"
    if wider is not None:
        open_it = f"open the cut to {show(wider, units)}, or saw beside it first"
    return Message(
        "chips pack and burn in a deep slot",
        todo=open_it,
        measured=show(deep, units),
        limit=f"most {show(most, units)}",
    )


# Going down


def end_does_not_cut(deep: float, *, units: Units) -> Message:
    """`deep`: wood below the bit's end, mm."""
    return Message(
        "the bit's end cannot cut straight down",
        todo="go down on a ramp, or from the side",
        measured=f"{show(deep, units)} of wood below it",
    )


def plunge_too_fast(feed: float, most: float, *, units: Units) -> Message:
    """Feeds, mm/min."""
    return Message(
        "the bit goes down into wood too fast",
        todo="slow down, or go down on a ramp",
        measured=show_feed(feed, units),
        limit=f"most {show_feed(most, units)}",
    )


# Forces


def bends_aside(aside: float, most: float, *, remedy: str, feed: float, units: Units) -> Message:
    """`aside`, `most`: how far the tip bends aside, mm. `feed`: the one that would do, mm/min."""
    less = remedy or f"feed at most {show_feed(feed, units)}"
    return Message(
        "the bit bends too far aside",
        todo=f"{less} or use a stiffer bit",
        measured=f"about {show_fine(aside, units)}",
        limit=f"most {show_fine(most, units)}",
    )


def power_too_low(needed: float, turning: float, has: float, *, remedy: str, feed: float, units: Units) -> Message:
    """`needed`, `has`: watts; `turning`: the torque that is needed, Nm. `feed`: the one that would do, mm/min."""
    return Message(
        "the spindle is too weak for this cut",
        todo=remedy or f"feed at most {show_feed(feed, units)}",
        measured=f"up to {needed:.0f} W, {turning:.2f} Nm",
        limit=f"it has {has:.0f} W",
    )


# What the bit is made for


def rim_too_fast(speed: float, most: float, *, remedy: str, rpm: float, units: Units) -> Message:
    """`speed`, `most`: of the bit's rim, m/min. `rpm`: the speed that would do."""
    return Message(
        "fast for a bit without `max_rpm`",
        todo=f"{remedy or f'set `rpm` to {rpm:.0f}'} or `max_rpm`",
        measured=_rim_speed(speed, units),
        limit=f"most {_rim_speed(most, units).split()[0]}",
    )


def lifts_thin_wood(thick: float, most: float, *, by: str, units: Units) -> Message:
    """`thick`: the blank, mm. `most`: how thick thin wood is. `by`: what alone holds it, `tape` or `a vacuum`."""
    return Message(
        f"up-cut bits lift thin wood off {by}",
        todo="take a down-cut bit, or add screws",
        measured=f"{show(thick, units)} thick",
        limit=f"thin up to {show(most, units)}",
    )


def frays_the_edge() -> Message:
    """An up-cut spiral where the upper edge is seen."""
    return Message("an up-cut bit frays the upper edge", todo="a down-cut or straight bit leaves it cleaner")


def runout_above_the_chip(runout: float, chip: float, *, slot: float, units: Units) -> Message:
    """`runout`, `chip` and the width of the `slot` that comes of it, mm."""
    return Message(
        "the bit wobbles by more than its chip, so it cuts wide",
        todo="clean the collet, and cut a test slot (`neckpath coupon`)",
        measured=f"runout {show_fine(runout, units)}, slot {show_fine(slot, units)}",
        limit=f"chip {show_chip(chip, units)}",
    )


# Private


def _rim_speed(m_min: float, units: Units) -> str:
    """A speed of a rim for people: `720 m/min` or `2362 ft/min`."""
    return f"{m_min * _FEET:.0f} ft/min" if units == "in" else f"{m_min:.0f} m/min"
