"""How a long blank is moved along to its next place, and how the move is tested, in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from shapely import box

from toolpaths.common.units import Units, show, show_fine
from toolpaths.gcode.program import Program
from toolpaths.job.cut_kind import HOLES, CutKind
from toolpaths.job.placed import OVERLAP, PLAY, Lie
from toolpaths.reports.text.holding import holding_sentences
from toolpaths.reports.text.words import plain, signed
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.outcome import Outcome, SetupReport

_SEEN = frozenset({CutKind.line, CutKind.fret_slot, *HOLES})
"""What is seen well enough from above to drive the tip over it."""


def moved(outcome: Outcome, setup: SetupReport, lie: Lie) -> list[str]:
    """From taking the blank off to the test of its new place, in order."""
    context, units = setup.context, outcome.job.units
    here = context.at(lie)
    before = max((one.shift for one in context.setup.placed if one.shift < lie.shift), default=0.0)
    out = [
        "Switch the spindle off, and isolate it from its supply. Clean the bed and the underside of the blank.",
        f"Take the blank off its holders. Move it {show(lie.shift - before, units)} to the left, to place "
        f"{plain(lie.name)}: {show(lie.shift, units)} from where it lay first. {_pins(setup, lie, units)}",
        "X and Y zero stay where they are: do not set them again.",
        *holding_sentences(replace(setup, context=here), units),
        *_test(outcome, setup, lie),
    ]
    return [words for words in out if words]


def lies_in(outcome: Outcome, setup: SetupReport) -> list[Lie]:
    """The places in which a setup's blank lies one after another; none where it stays."""
    own = (p.lie for p in outcome.programs if p.setup == setup.context.setup.name and p.lie is not None)
    return list(dict.fromkeys(own))


def places_words(outcome: Outcome, setup: SetupReport) -> str:
    """The places of a setup's blank in a sentence without a full stop; empty where it stays."""
    lies, units = lies_in(outcome, setup), outcome.job.units
    if not lies:
        return ""
    said = [plain(lie.name) + (f" ({show(lie.shift, units)} further left)" if lie.shift else "") for lie in lies]
    return f"The blank is moved along: {', '.join(said)}. Zero and holders are drawn as in {plain(lies[0].name)}"


def moved_before(outcome: Outcome, program: Program) -> bool:
    """Whether the blank is moved along to its next place before a program."""
    earlier = [p for p in outcome.programs if p.setup == program.setup and p.number < program.number and not p.on_bed]
    return program.lie is not None and program.lie.number > 1 and all(p.lie != program.lie for p in earlier)


# Private


def _pins(setup: SetupReport, lie: Lie, units: Units) -> str:
    """Which holes of the blank come over those of the bed."""
    bed = [d for d in setup.demands if d.kind is CutKind.bed_hole]
    if not bed:
        return ""
    places = " and ".join(f"x {show(d.middle[0] + lie.shift, units)}, y {show(d.middle[1], units)}" for d in bed)
    return (
        f"Put the pins through its holes at {places} (from the nut line) into the holes of the bed. It must go down "
        "without force and must not turn."
    )


def _test(outcome: Outcome, setup: SetupReport, lie: Lie) -> Iterator[str]:
    """What an earlier place has cut, as a mark: where the controller must show the tip to be."""
    here, units = setup.context.at(lie), outcome.machine.units
    play = PLAY if setup.context.setup.play is None else setup.context.setup.play
    near = [d for d in setup.demands if d.kind in _SEEN and _is_mark(d, setup, lie)]
    lift = signed((here.travel_height - here.zero[2]) * here.machine.correction[2], units)
    if not near:
        yield "Test: nothing that was cut lies near enough. Pencil a cross before the move, and drive to it after."
        return
    mark = max(near, key=lambda d: (d.asked.bounds[2], d.name))
    x, y = _point(mark)
    px, py = here.told(x, y)
    over, near_by = _called(mark, outcome.job.units), show_fine(max(play, 0.1), outcome.job.units)
    yield (
        f"Test: lift to Z {lift}, go to X {signed(px, units)} Y {signed(py, units)}. The tip must be over {over}, "
        f"within {near_by} as far as you can see. If not, look at the pins: chips under the blank, or the wrong holes."
    )


def _is_mark(demand: Demand, setup: SetupReport, lie: Lie) -> bool:
    """Whether the place before has cut it, the bit gets there in this place, and no pin stands in it."""
    x0, _, x1, _ = demand.asked.bounds
    low, high = lie.low - OVERLAP / 2, lie.low + OVERLAP / 2
    if demand.kind is CutKind.bed_hole or not (low <= (x0 + x1) / 2 and x1 <= high):
        return False
    x, y = demand.middle
    bed = [d.middle for d in setup.demands if d.kind is CutKind.bed_hole]
    return all(math.dist((x, y), (bx + lie.shift, by)) > 1.0 for bx, by in bed)


def _called(mark: Demand, units: Units) -> str:
    if mark.kind in (CutKind.line, CutKind.fret_slot):
        return f"the end of the line of {plain(mark.name)}, on your side"
    x, y = (show(v, units).split()[0] for v in mark.middle)
    return f"the middle of {plain(mark.name)}, at x {x}, y {y} from the nut line"


def _point(mark: Demand) -> tuple[float, float]:
    """The middle of a hole; of a line, its end on the operator's side, in the setup's frame, mm."""
    if mark.kind not in (CutKind.line, CutKind.fret_slot):
        return mark.middle
    x0, y0, x1, _ = mark.asked.bounds
    end = mark.asked.intersection(box(x0, y0, x1, y0 + 0.5))
    return float(end.centroid.x), float(y0)
