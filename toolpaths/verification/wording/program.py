"""What the checks of a program say: header, bits, where they are set, feeds and speeds, a run in the air."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from toolpaths.common.units import Units, show, show_feed, show_fine
from toolpaths.verification.wording.message import Message

WRITE_AGAIN = "write the programs again"


def _any_of(values: Sequence[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    return " or ".join([", ".join(values[:-1]), values[-1]] if len(values) > 1 else values)


# Texts that cannot be read


def unreadable(problem: str, todo: str) -> Message:
    """The reader's words for what it does not accept, and what to do; empty where nothing but to write it again."""
    return Message(problem, todo=todo or WRITE_AGAIN)


# Header


def no_job_named(job: str, beside: str) -> Message:
    """`beside`: the file of words that belongs beside the program; empty where its comments hold them."""
    keep = f", and keep {beside} beside the program" if beside else ""
    wrong = "the header does not say from which job the program was written"
    return Message(wrong, todo=WRITE_AGAIN + keep, limit=f"Job: {job}")


def other_job(says: str, job: str) -> Message:
    wrong = "the program is from another job, or the job was changed after it was written"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Program: job {says}", limit=f"job now: {job}")


def no_number(wanted: str) -> Message:
    wrong = "the header does not say which program of the set this is"
    return Message(wrong, todo=WRITE_AGAIN, limit=f"Must be {wanted}")


def other_number(says: str, wanted: str) -> Message:
    wrong = "the header gives another place in the set, where the blank is in another state"
    return Message(wrong, todo=WRITE_AGAIN, measured=says.capitalize(), limit=f"must be {wanted}")


def no_jig_named(job: str) -> Message:
    wrong = "the header does not say on which jig the blank lies"
    return Message(wrong, todo=WRITE_AGAIN, limit=f"Must be the jig of job {job}")


def no_place_named(name: str, shift: float, *, units: Units) -> Message:
    """`shift`: how far to the left of its first place the blank lies, mm."""
    wrong = "the header does not say in which place the blank lies"
    return Message(wrong, todo=WRITE_AGAIN, limit=f"Must be place {name}, {show(shift, units)} further left")


def no_setup_named(setup: str) -> Message:
    return Message("the header does not name the setup", todo=WRITE_AGAIN, limit=f"Must be setup {setup}")


def other_setup(says: str, setup: str) -> Message:
    wrong = "the header names another setup, in which the blank lies differently"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Setup {says}", limit=f"must be setup {setup}")


def misleading(what: str, says: Sequence[str | float], job: Sequence[str | float], units: Units) -> Message:
    """A comment for the operator with other values than the job's; `what` it is about, such as `zero` or `bit 2`."""
    told, meant = ((v if isinstance(v, str) else show_fine(v, units) for v in values) for values in (says, job))
    wrong = f"this comment does not give the job's {what}"
    measured, limit = ", ".join(told) or "nothing", ", ".join(meant) or "nothing"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Comment: {measured}", limit=f"job: {limit}")


def same_place(one: str, other: str, number: int) -> Message:
    """Two files that were given for one program of the set."""
    return Message(f"{one} and {other} both say that they are program {number}", todo="give only one of them")


# Bits, and where they are set


def bit_unnamed(expected: str) -> Message:
    return Message("no bit is named before this cut", todo=f"name {expected} before it")


def bit_not_in_job(number: int, expected: str) -> Message:
    return Message(f"the program calls bit {number}, which is not in the job", todo=f"use {expected}")


def header_bit_not_in_job(number: int, name: str) -> Message:
    return Message(f"the header names bit {number}, {name}, which is not in the job", todo=WRITE_AGAIN)


def other_bit_in_header(number: int, says: str, name: str) -> Message:
    wrong = f"the header gives bit {number} another name, so the wrong bit may be put in"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Header: {says}", limit=f"job: {name}")


def bit_not_in_header(number: int, name: str) -> Message:
    return Message(f"the program cuts with bit {number}, {name}, which its header does not name", todo=WRITE_AGAIN)


def other_bits(cuts: Sequence[str], job: Sequence[str]) -> Message:
    """In the order of their work."""
    measured, limit = (", ".join(names) or "none" for names in (cuts, job))
    return Message("the program cuts with other bits", "", "use the job's", f"Program: {measured}", f"job: {limit}")


def other_pocket(number: int, name: str, held: str | None, pocket: int | None) -> Message:
    """A T word for a bit whose pocket it is not. `held`: the bit in that pocket; `pocket`: where the bit is."""
    return Message(
        f"T{number} is for {name}, and {'no bit' if held is None else held} is in that pocket",
        todo=WRITE_AGAIN,
        limit=f"Machine file: {name} in {'no pocket' if pocket is None else f'pocket {pocket}'}",
    )


CHANGE_UNSEEN = Message(
    "the new bit goes down without a pause to set its Z, or to check that the machine has taken its length",
    todo="put M0 after the change of bits",
)


def no_surface_named(rescue: str) -> Message:
    return Message("the header does not say on what to set the bit", todo=f"{rescue}, and {WRITE_AGAIN}")


def no_touch_z(rescue: str) -> Message:
    return Message("the header does not say which Z to enter for the bit", todo=f"{rescue}, and {WRITE_AGAIN}")


def unknown_surface(says: str, known: Iterable[str]) -> Message:
    wrong = "the header sets the bit on a surface that is not in the job"
    return Message(wrong, todo=f"use {_any_of(list(known))}", measured=f"Header: {says}")


def other_touch_z(surface: str, says: str, wanted: str, off: float, units: Units) -> Message:
    """`says`, `wanted`: as they are entered at the machine. `off`: how much too low the bit would cut, mm."""
    measured = f"Z {says} makes every cut {show_fine(abs(off), units)} too {'low' if off > 0 else 'high'}"
    return Message(f"the header gives a wrong Z for the {surface}", "", WRITE_AGAIN, measured, f"must be Z {wanted}")


def no_place_to_touch(surface: str, above_bed: float, side: float, rescue: str, units: Units) -> Message:
    return Message(
        f"no flat place is left on the {surface} to set the bit on",
        todo=rescue,
        measured=f"Looked for at {show(above_bed, units)} above the bed",
        limit=f"least {show(side, units, 0 if units == 'mm' else 2)} square",
    )


def on_bed_instead(stock_top: bool, below: str) -> str:
    """What else to do where no surface is left; `stock_top`: Z is 0 on the blank's top."""
    return (
        "zero on the bed, or leave some of the blank's top" if stock_top else f"set it on the {below} beside the blank"
    )


# Feeds and speeds


def feed_too_fast(axis: str, own: float, limit: float, most: float, count: int, units: Units) -> Message:
    """`own`: the axis' part of the feed; `limit`: what the axis does; `most`: the feed that suits the move; mm/min."""
    return Message(
        f"the feed is too fast for the {axis} axis",
        todo=f"lower it to {show_feed(most, units)}",
        measured=f"{axis} {show_feed(own, units)}{_in_moves(count)}",
        limit=f"most {show_feed(limit, units)}",
    )


def other_feed(value: float, wanted: Sequence[float], count: int, units: Units) -> Message:
    """`wanted`: the job's feeds, the nearest first, mm/min; two of them are shown."""
    *others, last = list(dict.fromkeys(show_feed(w, units) for w in wanted))[:2]
    given = _any_of([*(other.split()[0] for other in others), last])
    measured = f"{show_feed(value, units)}{_in_moves(count)}"
    return Message("the feed is not the job's", "", "correct it, or the job", measured, f"job: {given}")


def other_rpm(value: float, wanted: Sequence[float], count: int) -> Message:
    """The same for the spindle's speed, rpm."""
    given = _any_of(list(dict.fromkeys(f"{w:.0f}" for w in wanted))[:2])
    measured = f"{value:.0f} rpm{_in_moves(count)}"
    return Message("the speed is not the job's", "", "correct it, or the job", measured, f"job: {given} rpm")


def _in_moves(count: int) -> str:
    return f", {count} moves" if count > 1 else ""


# A run in the air


def lifted_but_cuts(says: float, units: Units) -> Message:
    wrong = "the header says that the program is lifted to run in the air, but it is to cut"
    return Message(wrong, todo=f"check it with --air, or {WRITE_AGAIN}", measured=f"Lifted by {show(says, units)}")


def other_lift(says: float, lift: float, units: Units) -> Message:
    wrong = "the header does not give the lift of this run"
    measured = f"Header: {show(says, units)}" if says else "Header: no lift"
    return Message(wrong, todo=WRITE_AGAIN, measured=measured, limit=f"must be {show(lift, units)}")


def lift_too_small(name: str, gap: float, clear: float, enough: float, units: Units) -> Message:
    """`gap`: how far above the body of that name the lowest tip passes, mm; less than 0 is below its top."""
    measured = f"{show(abs(gap), units)} {'above' if gap >= 0 else 'below'} its top"
    limit = f"least {show(clear, units)} above"
    return Message(f"the lifted bit is too near {name}", "", f"lift by {show(enough, units)} or more", measured, limit)
