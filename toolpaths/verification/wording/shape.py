"""What the checks of the shape say: wood cut by mistake or left, inlays that do not fit, cuts beside the part."""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_area, show_fine
from toolpaths.verification.wording.message import Message


def gouge(depth: float, area: float, most: float, known: bool, units: Units) -> Message:
    """`depth` below what is wanted, mm; `area` mm2, 0 for a narrow strip. `known`: the line that did it was found."""
    return Message(
        "the program cuts wood that must stay",
        todo="correct it, or the job" if known else "compare the program with the job there",
        measured=f"{show_fine(depth, units)} too deep, {_size(area, units)}",
        limit=f"most {show_fine(most, units)}",
    )


def uncut(name: str, height: float, area: float, most: float, units: Units) -> Message:
    """`height` above the floor that is wanted, mm."""
    return Message(
        "wood is left uncut",
        name,
        "check the passes there",
        f"{show_fine(height, units)} too high, {_size(area, units)}",
        f"most {show_fine(most, units)}",
    )


def no_walls(piece: str, within: float, units: Units) -> Message:
    wrong = "no wall of pocket or piece"
    todo = "cut the pockets in an earlier setup"
    return Message(wrong, piece, todo, limit=f"Within {show(within, units)}")


def does_not_go_in(piece: str, clearance: float, wanted: float, units: Units) -> Message:
    return _fits(f"{piece} does not fit its pocket", "make the piece smaller", clearance, wanted, units)


def fits_badly(piece: str, clearance: float, wanted: float, units: Units) -> Message:
    wrong = f"{piece} is {'loose' if clearance > wanted else 'tight'} in its pocket"
    return _fits(wrong, "measure the bit in a test slot", clearance, wanted, units)


def beside_part(name: str, part: str, nearest: float, furthest: float, units: Units) -> Message:
    """All of a cut lies in waste: so far from the part's edge, mm."""
    measured = f"{show(nearest, units)} to {show(furthest, units)} from its edge"
    return Message(f"{name} lies beside the {part}, in waste", todo=f"move it onto the {part}", measured=measured)


def past_part(name: str, part: str, by: float, most: float, units: Units) -> Message:
    wrong, todo = f"{name} goes past the edge of the {part}", "move it inwards, or make it smaller"
    return Message(wrong, todo=todo, measured=show(by, units), limit=f"most {show(most, units)}")


def idle_bit(bit: str, first: str) -> Message:
    return Message(f"{bit} has nothing to cut, because {first} reaches all of it", todo="leave out `then`")


# Private


def _fits(wrong: str, todo: str, clearance: float, wanted: float, units: Units) -> Message:
    found, job = show_fine(clearance, units), show_fine(wanted, units)
    return Message(wrong, todo=todo, measured=f"Clearance {found}", limit=f"job: {job}")


def _size(area: float, units: Units) -> str:
    return show_area(area, units) if area else "a narrow strip"
