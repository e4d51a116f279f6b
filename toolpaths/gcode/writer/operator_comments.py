"""Comments for the operator, filled with a job's figures. Their words are those of `comment_texts.py`."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator

from toolpaths.common.units import MM_PER_INCH
from toolpaths.gcode.program import BookedSession, Heading, TouchOff
from toolpaths.gcode.writer import comment_texts as texts
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.instrument.fans import nut_front
from toolpaths.job.bit import Bit
from toolpaths.job.holders import Patch
from toolpaths.job.machine import Machine, Spindle
from toolpaths.job.obstacles import Obstacle, Present, clamps_there
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Cutting

_STURDY = 10.0
"""A bit that bears so many times the load expected is not called fragile. This project's own."""
_LONGEST_TITLE = 200
"""Characters: a name in a drawing may be of any length."""
Length = Callable[[float], str]
"""A length in mm as it is to be read."""


# The header, part by part


def program_words(heading: Heading, title: str, setup: str, form: GcodeFormat) -> Iterator[str]:
    """Which program this is, and what is not as the job has it."""
    yield texts.TITLE.format(title=title)
    yield texts.MADE_BY.format(version=heading.version, job=heading.job_hash)
    yield texts.PLACE.format(number=heading.number, count=heading.count, setup=setup)
    yield from session_words(heading.booked)
    for change in heading.altered:
        yield texts.OPTION.format(change=change)
    for words in heading.found:
        yield texts.MEASURED.format(words=words)
    for code, _, feature in (accepted.partition("@") for accepted in heading.accepted):
        yield texts.ACCEPTED.format(code=code, feature=feature)
    if heading.lift:
        yield texts.LIFTED.format(height=form.entered(heading.lift))
        yield texts.IN_THE_AIR


def session_words(booked: BookedSession | None) -> Iterator[str]:
    """Which booking a program belongs to, and whether it begins amid a cut."""
    if booked is not None:
        yield texts.SESSION.format(number=booked.number, count=booked.count, minutes=booked.booked)
        if booked.goes_on:
            yield texts.GOES_ON


def blank_words(context: SetupContext, on_bed: bool, form: GcodeFormat) -> Iterator[str]:
    """What is cut, how it lies and where its zero is. `on_bed`: the work does not lie there yet."""
    yield from jig_words(context)
    x0, y0, x1, y1 = context.stock_box
    thick = context.stock.thickness
    yield texts.BLANK.format(
        wood=context.wood.name,
        length=form.place(x1 - x0),
        width=form.place(y1 - y0),
        thickness=form.span(thick.min, thick.max) if thick.min < thick.max else form.place(thick.max),
    )
    if on_bed:
        yield texts.BARE_BED
    elif context.flipped:
        yield texts.FACE_DOWN
    yield from lying_words(context, form.place)
    lie = context.lie
    if lie is not None and not on_bed:
        left = form.place(lie.shift)
        yield texts.LIES.format(number=lie.number, count=lie.count, name=lie.name, shift=left)
        yield texts.LIES_FIRST if lie.number == 1 else texts.LIES_MOVED
    if context.setup.under_thickness:
        yield texts.UNDER.format(thickness=form.place(context.setup.under_thickness))
    zero = context.setup.zero
    yield texts.ZERO.format(x=zero.x, y=zero.y, z=zero.z, offset=context.setup.offset)
    front = nut_front(context.job.instrument)
    if (front.x or front.lean) and not context.apart:
        yield texts.FANNED.format(x=form.place(front.x))
    if context.setup.skew is not None:
        turn, shift = context.skew
        yield texts.ASKEW.format(
            degrees=abs(math.degrees(turn)),
            way="counter-clockwise" if turn > 0 else "clockwise",
            shift=form.place(abs(shift)),
            side="farther from" if shift > 0 else "nearer to",
        )


def jig_words(context: SetupContext) -> list[str]:
    """Of a jig and of what lies on one: what is cut first, and what stays."""
    if context.job.part == "jig":
        return list(texts.IS_JIG)
    if context.jig is None:
        return []
    return [words.format(job=context.jig.job_hash, title=context.jig.title) for words in texts.ON_JIG]


def lying_words(context: SetupContext, length: Length) -> list[str]:
    """How the wood lies, in sentences."""
    if not context.apart:
        nut_at, centre_at = length(context.setup.nut_at), length(context.centre_at)
        return [texts.NUT_LINE.format(nut_at=nut_at), texts.CENTRELINE.format(centre_at=centre_at)]
    if context.setup.stand is None:
        return [texts.OWN_PIECE]
    face, nut_at = "away from" if context.faces_away else "toward", length(context.setup.nut_at)
    return [words.format(stand=context.setup.stand, face=face, nut_at=nut_at) for words in texts.ON_EDGE]


def correction_words(machine: Machine, lined: bool, form: GcodeFormat) -> Iterator[str]:
    """The corrections of a measured machine. `lined`: the program cuts lines."""
    measured = machine.measured
    if measured is None:
        return
    for axis, stroke in (("X", measured.x), ("Y", measured.y), ("Z", measured.z)):
        if stroke is not None:
            commanded, found = form.size(stroke.commanded), form.size(stroke.measured)
            yield texts.CORRECTED.format(axis=axis, commanded=commanded, measured=found, factor=stroke.factor)
    if machine.lean:
        length = 300.0 if machine.units == "mm" else 12 * MM_PER_INCH
        yield texts.SQUARED.format(
            way="to the right" if machine.lean > 0 else "to the left",
            off=form.fine(length * abs(math.sin(machine.lean))),
            length=form.size(length),
            factor=-math.tan(machine.lean),
        )
    if measured.backlash is not None:
        play = measured.backlash
        for axis, width in (("X", play.x), ("Y", play.y), ("Z", play.z)):
            if width:
                yield texts.BACKLASH.format(axis=axis, width=form.fine(width))
        if play.x and lined:
            yield texts.LINES_FROM_ONE_SIDE


def holder_words(context: SetupContext, there: Collection[Present], form: GcodeFormat) -> Iterator[str]:
    """What holds the blank, and the place of everything that stands in the way while a program runs.

    Places are in the program's coordinates.
    """
    held = held_words(context.setup, there, form.place, context.zero[:2]) if Present.with_blank in there else ""
    if held:
        yield texts.HELD.format(holders=held)
    standing = [(n, it) for n, it in enumerate(context.obstacles, 1) if it.present in there]
    if standing:
        yield texts.OBSTACLES
    for number, it in standing:
        yield _obstacle_words(context, number, it, form)


def held_words(setup: Setup, there: Collection[Present], length: Length, zero: tuple[float, float] = (0.0, 0.0)) -> str:
    """What holds the blank while those obstacles are there, then what each does not hold against; empty where none is.

    Without a full stop at its end. `zero`: from where places count, in the setup's frame, mm.
    """
    hold = setup.holders
    screws = sum(len(group.at) for group in hold.screws) if Present.with_screws in there else 0
    clamps = len(clamps_there(setup, there))
    found = [
        f"{screws} screw{'s' * (screws > 1)}" if screws else "",
        f"{clamps} clamp{'s' * (clamps > 1)}" if clamps else "",
        f"tape{_where(hold.tape, length, zero)}" if hold.tape else "",
        f"a vacuum{_where(hold.vacuum, length, zero)}" if hold.vacuum else "",
        "pins" if hold.pins else "",
        "stops" if hold.stops else "",
    ]
    *some, last = [words for words in found if words] or [""]
    limits = [
        words
        for has, words in (
            (hold.vacuum, texts.VACUUM_HOLDS), (hold.pins, texts.PINS_HOLD), (hold.stops, texts.STOPS_HOLD)
        )
        if has
    ]  # fmt: skip
    return ". ".join([f"{', '.join(some)} and {last}" if some else last, *limits])


def bit_words(number: int, name: str, bit: Bit, form: GcodeFormat) -> str:
    """A bit as it is announced: number, name, shape, and how far it stands out."""
    flutes = f"{bit.flutes} flute{'s' if bit.flutes > 1 else ''}"
    size = form.size(bit.cut_diameter)
    # What a V-bit is besides, its name and the rack say.
    detail = "" if bit.shape == "vee" else bit.detail(form.size)
    if detail:
        size += f", {detail}"
    return texts.BIT.format(
        number=number, name=name, shape=bit.shape, size=size, flutes=flutes, stickout=form.rule(bit.stickout)
    )


def pocket_words(machine: Machine, bits: Collection[str]) -> Iterator[str]:
    """Which pocket of the changer must hold each bit; none without numbered pockets."""
    for name in bits:
        if name in machine.pockets:
            yield texts.POCKET.format(number=machine.pockets[name], name=name)


def touch_words(context: SetupContext, touch: TouchOff | None, form: GcodeFormat) -> Iterator[str]:
    """What the bit is set on, and where on a top that was measured at six places."""
    if touch is None:
        return
    if context.found.measured_top is not None and context.setup.zero.z == "stock top":
        at, thick = context.found.measured_top.highest
        x, y = context.told(*at)
        yield texts.HIGHEST.format(x=form.place(x), y=form.place(y), thickness=form.place(thick))
    yield texts.TOUCH_OFF.format(surface=touch.surface, z=form.entered(touch.z))


def motion_words(low: list[float], high: list[float], form: GcodeFormat) -> str:
    """From where to where the program moves, mm."""
    x, y, z = map(form.span, low, high)
    return texts.MOTION.format(x=x, y=y, z=z)


def caution_words(context: SetupContext, bits: int) -> Iterator[str]:
    """The cautions of a program with that number of bits: six sentences at most."""
    dust = texts.DUST.format(wood=context.wood.name) if context.wood.sensitises else ""
    for caution in texts.CAUTIONS:
        yield caution.format(dust=dust)
    if bits > 1:
        yield texts.CHANGER
    yield texts.COMES_FIRST


# Before a feature


def reason_words(feature: str, cutting: Cutting, form: GcodeFormat) -> Iterator[str]:
    """How fast, how deep and which way a feature is cut, and which limit decided.

    The sentences begin with the feature's name, in small letters: a reader that looks for words at a comment's
    beginning finds none of its own there.
    """
    values = {
        "feed": texts.FEED.format(feed=f"{form.feed(cutting.feed)} {form.machine.units}"),
        "pass_depth": texts.PASS_DEPTH.format(depth=form.place(cutting.pass_depth)),
    }
    if cutting.lines is not None:
        values["direction"] = texts.ONE_WAY if cutting.lines == "one way" else texts.BOTH_WAYS
    for key, value in values.items():
        if key in cutting.reasons:
            yield texts.REASON.format(feature=feature, value=value, reason=cutting.reasons[key])
    if cutting.safety is not None and cutting.safety < _STURDY:
        times = f"{cutting.safety:.{0 if cutting.safety >= 2 else 1}f}"
        yield texts.FRAGILE.format(feature=feature, times=times)


def section_words(feature: str, title: str) -> str:
    """The pass that begins."""
    return texts.SECTION.format(feature=feature, title=title[:_LONGEST_TITLE])


# Where a hand is needed


def changed_words(touch: TouchOff | None, form: GcodeFormat) -> str:
    """The sentence that asks the operator to set Z after each bit change by the machine."""
    on = texts.SET_Z if touch is None else texts.SET_Z_ON.format(surface=touch.surface, z=form.entered(touch.z))
    return texts.CHANGED.format(set_z=on)


def speed_words(rpm: float, spindle: Spindle) -> str:
    """The sentence that asks the operator to set the speed, or to switch the spindle on."""
    words = texts.SPINDLE_ON if spindle.set_by == "hand" else texts.SPEED
    return words.format(dial=_dial_words(rpm, spindle), rpm=rpm)


# Private


def _obstacle_words(context: SetupContext, number: int, it: Obstacle, form: GcodeFormat) -> str:
    """An obstacle's place in the program's coordinates, and its height above or below what the blank lies on."""
    (x0, y0, x1, y1), (zx, zy, _), height = it.bounds, context.zero, context.above_bed(it.top)
    return texts.OBSTACLE.format(
        number=number,
        name=it.name,
        x=form.span(x0 - zx, x1 - zx),
        y=form.span(y0 - zy, y1 - zy),
        height=form.place(abs(height)),
        side="below" if height < 0 else "above",
        bed="bed" if context.jig is None else "seat",
    )


def _where(patch: Patch | None, length: Length, zero: tuple[float, float]) -> str:
    """Where tape or vacuum is, if not under the whole blank."""
    spans = [] if patch is None else [("X", patch.x, zero[0]), ("Y", patch.y, zero[1])]
    return "".join(f" {n} {length(s[0] - z)} to {length(s[1] - z)}" for n, s, z in spans if s is not None)


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
