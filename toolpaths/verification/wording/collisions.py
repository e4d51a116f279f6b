"""What the checks of collisions and of the machine's room say: what the bit, its shank and its holder run into."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.common.units import Units, show, show_at_least, show_fine
from toolpaths.verification.wording.message import Message

# What is in the way


def clamp_on_face(name: str, long: float, wide: float, above: float, units: Units) -> Message:
    """A clamp over so much of a face that is to be planed, mm; `above`: how far it is higher than that face."""
    return Message(
        f"{name} covers wood to be planed",
        todo="hold it elsewhere",
        measured=f"{show(long, units).split()[0]} by {show(wide, units)}, {show(above, units)} too high",
    )


def hits(part: str, name: str, below: float, top: float, units: Units) -> Message:
    """A part of what turns passes through a holder. `below` its top; `top` above the bed; mm."""
    measured = f"{show(below, units)} below its top of {show(top, units)}"
    return Message(f"{part} hits {name}", todo="move it or the cut", measured=measured)


def too_near(part: str, name: str, top: float, clear: float, units: Units) -> Message:
    """A part of what turns passes a holder by less than the clearance, mm."""
    measured, limit = f"{show(top, units)} high", f"least {show_fine(clear, units)} apart"
    return Message(f"{part} is too near {name}", "", "move it or the cut", measured, limit)


def may_hit(name: str, above_bed: float, least: float, units: Units) -> Message:
    """A move before the bit's place is known, lower than a holder and its clearance; mm above the bed."""
    return Message(
        f"the bit may hit {name}: X and Y are not set yet",
        todo="raise it first",
        measured=f"{show(above_bed, units)} above the bed",
        limit=f"least {show_at_least(least, units)}",
    )


def into_bed(backing: bool, deep: float, most: float, units: Units) -> Message:
    """`backing`: another board lies under the blank."""
    wrong = f"the bit goes too deep {'below the blank' if backing else 'into the bed'}"
    todo = "check depth, thickness and zero of Z"
    return Message(wrong, todo=todo, measured=show(deep, units), limit=f"most {show(most, units)}")


# Wood


def rapid_through_wood(deep: float, units: Units) -> Message:
    wrong = "a rapid goes through wood"
    return Message(wrong, todo="go above the wood, or use a feed", measured=f"{show_fine(deep, units)} deep")


def rapid_may_hit_wood(above_bed: float, wood: float, units: Units) -> Message:
    """A rapid before the bit's place is known; mm above the bed."""
    return Message(
        "a rapid may hit wood: X and Y are not set yet",
        todo="raise the bit first",
        measured=f"{show(above_bed, units)} above the bed",
        limit=f"wood up to {show_at_least(wood, units)}",
    )


def runs_against_wood(part: str, high: float, units: Units) -> Message:
    """`part` of what turns; the wood is so many mm higher than its lower end."""
    todo, measured = "take a longer bit, or widen the cut", f"{show(high, units)} too low"
    return Message(f"{part} runs against wood", todo=todo, measured=measured)


def edges_too_short(bit: str, deep: float, edges: float, units: Units) -> Message:
    wrong, todo = f"the edges of {bit} are too short", "cut less deep at a time"
    return Message(wrong, todo=todo, measured=f"{show(deep, units)} deep", limit=f"edges {show(edges, units)}")


def flutes_in_collet(bit: str, stickout: float, edges: float, todo: str, units: Units) -> Message:
    """`todo`: the stick-out to set."""
    wrong = f"the collet grips the flutes of {bit}, not only its shank"
    measured = f"{show(stickout, units)} out of the collet"
    return Message(wrong, todo=todo, measured=measured, limit=f"edges {show(edges, units)} long")


def nut_near_wood(gap: float, least: float, todo: str, units: Units) -> Message:
    wrong = "the collet nut passes close to wood"
    return Message(wrong, todo=todo, measured=show_fine(gap, units), limit=f"least {show_fine(least, units)}")


# Heights of travel


SIDEWAYS_FIRST = Message("the bit moves sideways before its height is set", todo="raise Z alone first")
CUTS_FROM_NOWHERE = Message(
    "the bit cuts from a place that is not set yet", todo="set Z, then X and Y, before the first cut"
)


def too_low_from_nowhere(above_bed: float, least: float, units: Units) -> Message:
    """Heights above the bed, mm."""
    wrong, measured = "the bit moves too low before X and Y are set", f"{show(above_bed, units)} above the bed"
    return Message(wrong, todo="raise it first", measured=measured, limit=f"least {show_at_least(least, units)}")


def low_over(name: str, above_bed: float, least: float, units: Units) -> Message:
    """A rapid sideways over the blank or a holder; heights above the bed, mm."""
    wrong, measured = f"a rapid passes too low over {name}", f"{show(above_bed, units)} above the bed"
    return Message(wrong, todo="raise Z first", measured=measured, limit=f"least {show_at_least(least, units)}")


# The machine's room


def too_long_for_axis(axis: str, span: float, travel: float, units: Units, paste: str = "") -> Message:
    """`paste`: places in which the blank can be cut one after another."""
    moved = "move the blank along on pins: paste `placed` into the setup, the bores into its features"
    return Message(
        f"the moves in {axis} are longer than the machine's travel",
        todo=moved if paste else "take a larger machine",
        paste=paste,
        measured=show_at_least(span, units),
        limit=f"most {show(travel, units)}",
    )


def past_travel(axis: str, offset: str, where: str, reached: float, end: float, most: bool, units: Units) -> Message:
    """`where`: what says where the offset lies. `reached`, `end`: machine coordinates, mm; `most`: at the upper end."""
    return Message(
        f"{axis} goes past its travel",
        todo=f"move the blank, or {offset} in {where}",
        measured=show(reached, units),
        limit=f"{'most' if most else 'least'} {show(end, units)}",
    )


# The blank


def too_thin_to_plane(thinnest: float, stays: float, units: Units) -> Message:
    return Message(
        "the blank is too thin to plane",
        todo="plane to less, or take a thicker blank",
        measured=f"{show(thinnest, units)} at its thinnest",
        limit=f"{show(stays, units)} must stay",
    )


def past_blank(what: str, side: str, by: float, units: Units) -> Message:
    wrong, todo = f"{what} goes past the {side} of the blank", "change `nut_at`, `centre_at` or the blank"
    return Message(wrong, todo=todo, measured=show_at_least(by, units))


def part_out_of_wood(
    part: str, planed: bool, left: float, need: float, thicker: bool, short: Sequence[float], units: Units
) -> Message:
    """The wood is thinner than the finished part, a neck without its board.

    `planed`: a plane leaves so much; `thicker`: the blank must be thicker too. `short`: x from and to, mm.
    """
    what, digits = "neck alone" if part == "neck" else part, 0 if units == "mm" else 2
    ends = [show(x, units, digits) for x in short]
    stretch = ends[0] if ends[0] == ends[1] else f"{ends[0].split()[0]} to {ends[1]}"
    remedy = "raise `leave`, in a thicker blank" if thicker else "raise `leave`"
    return Message(
        f"{'planing leaves' if planed else 'the blank has'} too little for the {what}",
        f"x {stretch}",
        remedy if planed else "take a thicker blank",
        show(left, units),
        f"least {show_at_least(need, units)}",
    )
