"""The words of the checks of the wood around a cut.

`remedy`: entries of the job that end a finding, as typed; empty where there are none. What there is more to say is in
`docs/checks.md`.
"""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_at_least, show_fine
from toolpaths.verification.wording.message import Message

NECK_SIDE, PART_EDGE = "the neck's trimmed side", "the part's edge"
FACE_ABOVE, BOARD_BACK = "the finished face above", "the board's back"
"""What a cut may be too close to, beside another cut."""
BELOW, BESIDE, BEFORE_END = "below", "beside", "to the end"
"""Where a wall is."""
MOVE_ONE, MOVE_IN, MOVE_OFF = "move or shrink one", "move it inwards", "move it off the edge"
LESS_DEEP, SHORTER = "make it less deep", "shorten it, or let it run out"
NARROWER = "move it inwards, or make it narrower"
BARS_IN = "set a smaller `offset`"
THICKER_BLANK, THICKER_NECK = "use thicker wood", "thicken the neck"
THICKER_HEEL, THICKER_HEAD = "thicken the heel", "thicken the head"
MORE_ON_BACK = "leave more on the back"
"""What leaves more wood."""
HEAD_FIRST, WOOD_FIRST = "`headstock_back`", "the wood above"
"""What is cut away before a cut of the right depth."""

# Wood around a cut


def wall_too_thin(
    wall: float, least: float, where: str, fret: str, *, opens: float | None, in_job: bool,
    remedy: str, more: float, other: str, units: Units,
) -> Message:  # fmt: skip
    """`wall`, `least`: wood on the side `where` (`below`), mm. `fret`: the nearest. `opens`: by how much the cut
    comes through, mm, 0 where the carver may come through; None where it does neither. `in_job`: whether the job asks
    for the cut. `more`: by how much less deep it must be, mm, 0 where that is no way. `other`: what else to do.
    """
    wrong = "the wall is too thin"
    if opens is not None:
        wrong = "it breaks through" if opens > 0 else "it may break through"
    less = (remedy or f"cut {show(more, units)} less deep") if more else ""
    return Message(
        wrong if in_job else "a cut not in the job is too deep",
        fret if in_job else "",
        f"{less} or {other}" if less else other,
        f"open {show(opens, units)}" if opens else f"{show(max(wall, 0.0), units)} {where}",
        f"least {show(least, units)}",
    )


def pin_through(pin: str, fret: str) -> Message:
    """A pin's hole that shows at the back of the shaft."""
    return Message(f"{pin} goes right through the neck", fret, "give a `depth`, unless it may show at the back")


def sides_too_close(face: str, back: str | None, wood: float, least: float, *, more: str, units: Units) -> Message:
    """`wood`, `least`: between a cut from the face and one from the back, mm. `more`: what leaves more at the back."""
    return Message(
        f"{face} is near {back or 'the back'}",
        todo=f"{more} or cut less deep",
        measured=show(wood, units),
        limit=f"least {show(least, units)}",
    )


def cuts_too_close(cut: str, beside: str, wood: float, least: float, *, todo: str, units: Units) -> Message:
    """`wood`, `least`: between a cut and what is `beside` it, mm; negative where they overlap."""
    return Message(
        f"{cut} {'runs into' if wood < -1e-3 else 'is too close to'} {beside}",
        todo=todo,
        measured=f"overlap {show(-wood, units)}" if wood < -1e-3 else show(wood, units),
        limit=f"least {show(least, units)}" if least > 0.01 else "",
    )


def beside_part(cut: str) -> Message:
    """A hole that is not in the part."""
    return Message(f"{cut} lies beside the finished part", todo="move it onto the part")


def pin_opened(pin: str, away: float, *, units: Units) -> Message:
    """`away`: from the pin's hole in the waste to the part, mm."""
    return Message(
        f"the outline's cut opens {pin}, so it holds nothing",
        todo="move it further out",
        measured=f"{show(away, units)} from the part",
    )


def nothing_stays(
    floor: float, finished: float, surface: str, *, remedy: str, right: str, first: str, units: Units
) -> Message:
    """`floor`: of the cut; `finished`: the finished `surface` (`back` or `face`), mm below the glue face. `right`: the
    depth that would be right, where its bit does not reach that before what is `first` is cut; or empty.
    """
    todo = f"cut {first} first, with `depth: {right}`" if right else "cut it where wood stays"
    return Message(
        "nothing of it stays on the neck",
        todo=remedy or todo,
        measured=f"floor {show(floor, units)}",
        limit=f"{surface} {show(finished, units)}",
    )


def loses_depth(left: float, own: float, *, units: Units) -> Message:
    """`left` of the depth `own` of a cut, mm."""
    return Message(
        "carving takes some of its depth",
        todo="cut it deeper if more of it is to stay",
        measured=f"{show(left, units)} stays",
        limit=f"cut {show(own, units)} deep",
    )


def bolt_off_seat(name: str, over: float, *, units: Units) -> Message:
    """`over`: how far a bolt's hole reaches over the seat's edge, mm."""
    return Message(
        f"{name} reaches off the heel's seat",
        todo="move the bolt inwards",
        measured=f"{show_fine(over, units)} over its edge",
    )


def past_the_board(what: str, beyond: float, *, units: Units) -> Message:
    """`beyond`: how far a channel or slot shows past the board, mm."""
    return Message(
        f"{what} runs past the board's end",
        todo="shorten it, or give the board more overhang",
        measured=f"{show(beyond, units)} past it",
    )


def before_the_nut(what: str, before: float, *, units: Units) -> Message:
    """`before`: how far a channel or slot shows before what board and nut cover, mm."""
    return Message(
        f"{what} shows before the nut",
        todo="begin it nearer to the nut line",
        measured=f"{show(before, units)} uncovered",
    )


def thin_under_cut_slot(fret: str, left: float, least: float, *, units: Units) -> Message:
    """`left`, `least`: wood under the slot of a fret, mm."""
    return Message(
        f"thin wood under the slot of {fret}",
        todo=f"cut them {show_at_least(least - left, units)} less deep or thicken the board",
        measured=show(left, units),
        limit=f"least {show(least, units)}",
    )


def thin_under_sawn_slot(fret: int, left: float, least: float, *, saw: str, units: Units) -> Message:
    """`left`, `least`: wood under the slot of a fret, mm. `saw`: how deep the saw may go, as typed in
    a job; empty where that is no way.
    """
    lower = f"set `saw: {{depth: {saw}}}` or " if saw else ""
    return Message(
        f"thin wood under the slot of fret {fret}",
        todo=f"{lower}thicken the board",
        measured=show(max(left, 0.0), units),
        limit=f"least {show(least, units)}",
    )
