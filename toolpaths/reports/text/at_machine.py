"""Work at the machine beside running programs: planing, finding and testing zero, and what each program's block says.

Common practice, no source, where no source is named.
"""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import show, show_fine
from toolpaths.gcode.program import Program
from toolpaths.instrument.boards import crossings
from toolpaths.instrument.fans import nut_front
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import HOLES, CutKind
from toolpaths.job.setup_context import planed_to
from toolpaths.reports.text.moving import moved, moved_before
from toolpaths.reports.text.words import bit_words, count, signed, span, the
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import finished_in

_FINE = 1.6
"""A bit thinner than this is called fragile, mm."""
_WIDE = 12.7
"""A bit wider than this is warned of for its speed, mm."""
EVEN = "Listen for an even sound. Look for chips, not dust."
"""What holds for a bit and a cut of which nothing else is to be said."""


def planed(outcome: Outcome) -> Iterator[tuple[str, float, str]]:
    """Setups that plane the blank: name, thickness that is left, mm, and in words how much comes off."""
    least, most = outcome.asked.stock.thickness.min, outcome.asked.stock.thickness.max
    for setup in outcome.asked.setups:
        leaves = planed_to(setup)
        if setup.stock is None and leaves:
            left = min(leaves)
            yield setup.name, left, span(max(least - left, 0.0), max(most - left, 0.0), outcome.job.units)
            least = most = left


def zero_steps(outcome: Outcome, setup: SetupReport) -> list[str]:
    """How zero is found, and how it is tested, step by step. Which Z each bit needs is in its program's block."""
    context, units = setup.context, outcome.machine.units
    z = context.setup.zero
    out = list(_of_jig(setup))
    if not context.apart and not out:
        out.append(
            f"Pencil the nut line square across the blank, {show(context.setup.nut_at, units)} from its left end. "
            f"Pencil the centreline along it, {show(context.centre_at, units)} from the edge on your side."
        )
    if context.jig is None:
        x = {"nut": "the nut line", "stock end": "the left end of the blank"}.get(z.x, "")
        y = {"centreline": "the centreline", "stock edge": "the edge on your side"}.get(z.y, "")
        out.append(
            f"Offset {context.setup.offset}. Bring the bit's middle over {x} and set X 0. Then over {y}, and set Y 0."
        )
    if z.x == "stock end" or z.y == "stock edge":
        out.append("At an edge, touch it with the side of the bit, and allow for the bit's radius.")
    measured = outcome.machine.measured
    if measured is not None and measured.backlash is not None and measured.backlash.x:
        play = show_fine(measured.backlash.x, units)
        out.append(
            f"The X axis has {play} of backlash: come to X zero from lower X, as the programs come to each line."
        )
    if any(p.touch_off is not None for p in outcome.programs if p.setup == context.setup.name):
        out.append(
            "Z is set anew with each bit, as its program says below: lower the tip onto a slip of paper until it just "
            "drags."
        )
    if context.found.measured_top is not None and z.z == "stock top":
        (x_at, y_at), thick = context.found.measured_top.highest
        px, py = context.told(x_at, y_at)
        out.append(
            f"Touch the top where it is thickest: {show(thick, outcome.job.units)} at X {signed(px, units)} "
            f"Y {signed(py, units)}."
        )
    out += _test(outcome, setup)
    return out


def before(outcome: Outcome, setup: SetupReport, program: Program) -> list[str]:
    """What is done before a program runs, in order, in sentences; bit and Z follow by themselves."""
    own = [p for p in outcome.programs if p.setup == program.setup]
    earlier = [p for p in outcome.programs if p.number < program.number]
    features = {f.name for f in setup.context.setup.features}
    out: list[str] = []
    if program is own[0]:
        out += [
            h.what
            for h in outcome.handwork
            if h.when == "before the setup" and (h.feature in features or h.setup == program.setup)
        ]
    if program.on_bed:
        out.append("Take the blank off: this program cuts the bed.")
    if setup.context.flipped and not program.on_bed and all(p.on_bed for p in own if p.number < program.number):
        out.append("Turn the blank over about its centreline, onto its face. The left end stays left.")
    if program.lie is not None and moved_before(outcome, program):
        out += moved(outcome, setup, program.lie)
    if earlier:
        ended = finished_in(outcome, earlier[-1])
        out += [h.what for h in outcome.handwork if h.when == "before the next" and h.feature in ended]
    return list(dict.fromkeys(out))


def bit_line(outcome: Outcome, name: str) -> str:
    """A bit as it is put in: `scorer: flat 0.5 mm, 2 flutes, stick-out 15.00 mm`."""
    bit, units = outcome.job.bits.get(name), outcome.job.units
    if bit is None:
        return name
    said = f"{name}: {bit_words(bit, units)}, {count(bit.flutes, 'flute')}, stick-out {show(bit.stickout, units)}"
    pocket = outcome.machine.pockets.get(name)
    return said if pocket is None else f"{said}, in pocket {pocket} of the changer"


def speeds(outcome: Outcome, setup: SetupReport, program: Program) -> list[str]:
    """Each speed of a program; the mark on the dial where a hand turns it."""
    every = (f.cutting.rpm for f in setup.features if f.bit in program.bits)
    return list(dict.fromkeys(_speed(outcome, rpm) for rpm in every))


def touch(outcome: Outcome, program: Program) -> str:
    """Which surface the bit touches, and which Z is entered, in the machine's units."""
    if program.touch_off is None:
        return "No surface is left to touch off from."
    z = signed(program.touch_off.z, outcome.machine.units)
    return f"Touch {the(program.touch_off.surface)}. Enter Z {z}."


def watch(setup: SetupReport, program: Program) -> list[str]:
    """What to listen and look for while a program runs, and how its bits are treated; never empty."""
    bits = [(name, setup.context.bits[name]) for name in program.bits if name in setup.context.bits]
    cuts = {kind for f in setup.context.setup.features if f.name in program.feature_minutes for kind in f.cuts}
    out = [*(words for name, bit in bits for words in _of_bit(name, bit, setup)), *_of_cuts(cuts)]
    return list(dict.fromkeys(out)) or [EVEN]


# Private


def _of_jig(setup: SetupReport) -> Iterator[str]:
    """How zero is found for a jig, once, and that it is there already for what lies on one."""
    context = setup.context
    if context.job.part == "jig":
        yield (
            "Screw the jig down for good. It stays there until all that lies on it is cut. Pencil where the nut line "
            "and the centreline are to be. Its zero is found once, and holds for all that lies on the jig."
        )
    elif context.jig is not None:
        yield (
            f"X and Y zero are those of the jig ({context.jig.title}, job {context.jig.job_hash}), offset "
            f"{context.setup.offset}: they are set already. Drive to where its nut line and its centreline cross: the "
            "controller must show X 0 Y 0. Do this before each setup."
        )
        yield (
            "Take out the pins and dowels of other setups. Lay the blank on the seat, against its dowels and on its "
            "pins."
        )


def _test(outcome: Outcome, setup: SetupReport) -> Iterator[str]:
    """Places that can be checked without a program: the nut's corner, and the blank's end."""
    context, units = setup.context, outcome.machine.units

    def at(x: float, y: float) -> str:
        """What the controller shows there, as the blank lies askew."""
        px, py = context.told(x, y)
        return f"X {signed(px, units)} Y {signed(py, units)}"

    lift = signed((context.travel_height - context.zero[2]) * context.machine.correction[2], units)
    if not context.apart and outcome.job.part == "board":
        corners = [
            (x, context.mirror * y) for x, y in crossings(context.job.instrument, nut_front(context.job.instrument))
        ]
        yield (
            f"Test: lift to Z {lift}, go to {at(*min(corners, key=lambda place: place[1]))}. The tip must be over the "
            "nut's corner on your side, as pencilled. Then go to the other corner, and to the far end."
        )
    x0, y0, x1, _ = context.stock_box
    if context.setup.placed:
        yield (
            f"Test: at Z {lift} the blank's corner on your left is at {at(x0, y0)}. If it is off, find out why before "
            "anything turns."
        )
        return
    yield (
        f"Test: at Z {lift} the blank's corner on your left is at {at(x0, y0)}, the one on your right at {at(x1, y0)}. "
        "If one is off, find out why before anything turns."
    )


def _of_bit(name: str, bit: Bit, setup: SetupReport) -> Iterator[str]:
    if bit.weak_diameter < _FINE:
        yield (
            f"{name} is fragile: do not raise the feed; do not touch it. If you hear a click, or if it cuts no more, "
            "it "
            "has broken: stop."
        )
    if not bit.centre_cutting:
        yield f"{name} does not cut at its middle: it must never go straight down into wood."
    if bit.is_pointed:
        off = show(0.1, setup.context.job.units, 1 if setup.context.job.units == "mm" else 3)
        yield f"{name} cuts wider the deeper it goes: a Z that is {off} off shows. Set Z with care."
    hold = setup.context.setup.hold
    if bit.spiral == "up" and (hold is None or setup.context.setup.holders.adheres):
        yield f"{name} pulls chips up, and the wood with them. If the blank lifts anywhere, stop."
    if bit.diameter > _WIDE:
        yield f"{name} is wide: do not exceed its rated speed."


def _of_cuts(cuts: set[CutKind]) -> Iterator[str]:
    if CutKind.face in cuts:
        yield "At the last level it must cut everywhere. A bare stripe means that the blank is too thin there."
    if cuts & HOLES:
        yield "A hole that smokes or squeals: stop, and clear the chips."
    if CutKind.outline in cuts:
        yield "Watch the part at the last levels: if it moves, stop. Take out no loose piece while the bit turns."


def _speed(outcome: Outcome, rpm: float) -> str:
    spindle = outcome.machine.spindle
    by_hand = ", switched on by hand" if spindle.set_by == "hand" else ""
    if not spindle.dialled or not spindle.dial:
        return f"{rpm:.0f} rpm{by_hand}"
    mark, real = min(spindle.dial.items(), key=lambda d: abs(d[1] - rpm))
    return f"dial {mark} ({real} rpm){by_hand}"
