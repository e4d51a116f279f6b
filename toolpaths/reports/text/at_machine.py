"""Work at the machine beside running programs: planing, finding and testing zero, steps before a program, care of bits.

Common practice, no source, where no source is named.
"""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import show
from toolpaths.gcode.program import Program
from toolpaths.instrument.boards import crossings
from toolpaths.instrument.fans import nut_front
from toolpaths.job.bit import Bit
from toolpaths.job.setup_context import planed_to
from toolpaths.reports.text.line_words import line_words
from toolpaths.reports.text.tables import touch_words
from toolpaths.reports.text.words import signed, span, the
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import finished_in

_FINE = 1.6


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
    """How zero is found, and how it is tested, step by step."""
    context, units = setup.context, outcome.machine.units
    z = context.setup.zero
    first = next((p for p in outcome.programs if p.setup == context.setup.name), None)
    out = list(_of_jig(setup))
    if not context.apart and not out:
        out.append(
            f"Pencil the nut line square across the blank, {show(context.setup.nut_at, units)} from its left end, "
            f"and the centreline along it, {show(context.centre_at, units)} from the edge on your side."
        )
    if context.jig is None:
        x = {"nut": "the nut line", "stock end": "the left end of the blank"}.get(z.x, "")
        y = {"centreline": "the centreline", "stock edge": "the edge on your side"}.get(z.y, "")
        out.append(
            f"X: bring the bit's middle over {x}, and set X 0. Y: over {y}, and set Y 0. Offset {context.setup.offset}."
        )
    if z.x == "stock end" or z.y == "stock edge":
        out.append("At an edge touch it with the side of the bit, and allow for its radius.")
    if first is not None and first.touch_off is not None:
        out.append(
            f"Z: with the first bit in, bring its tip down onto {the(first.touch_off.surface)} on a slip of paper; "
            f"enter Z {signed(first.touch_off.z, units)}."
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


def _of_jig(setup: SetupReport) -> Iterator[str]:
    """How zero is found for a jig, once, and that it is there already for what lies on one."""
    context = setup.context
    if context.job.part == "jig":
        yield (
            "Screw the jig down for good: it is not taken off before all that lies on it is cut. Pencil where the nut "
            "line and the centreline are to be. This zero is found once, and holds for all that lies on the jig."
        )
    elif context.jig is not None:
        yield (
            f"X and Y are the jig's ({context.jig.title}, job {context.jig.job_hash}), in offset "
            f"{context.setup.offset}: they are set already. Where its nut line and its centreline cross, the "
            "controller must show X 0 Y 0: look before each setup."
        )
        yield "Lay the blank on the seat, against its dowels and on its pins; take out those of other setups before."


def _test(outcome: Outcome, setup: SetupReport) -> Iterator[str]:
    """Places that are known without a program: the nut's corner, and the blank's end."""
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
            f"Test: lift to Z {lift}, go to {at(*min(corners, key=lambda place: place[1]))}: the tip must stand over "
            "the nut's corner on your side, as pencilled. Then go to the other corner, and to the far end."
        )
    x0, y0, x1, _ = context.stock_box
    yield (
        f"Test: at Z {lift} the blank's corner on your left lies at {at(x0, y0)}, that on your right at {at(x1, y0)}. "
        "If one is off, find out why before anything turns."
    )


def before(outcome: Outcome, setup: SetupReport, program: Program) -> list[str]:
    """All that must be done before a program runs, in order, in sentences."""
    own = [p for p in outcome.programs if p.setup == program.setup]
    earlier = [p for p in outcome.programs if p.number < program.number]
    features = {f.name for f in setup.context.setup.features}
    out: list[str] = []
    if program is own[0]:
        out += [h.what for h in outcome.handwork if h.when == "before the setup" and h.feature in features]
    if setup.context.flipped and not program.on_bed and all(p.on_bed for p in own if p.number < program.number):
        out.append("Turn the blank over about its centreline, onto its face: the left end stays left.")
    if earlier:
        ended = finished_in(outcome, earlier[-1])
        out += [h.what for h in outcome.handwork if h.when == "before the next" and h.feature in ended]
    touch = touch_words(outcome, program.number)
    return [*dict.fromkeys(out), touch[0].upper() + touch[1:] + "."]


def bits_said(outcome: Outcome, setup: SetupReport) -> list[str]:
    """Cautions for the bits of a setup, each once."""
    names = dict.fromkeys(name for p in outcome.programs if p.setup == setup.context.setup.name for name in p.bits)
    bits = [(name, setup.context.bits[name]) for name in names if name in setup.context.bits]
    return list(
        dict.fromkeys([*(words for name, bit in bits for words in _of_bit(name, bit, setup)), *line_words(setup)])
    )


def _of_bit(name: str, bit: Bit, setup: SetupReport) -> Iterator[str]:
    if bit.weak_diameter < _FINE:
        yield f"{name} is fragile: do not raise the feed; do not touch it."
    if not bit.centre_cutting:
        yield f"{name} does not cut at its middle: it must never go straight down into wood."
    if bit.is_pointed:
        off = show(0.1, setup.context.job.units)
        yield f"{name} cuts wider the deeper it goes: a Z that is {off} off shows. Set Z with care."
    hold = setup.context.setup.hold
    if bit.spiral == "up" and (hold is None or setup.context.setup.holders.adheres):
        yield f"{name} pulls chips up, and the wood with them: see that it is held down."
    if bit.diameter > 12.7:
        yield f"{name} is wide: do not exceed its rated speed."
