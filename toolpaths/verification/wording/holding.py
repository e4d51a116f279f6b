"""The words of the checks of what holds the blank and the part.

`remedy`: entries of the job that end a finding, as typed; empty where there are none. What there is more to say is in
`docs/checks.md`.
"""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_fine
from toolpaths.verification.wording.message import Message

# Holders without a place


def no_places(setup: str, hold: str, typed: str) -> Message:
    """`hold`: `screws` or `clamps`. `typed`: places that fit, as a job file takes them; empty where there are none."""
    if not typed:
        return Message(
            f"setup {setup}: the {hold} have no place, and there is no room: all their wood is cut, or passed too low",
            todo="take tape or a larger blank, or plane it in a setup before",
        )
    return Message(
        f"setup {setup}: the {hold} have no place, so no program can keep clear of them",
        todo="put this line into the setup",
        paste=f"hold: {typed}",
    )


# Holders in the wrong place


def inside_blank(setup: str, name: str, deep: float, *, units: Units) -> Message:
    """`deep`: how far it stands in, mm."""
    return Message(
        f"setup {setup}: {name} stands inside the blank",
        todo="move it off, or correct `nut_at` or the blank's size",
        measured=f"{show(deep, units)} inside",
    )


def stops_nothing(setup: str, name: str, off: float, most: float, *, units: Units) -> Message:
    """`off`: how far the stop is from the blank, mm."""
    return Message(
        f"setup {setup}: {name} does not touch the blank, so it stops nothing",
        todo="move it against the blank",
        measured=f"{show_fine(off, units)} off",
        limit=f"most {show_fine(most, units)}",
    )


def grips_inside_blank(setup: str, name: str) -> Message:
    """A clamp that presses from the side."""
    return Message(
        f"setup {setup}: {name} presses from the side, but stands inside the blank", todo="move it to the blank's edge"
    )


def grips_nothing(setup: str, name: str, off: float, most: float, *, units: Units) -> Message:
    """`off`: how far a clamp that presses from the side is from the blank, mm."""
    return Message(
        f"setup {setup}: {name} does not touch the blank's edge, so it grips nothing",
        todo="move it against the edge",
        measured=f"{show_fine(off, units)} off",
        limit=f"most {show_fine(most, units)}",
    )


def presses_on_nothing(setup: str, name: str) -> Message:
    """A clamp beside the blank."""
    return Message(
        f"setup {setup}: {name} does not reach over the blank, so it presses on nothing", todo="move it onto the blank"
    )


def clamp_in_the_wood(setup: str, name: str, height: float, top: float, *, units: Units) -> Message:
    """`height`: of the clamp; `top`: of the blank, both above the bed, mm."""
    return Message(
        f"setup {setup}: {name} is no higher than the blank, so it stands in the wood",
        todo="correct its `height`",
        measured=f"{show(height, units)} high",
        limit=f"more than {show(top, units)}",
    )


def blank_off_the_bed(setup: str, name: str, gap: float, *, units: Units) -> Message:
    """`gap`: between bed and blank under a clamp or a screw, mm."""
    return Message(
        f"setup {setup}: the blank does not lie on the bed under {name}",
        todo="pack it there, or hold it where it lies",
        measured=f"{show_fine(gap, units)} above the bed",
    )


def screw_beside_blank(setup: str, name: str) -> Message:
    """A screw in no wood."""
    return Message(f"setup {setup}: {name} stands beside the blank, so it holds nothing", todo="move it into the waste")


def screw_in_part(setup: str, name: str) -> Message:
    """A screw where the part will be."""
    return Message(f"setup {setup}: {name} goes through the part", todo="move it into the waste")


def screw_sunk_too_deep(setup: str, name: str, left: float, least: float, *, units: Units) -> Message:
    """`left`, `least`: wood under the head, mm."""
    return Message(
        f"setup {setup}: too little wood under the head of {name}",
        todo="sink it less deep",
        measured=f"{show(left, units)} of wood",
        limit=f"least {show(least, units)}",
    )


def screw_near_edge(setup: str, name: str, away: float, least: float, *, units: Units) -> Message:
    """`away`, `least`: from the screw's middle to the blank's edge, mm."""
    return Message(
        f"setup {setup}: {name} may split the blank's edge",
        todo="move it inwards",
        measured=f"{show(away, units)} from the edge",
        limit=f"least {show(least, units)}",
    )


def pin_too_long(setup: str, name: str, raised: float, depth: float, *, units: Units) -> Message:
    """`raised`: how far the pin stands up; `depth`: of its bore in the blank, mm."""
    return Message(
        f"setup {setup}: {name} is longer than its bore in the blank",
        todo="take a shorter pin, or bore deeper",
        measured=f"{show(raised, units)} above the bed",
        limit=f"bore {show(depth, units)} deep",
    )


def under_nothing(setup: str, name: str) -> Message:
    """`name`: `the tape` or `the vacuum`."""
    return Message(f"setup {setup}: {name} does not lie under the blank", todo="correct its `x` and `y`")


def holds_by_nothing(setup: str) -> Message:
    """An empty `hold`."""
    return Message(f"setup {setup}: `hold` names nothing", todo="say what holds the blank")


# On a jig


def jig_in_blank(setup: str, name: str, high: float, *, units: Units) -> Message:
    """`high`: how far something of the jig stands above the seat, mm."""
    return Message(
        f"setup {setup}: {name} stands up in the blank's place",
        todo="move it in the jig's job, or sink it",
        measured=f"{show(high, units)} above the seat",
    )


def over_jig_edge(setup: str, by: float, most: float, *, units: Units) -> Message:
    """`by`: how far the blank hangs over, mm."""
    return Message(
        f"setup {setup}: the blank hangs over the jig's edge, so nothing backs it there",
        todo="make the jig larger, or move the blank with `nut_at` or `centre_at`",
        measured=show(by, units),
        limit=f"most {show(most, units)}",
    )


def screws_through_jig(setup: str, deep: float, thick: float, *, units: Units) -> Message:
    """`deep`: how far screws go into the jig; `thick`: the jig under the blank, mm."""
    return Message(
        f"setup {setup}: the screws come out below the jig",
        todo="take shorter screws, and set `into_bed`",
        measured=f"{show(deep, units)} deep",
        limit=f"jig {show(thick, units)} thick",
    )


# The part


def hold_not_given() -> Message:
    """A job without `hold`."""
    return Message(
        "the job does not say what holds the blank, so nothing shows that the part stays held",
        todo="say it with `hold`, with places",
    )


def nothing_holds_down(setup: str) -> Message:
    """A part that nothing holds against lift."""
    return Message(
        f"setup {setup}: nothing holds the part down; stops and pins do not",
        todo="hold it by screws in waste that stays joined to it, by clamps, tape or a vacuum",
    )


def part_comes_free(remedy: str) -> Message:
    """`remedy`: tabs that bear the cut, in words; empty where none would."""
    if not remedy:
        return Message("here the part comes free", todo="leave tabs that join it to held wood, or use tape or a vacuum")
    return Message("here the part comes free", todo=f"{remedy} or use tape")


def part_in_two() -> Message:
    """A part that is cut in two."""
    return Message("here the part falls into two pieces", todo="look at the depths of its cuts")


def holders_too_weak(names: tuple[str, ...], times: float, least: float, *, aside: float, up: float) -> Message:
    """`times`, `least`: how many times the cut's force is borne. `aside`, `up`: that force, N."""
    return Message(
        "the holders may be too weak",
        f"{names[0]} and {len(names) - 1} more" if len(names) > 1 else "".join(names),
        "add holders, or cut less deep",
        _borne(times, aside, up),
        f"least {least:g}",
    )


def wood_too_weak(places: int, times: float, least: float, *, aside: float, up: float) -> Message:
    """`places`: thin ones between the part and what holds it. `times`, `least`: how many times the cut's force they
    bear. `aside`, `up`: that force, N.
    """
    return Message(
        "the wood that holds the part may break",
        f"{places} thin place{'s' * (places != 1)}",
        "leave more or higher tabs, or cut less deep",
        _borne(times, aside, up),
        f"least {least:g}",
    )


def part_sways(sways: float, most: float, *, force: float, units: Units) -> Message:
    """`sways`, `most`: how far the part moves across, mm, under a `force` in N."""
    return Message(
        "the part sways on slender strips of waste",
        todo="take a wider blank, more screws along its sides, or wedges between part and waste",
        measured=f"about {show_fine(sways, units)} at {force:.0f} N",
        limit=f"most {show_fine(most, units)}",
    )


def offcut_comes_free(long: float, wide: float, grams: float, light: float, *, units: Units) -> Message:
    """`long`, `wide`: of a piece of waste, mm; `grams`: its weight, `light`: what extraction draws away."""
    digits = 0 if units == "mm" else 2
    measured = f"{show(long, units, digits)} by {show(wide, units, digits)}, {grams:.0f} g"
    if grams <= light:
        todo = "keep extraction on and hands away"
        return Message("a light piece of waste comes free", todo=todo, measured=measured)
    return Message(
        "waste comes free: it may be thrown",
        todo="tape or screw it, or leave a tab",
        measured=measured,
        limit=f"most {light:g} g",
    )


# Private


def _borne(times: float, aside: float, up: float) -> str:
    return "bears no turning" if times <= 0 else f"bears {times:.1f} times {aside:.0f} N aside, {up:.0f} N up"
