"""The plan of an instrument in words: its steps, what must be ready, what is bought; the same on terminal and page."""

from __future__ import annotations

import math
from typing import assert_never

from toolpaths.common.units import Units, show, size
from toolpaths.found.mark import names_of
from toolpaths.reports.text.measuring import grouped, words_of
from toolpaths.reports.text.words import count, minutes, places, plain, span
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.plan_of_instrument import InstrumentPlan
from toolpaths.workshop.ready import Laid, Ready
from toolpaths.workshop.step import Step, StepKind, Wait
from toolpaths.workshop.to_buy import WIRE_OVER, Goods, Item

ALLOWANCES = (
    "Rough sizes, the extra length of wire and strips, and the room for glue beside a bar are common practice, no "
    "source. Buy rod, tuning machines and pins first, and measure them before their cuts are made."
)
RESTS = (
    "Hours of rest are common practice, no source. For clamping and hardening times of glue and filler, read the "
    "manufacturer's instructions. Parts may rest at the same time."
)
NOT_COUNTED = (
    "The minutes do not include laying the blank on, holding it, finding zero, measuring and checking: book extra time "
    "for them. If a booking is too long, end it between two setups, or divide a job's programs with `write --session`."
)


def titles(plan: InstrumentPlan) -> str:
    """The titles of the jobs, in the order of the plan."""
    return "; ".join(plain(outcome.job.title) for outcome in plan.outcomes.values())


def total(plan: InstrumentPlan) -> str:
    """How long the machine works, and in how many bookings."""
    bookings = count(len(plan.bookings), "booking")
    cut, whole = minutes(plan.cutting), minutes(plan.minutes)
    return f"About {cut} of cutting, {whole} including bit changes, in {bookings} of the machine."


def not_to_be_cut(plan: InstrumentPlan) -> list[tuple[str, list[str]]]:
    """For each job that may not be cut: a sentence that says so and where to look, and what stops it."""
    return [
        (
            f"{plain(outcome.path.name)} may not be cut. Correct it before you follow this plan: "
            f"`neckpath check {plain(outcome.path.name, 300)}` says more.",
            [_stop(outcome, k) for k, f in enumerate(outcome.findings) if f.severity is Severity.stop],
        )
        for outcome in plan.stopped
    ]


def what(step: Step, plan: InstrumentPlan) -> str:
    """What is done in a step, in a sentence or two; `details` has the rest."""
    outcome = plan.outcomes[step.piece]
    match step.kind:
        case StepKind.prepare:
            return _prepare(step, plan)
        case StepKind.wait:
            return _WAITS[step.wait or Wait.part]
        case StepKind.lay:
            return _lay(step, outcome)
        case StepKind.program:
            program = next(p for p in outcome.programs if p.number == step.program)
            bits = " and ".join(program.bits)
            return f"Run {plain(program.name)}, {count(len(program.bits), 'bit').split()[1]} {plain(bits)}."
        case StepKind.measure:
            return "Measure:"
        case StepKind.hand:
            return "" if step.work is None else step.work.what
        case StepKind.try_on:
            jobs = (plan.outcomes[piece].path.name for piece in ("board", "neck") if piece in plan.outcomes)
            return (
                "Lay the board on the neck without glue, centreline on centreline. It must touch everywhere, over "
                "rod and "
                f"bars too. `neckpath fit {' '.join(plain(name, 300) for name in jobs)}` checks the sizes."
            )
        case _:
            assert_never(step.kind)


def details(step: Step, plan: InstrumentPlan) -> list[str]:
    """What a step measures, each with the value that is wanted; empty for any other."""
    units = plan.outcomes[step.piece].job.units
    return [f"{names_of(g)}, {words_of(g, units)}" for g in grouped(step.measures, units)]


def how_long(step: Step) -> str:
    """Minutes of a program, hours of a wait; empty where nobody knows."""
    if step.wait is not None:
        least, most = step.wait.hours
        return f"{least:g} to {most:g} h"
    return minutes(step.minutes) if step.kind is StepKind.program else ""


def ready_rows(ready: Ready, units: Units) -> list[tuple[str, str, str]]:
    """(for what, what, how) of everything that must be ready before the machine is booked."""
    rows = [
        (machine, "waste board", "flat and clean; skim it if it is not level (neckpath surface)")
        for machine in ready.machines
    ]
    for blank in ready.blanks:
        thick = span(blank.thinnest, blank.thickest, units)
        word = f"sheet of {blank.wood}" if blank.setup else f"blank of {blank.wood}"
        sizes = f"{show(blank.length, units)} x {show(blank.width, units)}, {thick} thick"
        how = f"{sizes}; flat, rested, edges straight and square, measured at six places"
        rows.append((blank.piece, word, how))
    for laid in ready.laid:
        rows += [(f"{laid.piece}, {laid.setup}", *row) for row in _laid(laid, units)]
    for screws in ready.screws:
        long = f"{show(screws.longest, units)} under the head at most"
        to = f"{screws.piece}, {' and '.join(screws.setups)}"
        rows.append((to, f"{screws.count} screws", f"{size(screws.diameter, units)} thick, {long}"))
    for pins in ready.pins:
        long = "" if pins.length is None else f", {show(pins.length, units)} long at most"
        rows.append((f"{pins.piece}, {pins.setup}", count(pins.count, "pin"), f"{size(pins.diameter, units)}{long}"))
    for one in ready.bits:
        about = f"{one.bit.shape} {size(one.bit.cut_diameter, units)}, stick-out {show(one.bit.stickout, units)}"
        rows.append((", ".join(one.pieces), f"bit {plain(one.name)}", about))
    return rows


def buy_row(item: Item, units: Units) -> tuple[str, str, str, str]:
    """(for what, what, how many, size) of one line of the list."""

    def long(mm: float | None) -> str:
        return "" if mm is None else show(mm, units)

    def wide(pair: tuple[float, float] | None) -> str:
        return "" if pair is None else span(*pair, units)

    thick = "" if item.diameter is None else size(item.diameter, units)
    number = str(item.count)
    match item.goods:
        case Goods.wood:
            finished = f"{long(item.length)} x {long((item.width or (0.0,))[0])}, {wide(item.height)} thick"
            rough = " x ".join(show(mm, units, 0 if units == "mm" else 2) for mm in item.rough or ())
            name = f"sheet of {item.of} for setup {item.setup}" if item.setup else item.of
            return item.piece, plain(name), number, f"{finished}, squared; rough size to buy, about {rough}"
        case Goods.wire:
            over = f"{show(WIRE_OVER, units, 1 if units == 'mm' else 2)} over at each end counted"
            sizes = f"about {_up(item.length or 0.0, units)} in all, {over}; frets of {wide(item.width)}"
            return item.piece, "fret wire", f"{number} lengths", sizes
        case Goods.rod if item.as_sold:
            body = f"{wide(item.width)} wide, {wide(item.height)} deep"
            return item.piece, f"truss rod, {item.of}", number, f"{long(item.length)} long with its adjuster, {body}"
        case Goods.bar if item.as_sold:
            section = f"{wide(item.width)} wide, {wide(item.height)} high"
            return item.piece, "bars", number, f"{long(item.length)} long, {section}"
        case Goods.rod:
            room = f"channel {wide(item.width)} wide, {wide(item.height)} deep"
            return item.piece, "truss rod", number, f"{long(item.length)} at most in all with the adjuster; {room}"
        case Goods.bar:
            section = f"{wide(item.width)} wide, {wide(item.height)} high"
            return item.piece, "bars", number, f"{long(item.length)} with rounded ends, {section}"
        case Goods.binding:
            section = f"{wide(item.width)} thick, {wide(item.height)} high at least"
            return item.piece, "strips of binding", number, f"{long(item.length)} long, {section}"
        case Goods.filler:
            room = f"{wide(item.width)} across, {wide(item.height)} deep"
            return item.piece, "markers, or filler", number, f"{room}; {(item.volume or 0.0) / 1000:.2f} ml in all"
        case Goods.dots:
            return item.piece, "rod for side dots", f"{number} dots", f"{thick} thick, {long(item.length)} in all"
        case Goods.nut:
            return item.piece, "blank for the nut", number, f"{long(item.length)} long, {wide(item.width)} thick"
        case Goods.tuner:
            return item.piece, "tuning machines", number, f"for holes of {thick}" if thick else ""
        case Goods.bolt:
            return item.piece, "bolts or screws", number, f"for holes of {thick}; their length depends on the body"
        case Goods.locating:
            return item.piece, "pins, board to neck", number, f"{thick} thick"
        case Goods.screw:
            return item.piece, "waste screws", number, f"{thick} thick, {long(item.length)} under the head at most"
        case Goods.pin:
            length = f", {long(item.length)} long at most" if item.length is not None else ""
            return item.piece, "pins for bed or jig", number, f"{thick} thick{length}"
        case _:
            assert_never(item.goods)


# Private

_WAITS = {
    Wait.blank: "Let the planed blank rest on sticks, with air on both faces. If it has moved, plane it again.",
    Wait.part: "Let the freed part rest on sticks. Then check that it is still straight and flat.",
    Wait.inlays: "Let glue and filler harden before you level anything.",
    Wait.bars: "Leave the bars clamped. Then let the neck rest: glue with water in it bows a neck. Check that the glue "
    "face is still flat.",
    Wait.binding: "Leave the binding held until its glue is hard.",
    Wait.board: "Leave the board clamped. Then let the neck rest before you plane, fret or carve it.",
}


def _up(mm: float, units: Units) -> str:
    """A length to buy: the next 10 mm, or the next half inch."""
    step = 10.0 if units == "mm" else 12.7
    return show(math.ceil(mm / step) * step, units, 0 if units == "mm" else 1)


def _prepare(step: Step, plan: InstrumentPlan) -> str:
    blank = next(b for b in plan.ready.blanks if (b.piece, b.setup) == (step.piece, step.setup))
    units = plan.units
    what = f"the sheet for setup {step.setup}" if step.setup else f"the {step.piece}'s blank"
    sizes = f"{show(blank.length, units)} x {show(blank.width, units)}, {span(blank.thinnest, blank.thickest, units)}"
    return f"Plane and square {what} of {plain(blank.wood)}: {sizes} thick."


def _lay(step: Step, outcome: Outcome) -> str:
    context = next(s.context for s in outcome.setups if s.context.setup.name == step.setup)
    if step.place:
        return (
            f"Move the blank along to place {step.place} of setup {step.setup}, onto its pins, and hold it. X and Y "
            "zero stay. Test the place, as the setup sheet says."
        )
    if context.setup.stand is not None:
        words = f"Stand the board with its {context.setup.stand}"
    elif context.apart:
        words = "Lay the sheet on"
    elif context.flipped:
        words = "Turn the blank over about its centreline, onto its face"
    else:
        words = "Lay the blank on" + (" the jig" if context.jig is not None else "")
    zero = "Check that the jig's zero is unchanged" if context.jig is not None else "Find zero and test it"
    return f"{words}, for setup {step.setup}, and hold it. {zero}, as the setup sheet says."


def _laid(laid: Laid, units: Units) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    if laid.jig:
        rows.append(("jig", f"{plain(laid.jig)}: cut, and still screwed down where it was cut"))
    if laid.unplaced:
        rows.append((laid.unplaced, "their places are missing in the job"))
    if laid.clamps:
        rows.append(("clamps", ", ".join(plain(name) for name in laid.clamps)))
    if laid.stops:
        rows.append(("stops", ", ".join(plain(name) for name in laid.stops)))
    if laid.backing:
        rows.append(("backing", f"a flat board, {show(laid.backing, units)} thick"))
    if laid.tape:
        rows.append(("tape", "double-sided, fresh; both faces clean"))
    if laid.vacuum:
        rows.append(("vacuum", "tested with the blank on it"))
    return rows


def _stop(outcome: Outcome, k: int) -> str:
    finding = outcome.findings[k]
    where = places(finding, outcome)
    of = f" of {plain(finding.feature)}" if finding.feature else ""
    return f"{finding.code}{of}: {plain(finding.message, 1000)}" + (f" ({where})" if where else "")
