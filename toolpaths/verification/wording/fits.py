"""The words of `neckpath fit`: what is wrong where two parts do not go together, and what to do."""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_fine

# Board and neck

SAME_FILE = "give both jobs the same instrument file"
FRETS = "the jobs have different numbers of frets: give both the same `frets`"
STRINGS = "the jobs have different numbers of strings: give both the same `strings`"
HANDED = "one part is the other's mirror image: give both the same `handed`"
NUT_FRONT = f"see `zero_fret` and `nut_compensation`, or {SAME_FILE}"
NOT_PARALLEL = "the sides of board and neck are not parallel: trim the neck to the board"
BOARD_OVER_NECK = "the board is wider than the neck there: give the neck more `margin`"
BOARD_THICKNESS = (
    "the neck's thickness counts with another board, so its back and its walls are off by the difference: give both "
    "the same thickness"
)
NO_NECK_UNDER_END = (
    "no neck lies under the board's end: give the heel a longer `to`, or use --on-body if the end rests on the body"
)


def board_too_wide(where: str) -> str:
    """`where`: `nut`, `fret 12` or `the end`."""
    return f"the board is wider than the neck at {where}: give the neck more `margin`"


def neck_too_wide(where: str) -> str:
    """`where`: `nut`, `fret 12` or `the end`."""
    return f"the neck is wider than the board at {where}: trim it to the board"


def strings_off_bridge(depth: float, angle: float, shim: float, end: str, units: Units) -> str:
    """`depth`: of a pocket that is right; `angle`: degrees that a shim turns the neck; `shim`: its thickness. mm."""
    way = "back" if angle > 0 else "forward"
    deep = f"make the pocket {show(depth, units)} deep, or " if depth > 0 else ""
    return (
        f"{deep}tilt the neck {way} by {abs(angle):.2f} degrees with a shim under the heel, {show_fine(shim, units)} "
        f"thick at the end {end} and nothing at the other"
    )


def nut_slot_off(off: float, units: Units) -> str:
    """`off`: how far the slot's bridge-side wall lies past the board's beginning, mm; negative before it."""
    if off > 0:
        return (
            f"{show(off, units)} of the slot lies under the board, where no nut can stand: move the slot's "
            "bridge-side wall back (`edge`)"
        )
    return (
        f"the nut would stand {show(-off, units)} before the board, and every fret would be off by that: move the "
        "slot's bridge-side wall to the board (`edge`)"
    )


# What lies under the board

PAST_END, BEHIND_NUT, AT_SIDE = "past the board's end", "behind the nut", "at its side"
ADJUSTER_OPEN = "it stays open so that a tool reaches it: check that the body leaves room for that"
OPENS_INTO = "the hole opens into it: move one of them"


def not_covered(where: str) -> str:
    """`where`: one of the three places above."""
    return f"the board does not cover it {where}: shorten it or move it"


def thin_over(least: float, units: Units) -> str:
    """`least`: wood of the board that should stay, mm."""
    return f"less than {show(least, units)} of board stays between them: move one, or make the hole less deep"


# Heel and pocket


def glue_face_too_low(below: float, units: Units) -> str:
    """`below` the body's top, mm."""
    return (
        f"the glue face would lie {show(below, units)} below the body's top, so the board would rest on the body "
        "before the heel is down: make the pocket shallower or the heel thicker"
    )


def board_near_body(past: float, air: float, least: float, units: Units) -> str:
    """`past`: how far the board reaches past the heel; `air`: its clearance over the body, and the `least`, mm."""
    return (
        f"the board reaches {show(past, units)} past the heel, {show_fine(air, units)} above the body: leave at least "
        f"{show_fine(least, units)}, or it may press on the body"
    )


def corners_differ(radius: float, units: Units) -> str:
    """`radius` of the pocket's corners, mm."""
    return (
        f"the heel's end corners are square, and the pocket's have a radius of {show(radius, units)}: round the "
        "heel's, or square the pocket's"
    )


# Pins

PIN_BLIND = "it does not come out at the board's back, where the neck lies: bore it through, or from the back"
NO_PINS = "the board can slide while it is glued: clamp it so that it cannot, or bore both for pins"
PIN_DIAMETERS = "the holes differ in diameter: give both the same `diameter`"
PIN_MIRRORED = "they lie on opposite sides of the centreline: in both jobs y counts toward the treble side"
ONLY_BOARD, ONLY_NECK = (
    "only the board is bored here: bore the neck too",
    "only the neck is bored here: bore the board too",
)


def pins_apart(off: float, units: Units) -> str:
    """`off`: between the two holes, mm."""
    return f"the holes lie {show_fine(off, units)} apart: give both the same place"


# On a jig

NOT_ON_JIG = "nothing of it lies on the jig: give its setups `hold: {jig: ...}` and the jig's zero"
OTHER_JIG = "the jobs name different jigs, or the jig's job was changed: give both the same, and write the jig again"
JIG_HOLE_OFF = "the jig's hole has another place or width: write the jig's programs again (`jig_pins`)"
BORE_OFF = "give `pins` and `pin_bores` the same place, and the bore the pin's width across the neck"
NO_PILOT = "a screw has no pilot hole under it: see `pilot_holes` of the jig"
NO_DOWEL = "no dowel of the jig stands there: see `stop_pins` of the jig, or set the stop by hand"
DOWELS_OFF = "its dowels do not touch the blank's edge: correct the stop's place"
JIG_SCREW_NEAR = "something that turns comes too near to a screw of the jig: move that screw, or sink it deeper"


def too_deep_in_jig(stays: float, units: Units) -> str:
    """`stays`: how much of the jig must stay below the cut, mm."""
    return (
        f"it cuts deeper into the jig than is allowed, or leaves less than {show(stays, units)} of it: cut less deep, "
        "or take a thicker jig"
    )
