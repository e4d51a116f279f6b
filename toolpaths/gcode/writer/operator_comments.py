"""Comments for the operator, as sentences. Only the writer uses this."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

from toolpaths.gcode.program import BookedSession, TouchOff
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.job.bit import Bit
from toolpaths.job.holders import Patch
from toolpaths.job.job import Setup
from toolpaths.job.machine import Machine, Spindle
from toolpaths.job.obstacles import Present, clamps_there
from toolpaths.job.setup_context import SetupContext

CAUTIONS = (
    "Caution: check units and zero, then run this program in the air first.",
    "Caution: clamps out of the path, extraction on, eyes, ears and lungs protected, no gloves.",
    "Caution: stay at the stop button. Mark the shank at the collet and look at it after the first pass.",
    "Caution: change bits only with the spindle isolated, and set Z again after each change.",
    "The machine's manual, the shop's rules and local law come before this program.",
)
SENSITISES = "Caution: the dust of {} can sensitise skin and airways."
LENGTHS = (
    "Caution: this program changes bits by itself. The controller must know the length of each and take it into "
    "account. Z is set for the first."
)


def changed_words(touch: TouchOff | None, form: GcodeFormat) -> str:
    """The sentence that asks the operator to set Z after each bit change by the machine."""
    where = "" if touch is None else f" on the {touch.surface}, Z {form.entered(touch.z)}"
    return f"The bit has been changed. Set Z again{where}, or see that the controller has taken its length. Then go on."


def speed_words(rpm: float, spindle: Spindle) -> str:
    """The sentence that asks the operator to set the speed, or to switch the spindle on."""
    lead = "Switch the spindle on by hand" if spindle.set_by == "hand" else "Set the spindle's speed by hand"
    return f"{lead}: {_dial_words(rpm, spindle)}, {rpm:.0f} rpm. Then go on."


def bit_words(number: int, name: str, bit: Bit, form: GcodeFormat) -> str:
    """A bit as it is announced: number, name, shape, and how far it stands out."""
    flutes = f"{bit.flutes} flute{'s' if bit.flutes > 1 else ''}"
    size = form.length(bit.cut_diameter)
    # What a V-bit is besides, its name and the rack say.
    detail = "" if bit.shape == "vee" else bit.detail(form.length)
    if detail:
        size += f", {detail}"
    return f"Bit {number}: {name}, {bit.shape} {size}, {flutes}, {form.length(bit.stickout)} out of the collet"


def pocket_words(machine: Machine, bits: Collection[str]) -> list[str]:
    """Which pocket of the changer must hold each bit, in sentences for the header; none without numbered pockets."""
    return [
        f"Pocket {machine.pockets[name]}: {name}. Check before the start that this bit is in it."
        for name in bits
        if name in machine.pockets
    ]


def session_words(booked: BookedSession | None) -> list[str]:
    """Which booking a program belongs to, and whether it begins amid a cut, in sentences for the header."""
    if booked is None:
        return []
    out = [f"Session {booked.number} of {booked.count}, booked for {booked.booked:g} minutes."]
    if booked.goes_on:
        out.append("This goes on with what the program before it began: the blank must lie exactly as it lay then.")
    return out


def correction_words(machine: Machine, form: GcodeFormat) -> list[str]:
    """The corrections of a measured machine, in sentences for the header."""
    measured = machine.measured
    if measured is None:
        return []
    out = [
        f"Corrected in {axis}: {form.length(stroke.commanded)} was measured as {form.length(stroke.measured)}, "
        f"so every {axis} here is times {stroke.factor:.6f}."
        for axis, stroke in (("X", measured.x), ("Y", measured.y), ("Z", measured.z))
        if stroke is not None
    ]
    if measured.backlash is not None:
        play = measured.backlash
        for axis, width in (("X", play.x), ("Y", play.y), ("Z", play.z)):
            if width:
                out.append(f"Backlash in {axis} measured as {form.length(width)}: no move makes up for it.")
        if play.x:
            out.append("Scored lines are all approached from lower X, which takes it out of their spacing.")
    return out


def jig_words(context: SetupContext) -> list[str]:
    """Of a jig and of what lies on one: what is cut first, and what stays, in sentences for the header."""
    if context.job.part == "jig":
        return [
            "This is a jig: it is screwed down before this program, and stays until all that lies on it is cut.",
            "Its zero is found once. Board and neck are cut with it.",
        ]
    if context.jig is None:
        return []
    return [
        f"This lies on a jig, job {context.jig.job_hash}: that is cut first.",
        f"The jig is called {context.jig.title}. It must not have been taken off since.",
        "X and Y zero are those of the jig. Heights above the bed count from its seat, which the blank lies on.",
    ]


def top_words(context: SetupContext, form: GcodeFormat) -> list[str]:
    """Where a bit is set on a top that was measured at six places, in sentences for the header."""
    if context.found.measured_top is None or context.setup.zero.z != "stock top":
        return []
    at, thick = context.found.measured_top.highest
    x, y = context.told(*at)
    return [f"Its top is highest at X {form.length(x)} Y {form.length(y)}, {form.length(thick)} thick: touch it there."]


def holder_words(context: SetupContext, there: Collection[Present], length: Callable[[float], str]) -> Iterator[str]:
    """What holds the blank, and the place of everything that stands in the way while a program runs, in sentences.

    Places are in the program's coordinates. `length`: a length in mm as it is to be read.
    """
    if Present.with_blank in there and (what := held_words(context.setup, there, length)):
        yield f"Held by {what}."
    zx, zy, _ = context.zero
    for number, it in enumerate(context.obstacles, 1):
        if it.present in there:
            x0, y0, x1, y1 = it.bounds
            yield (
                f"Keep clear of {number}, {it.name}: X {length(x0 - zx)} to {length(x1 - zx)}, Y {length(y0 - zy)} to "
                f"{length(y1 - zy)}, up to {length(context.above_bed(it.top))} above the bed"
            )


def held_words(setup: Setup, there: Collection[Present], length: Callable[[float], str]) -> str:
    """What holds the blank while those obstacles are there, each with what it holds against; empty where none is."""
    hold = setup.holders
    screws = sum(len(group.at) for group in hold.screws) if Present.with_screws in there else 0
    clamps = len(clamps_there(setup, there))
    whole = [
        f"{screws} screw{'s' * (screws > 1)}" if screws else "",
        f"{clamps} clamp{'s' * (clamps > 1)}" if clamps else "",
        f"tape{_where(hold.tape, length)}" if hold.tape else "",
    ]
    found = [
        (" and ".join(words for words in whole if words), "against lift, push and turning"),
        (f"a vacuum{_where(hold.vacuum, length)}" if hold.vacuum else "", "against lift and push"),
        ("pins" if hold.pins else "", "against push and turning alone"),
        ("stops" if hold.stops else "", "against push toward them alone"),
    ]
    return ", by ".join(f"{what} {against}" for what, against in found if what)


def lying_words(context: SetupContext, length: Callable[[float], str]) -> list[str]:
    """How the wood lies, in sentences. `length`: a length in mm as it is to be read."""
    if not context.apart:
        return [
            f"The nut line is {length(context.setup.nut_at)} from the left end of the stock.",
            f"The centreline is {length(context.centre_at)} from the operator's edge.",
        ]
    if context.setup.stand is None:
        return ["This is a piece of its own: places count from its left end and the operator's edge."]
    face = "away from" if context.faces_away else "toward"
    return [
        f"The finished board stands on edge, the {context.setup.stand}, nut on the left, its face {face} the operator.",
        "That upper edge is level: wedge the lower one until it is, and clamp the board along its whole length.",
        f"The edge's corner at the nut is {length(context.setup.nut_at)} from the left end.",
    ]


# Private


def _where(patch: Patch | None, length: Callable[[float], str]) -> str:
    """Where tape or vacuum is, if not under the whole blank."""
    spans = [] if patch is None else [(n, s) for n, s in (("x", patch.x), ("y", patch.y)) if s is not None]
    return "".join(f", {name} {length(low)} to {length(high)}" for name, (low, high) in spans)


def _dial_words(rpm: float, spindle: Spindle) -> str:
    """The dial position for a speed, in words."""
    if not spindle.dial:
        return "its one speed"
    speeds = sorted((r, mark) for mark, r in spindle.dial.items())
    below = [mark for r, mark in speeds if r <= rpm + 0.5]
    above = [mark for r, mark in speeds if r >= rpm - 0.5]
    if below and above:
        return f"dial {below[-1]}" if below[-1] == above[0] else f"dial between {below[-1]} and {above[0]}"
    return f"dial below {above[0]}" if above else f"dial above {below[-1]}"
