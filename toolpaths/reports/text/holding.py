"""What holds the blank, in sentences for the sheet and in words for drawings."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import groupby

from toolpaths.common.units import Units, show, show_fine
from toolpaths.gcode.writer.operator_comments import held_words
from toolpaths.job.obstacles import Obstacle, ObstacleKind, Present
from toolpaths.reports.text.words import plain
from toolpaths.verification.outcome import SetupReport

KIND_WORDS = {
    ObstacleKind.keep_out: "keep out",
    ObstacleKind.screw: "screw",
    ObstacleKind.clamp: "clamp",
    ObstacleKind.stop: "stop",
    ObstacleKind.pin: "pin",
}
"""What each kind is called beside its name."""
_ROUND = (ObstacleKind.screw, ObstacleKind.pin)
_SAME = 1e-6


def holding_sentences(setup: SetupReport, units: Units) -> list[str]:
    """What lies under the blank and what holds it, then the place of everything that stands in the way."""
    return list(_sentences(setup, units))


def patches_of(setup: SetupReport) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Tape and vacuum that lie under a part of the blank alone: name and x0, y0, x1, y1 in the setup's frame, mm."""
    hold, (x0, y0, x1, y1) = setup.context.setup.holders, setup.context.stock_box
    out = []
    for name, patch in (("tape", hold.tape), ("vacuum", hold.vacuum)):
        if patch is not None and (patch.x or patch.y):
            (a0, a1), (b0, b1) = patch.x or (x0, x1), patch.y or (y0, y1)
            out.append((name, (max(a0, x0), max(b0, y0), min(a1, x1), min(b1, y1))))
    return out


# Private


def _sentences(setup: SetupReport, units: Units) -> Iterator[str]:
    context, length = setup.context, partial(show, units=units)
    if context.jig is not None:
        yield (
            f"It lies on the jig {plain(context.jig.title)}, job {context.jig.job_hash}, which is cut first and stays "
            "screwed down. Heights above the bed count from its seat."
        )
    if context.setup.under_thickness:
        parts = [(context.setup.under.backing, "a backing")]
        parts += [(context.setup.under_thickness - context.setup.under.backing, "tape")]
        said = " and ".join(f"{name} of {length(thick)}" for thick, name in parts if thick)
        counted = "Z and heights above the bed include it" if context.setup.zero.z == "bed" else "Heights include it"
        yield f"Under the blank: {said}. {counted}."
    elif context.setup.holders.tape and context.setup.zero.z == "bed":
        yield (
            "The tape is counted as 0 thick. Thick tape makes the part thinner by as much: measure it, and give it as "
            f"`hold: {{tape: {{thickness: {show_fine(0.2, units).split()[0]}}}}}`."
        )
    held = held_words(context.setup, frozenset(Present), length)
    if held:
        yield f"Held by {held}. Before the first start, check by hand that the blank does not move."
    else:
        yield "Holding: the job does not say how. Make sure that nothing can move, and that the freed part cannot lift."
    numbered = list(enumerate(setup.obstacles, 1))
    # What a jig has around its seat stands where the drawing has it; its places need not be set up.
    walls = [(n, it) for n, it in numbered if it.of_jig and it.kind is ObstacleKind.keep_out]
    for (name, top), same in groupby(walls, key=lambda one: (one[1].name, one[1].top)):
        numbers = ", ".join(str(n) for n, _ in same)
        yield f"Keep out {numbers}: {plain(name, 60)}, {length(context.above_bed(top))} high, as drawn."
    for number, it in numbered:
        if it.kind not in _ROUND and not (it.of_jig and it.kind is ObstacleKind.keep_out):
            x0, y0, x1, y1 = (length(v) for v in it.bounds)
            words = f"{KIND_WORDS[it.kind].capitalize()} {number}: {plain(it.name, 60)}"
            until = ", taken off once the screws are in" if it.present is Present.before_screws else ""
            yield f"{words}, x {x0} to {x1}, y {y0} to {y1}, {length(context.above_bed(it.top))} high{until}."
    for kind in _ROUND:
        yield from _round([(n, it) for n, it in numbered if it.kind is kind], setup, units)


def _round(found: list[tuple[int, Obstacle]], setup: SetupReport, units: Units) -> Iterator[str]:
    """Screws or pins with their places, those of one size and height together."""
    for size in dict.fromkeys((it.radius, it.top, it.of_jig) for _, it in found):
        mine = [(n, it) for n, it in found if (it.radius, it.top, it.of_jig) == size]
        places = "; ".join(f"{n} at {', '.join(show(v, units).split()[0] for v in it.box[:2])}" for n, it in mine)
        kind, (radius, top, of_jig) = mine[0][1].kind, size
        raised = setup.context.above_bed(top)
        what = f"{KIND_WORDS[kind].capitalize()}{'s' * (len(mine) > 1)} (x and y, {units})"
        if of_jig:  # They stand where the drawing has them, and nobody sets them now.
            what, places = f"{what.split(' (')[0]} of the jig", f"{mine[0][0]} to {mine[-1][0]}, as drawn"
        wide = "heads" if kind is ObstacleKind.screw else "pins"
        # On a jig heights count from its seat, and its own screws are sunk below its top.
        place = "above the bed" if raised > -_SAME else "below the seat"
        yield f"{what}: {places}; {wide} {show(2 * radius, units)} wide, tops {show(abs(raised), units)} {place}."
