"""The words of the checks of the finished instrument.

`remedy`: entries of the job that end a finding, as typed; empty where there are none. What there is more to say is in
`docs/checks.md`.
"""

from __future__ import annotations

from toolpaths.common.units import Units, show, show_fine
from toolpaths.verification.wording.message import Message

# Frets


def fret_off(fret: int, error: float, most: float, cents: float, *, string: int, units: Units) -> Message:
    """`error`: how much too far from the nut, or too near where it is negative; `most`: what is allowed, mm. `string`:
    of a fanned board the one that crosses there; 0 elsewhere.
    """
    pitch = f"{abs(cents):.1f} cents {'sharp' if cents > 0 else 'flat'}"
    return Message(
        f"fret {fret} is too {'far from' if error > 0 else 'near'} the nut",
        f"string {string}" if string else "",
        "correct the X of its line",
        f"{show_fine(abs(error), units)}, {pitch}",
        f"most {show_fine(most, units)}",
    )


def fan_reversed(bass: float, treble: float, *, units: Units) -> Message:
    """Scales of the outer strings, mm."""
    return Message(
        "the bass string's scale is shorter than the treble string's",
        todo="exchange `bass` and `treble`, unless it is meant so",
        measured=f"bass {show(bass, units)}",
        limit=f"treble {show(treble, units)}",
    )


def lines_too_wide(
    wide: int,
    count: int,
    width: float,
    kerf: float,
    *,
    remedy: str,
    pointed: bool,
    unguided: bool,
    bit: float,
    units: Units,
) -> Message:
    """`wide` of `count` lines; `width` of the widest, `kerf` of the saw, mm. `pointed`: whether less depth makes
    them narrower. `unguided`: whether the saw has play in these. `bit`: the width that a bit may cut, mm.
    """
    other = f"a bit up to {show_fine(bit, units)}"
    narrower = (remedy or "score less deep") if pointed else ""
    return Message(
        f"{wide} of {count} lines " + ("do not guide the saw" if unguided else "are wider than the saw cuts"),
        todo=f"{narrower} or take {other}" if narrower else f"take {other}, or name the saw's `kerf`",
        measured=show_fine(width, units),
        limit=f"kerf {show_fine(kerf, units)}",
    )


# After the radius


def shallow_after_radius(
    few: int, count: int, place: str, drop: float, depth: float, least: float, *,
    remedy: str, deeper: float, units: Units,
) -> Message:  # fmt: skip
    """`few` of `count` lines, slots or pockets, the worst at `place` (may be empty): `drop` comes off there,
    `depth` is what it is deep, `least` what should be left, `deeper` what would do, all mm.
    """
    todo = remedy or f"cut {'them' if count > 1 else 'it'} at least {show(deeper, units)} deep"
    left = max(depth - drop, 0.0)
    if left <= 1e-9:
        measured = f"{place}: {show(drop, units)}" if place else show(drop, units)
        wrong, limit = f"radiusing removes {few} of {count} at the edges", f"depth {show(depth, units)}"
    else:
        measured = f"{place}: {show(left, units)}" if place else f"{show(left, units)} left"
        wrong, limit = f"radiusing leaves {few} of {count} shallow", f"least {show(least, units)}"
    return Message(wrong, todo=todo, measured=measured, limit=limit)


# Pins


def no_bore(name: str, setup: str = "") -> Message:
    """`name`: of a pin or its hole. `setup`: whose pins they are, where that is not plain."""
    return Message(_of(setup, f"{name} has no bore in the blank"), todo="bore pins in another setup (`pin_bores`)")


def off_its_bore(name: str, bore: str, off: float, most: float, *, units: Units, setup: str = "") -> Message:
    """`off`, `most`: from a pin or its hole to the nearest bore of the blank, mm."""
    return Message(
        _of(setup, f"{name} does not meet {bore}, its nearest bore"),
        todo="give both the same place",
        measured=f"{show_fine(off, units)} apart",
        limit=f"most {show_fine(most, units)}",
    )


def other_width(name: str, bore: str, pin: float, across: float, *, units: Units, setup: str = "") -> Message:
    """`pin`: diameter of a pin or its hole; `across`: width of the bore across the neck, mm."""
    return Message(
        _of(setup, f"{name} does not fit {bore}"),
        todo="give both the same diameter",
        measured=show_fine(pin, units),
        limit=f"bore {show_fine(across, units)}",
    )


def no_pins_to_move(place: str, count: int) -> Message:
    """`count`: of holes for pins in the bed."""
    return Message(
        f"{'one pin does not' if count else 'no pins'} bring the blank to its place {place}",
        todo="bore two holes in the bed (`bed_bores`), and holes in the blank for each place (`pin_bores`)",
    )


def not_yet_bored(bore: str, place: str) -> Message:
    """A bore of the blank that only a later program cuts."""
    return Message(
        f"{bore} is not bored yet when the blank moves to {place}",
        todo="give the pins places that an earlier place of the blank reaches",
    )


def step_at_seam(place: str, step: float, most: float, *, units: Units) -> Message:
    """`step`: by which a wall may be off where the parts of two places meet, mm."""
    return Message(
        f"by the play of its pins, {place} may lie beside its place",
        todo="use pins that fit more closely, set them further apart, or give `play` as measured",
        measured=f"Step at the seam {show_fine(step, units)}",
        limit=f"most {show_fine(most, units)}",
    )


def frets_beside(place: str, fret: int, cents: float, most: float) -> Message:
    """`cents`: by which a fret may be off for the play of the pins."""
    return Message(
        f"by the play of its pins, frets of {place} may be out of tune",
        todo="use pins that fit more closely, or give `play` as measured",
        measured=f"Fret {fret}: {cents:.1f} cents",
        limit=f"most {most:g} cents",
    )


def one_pin(setup: str = "") -> Message:
    """A single pin."""
    return Message(
        _of(setup, "one pin alone lets the blank turn"), todo="set two pins, as far apart as the waste allows"
    )


def pins_alike(setup: str = "") -> Message:
    """Pins of one diameter."""
    return Message(
        _of(setup, "the pins are alike, so the blank also fits end for end"), todo="give one pin another diameter"
    )


# Strings and seasons


def posts_not_strings(posts: int, strings: int) -> Message:
    """Numbers of tuner posts and of strings."""
    return Message(
        f"{posts} posts for {strings} string{'s' * (strings > 1)}, so no angle is measured",
        todo="bore one post for each string",
    )


def string_turns(
    string: int, post: str, angle: float, limit: float, *, turning: int, binds: bool, given: bool
) -> Message:
    """`angle` of the worst string, and the `limit` from which `turning` strings turn, degrees. `binds`: whether that is
    a warning. `given`: whether the job says how wide the strings spread at the nut.
    """
    todo = "move the posts inwards" if binds else "straight is best"
    return Message(
        f"string {string} turns aside to {post}",
        todo=todo if given else f"{todo}, or give `nut_spread`" if binds else f"{todo}; give `nut_spread`",
        measured=f"{angle:.1f} degrees",
        limit=f"{'most' if binds else 'usual to'} {limit:.0f}" + (f", {turning} above" if turning > 1 else ""),
    )


def width_moves(
    what: str, width: float, dry: float, damp: float, most: float, *, air: tuple[float, float], quarter: float | None,
    ends: bool, units: Units,
) -> Message:  # fmt: skip
    """A `width` of `what`, how it changes in the driest and the dampest `air` of the home, mm and % humidity, and the
    `most` it may. `quarter`: the change of quarter-sawn wood, mm, where the wood is flat-sawn. `ends`: whether the
    frets' ends will stand out.
    """
    changes = f"{_signed(dry, units)} at {air[0]:g} %, {_signed(damp, units)} at {air[1]:g} %"
    if max(abs(dry), abs(damp)) <= most:
        return Message(f"{what}, {show(width, units)} wide, moves with the seasons", measured=changes)
    todo = "rest the blank in home air"
    todo += "" if quarter is None else f", take quarter-sawn wood ({show(quarter, units)})"
    todo += ", dress the fret ends later" if ends else ""
    return Message(f"{what} moves much", todo=todo, measured=changes, limit=f"most {show(most, units)}")


def slot_moves(
    width: float, dry: float, damp: float, most: float, *, air: tuple[float, float], units: Units
) -> Message:
    """Like `width_moves`, for a slot along the grain that is `width` wide, mm."""
    changes = f"{_signed(dry, units)} at {air[0]:g} %, {_signed(damp, units)} at {air[1]:g} %"
    narrows = -min(dry, damp)
    if narrows <= 0:
        return Message(f"the slot, {show(width, units)} wide, moves with the seasons", measured=changes)
    if narrows <= most:
        todo = f"leave {show_fine(most, units)} or more around what goes in"
        return Message(f"the slot, {show(width, units)} wide, moves with the seasons", todo=todo, measured=changes)
    todo = f"leave {show_fine(narrows, units)} more around what goes in"
    return Message("the slot narrows much", todo=todo, measured=changes, limit=f"most {show_fine(most, units)}")


def shrinkage_unknown(wood: str, way: str) -> Message:
    """`way`: `tangential` or `radial`."""
    return Message(
        f"it is not known how far {wood} moves with the seasons",
        todo=f"give its {way} shrinkage in percent",
        paste=f"wood: {{name: {wood}, janka: ..., density: ..., shrinkage: {{{way}: ...}}}}",
    )


# Private


def _of(setup: str, words: str) -> str:
    return f"setup {setup}: {words}" if setup else words


def _signed(mm: float, units: Units) -> str:
    """A change with its sign: `-0.21 mm`, `+0.012 in`."""
    text = show(abs(mm), units)
    return f"{'-' if mm < 0 and text != show(0.0, units) else '+'}{text}"
