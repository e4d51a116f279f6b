"""Whether board and neck go onto their jig: a comparison of numbers and shapes, no program involved.

All places are as seen at the machine, where board, neck and jig share the nut line and the centreline; mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Point, box

from toolpaths.common.units import Units, show, show_fine
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.jig import STAYS_UNDER
from toolpaths.job.obstacles import ObstacleKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand, Target
from toolpaths.verification.fits.fit_parts import FitRow, Verdict, plain_size
from toolpaths.verification.holding.cut_reach import lowest_of, swept
from toolpaths.verification.standing_pins import LOOSE, MEETS, bores_of_other_setups, pins_of
from toolpaths.verification.wording import fits as words

Round = tuple[float, float, float]
"""x, y, diameter, mm."""


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A job as it is compared: its hash, its setups, and what is wanted in each, in that setup's frame."""

    job_hash: str
    contexts: Mapping[str, SetupContext]
    target: Target


def fit_jig(jig: LaidOut, works: Sequence[LaidOut]) -> tuple[FitRow, ...]:
    """Every line of the comparison of a jig with the jobs that lie on it; lengths in each job's units."""
    return tuple(row for work in works for row in _of_work(jig, work))


# Private


def _of_work(jig: LaidOut, work: LaidOut) -> Iterator[FitRow]:
    lying = [context for context in work.contexts.values() if context.jig is not None]
    part = next(iter(work.contexts.values())).job.part
    if not lying:
        yield FitRow(f"{part} on the jig", "", "no setup", "", Verdict.look, words.NOT_ON_JIG)
    for context in lying:
        name, own = f"{part}, {context.setup.name}", work.target.demands[context.setup.name]
        if context.jig is None or context.jig.job_hash != jig.job_hash:
            other = "" if context.jig is None else context.jig.job_hash
            yield FitRow(f"{name}: the jig", jig.job_hash, other, "differs", Verdict.no, words.OTHER_JIG)
            continue
        yield from _pins(name, jig, work, context)
        yield from _screws(name, jig, context)
        yield from _stops(name, jig, context)
        yield _depth(name, context, own)
        yield from _jig_screws(name, context, own)


def _pins(name: str, jig: LaidOut, work: LaidOut, context: SetupContext) -> Iterator[FitRow]:
    """Each pin in a hole of the jig, and in a bore of the work's other setups."""
    units, holes = context.job.units, _rounds(jig, CutKind.jig_pin)
    of_job = [(other, work.target.demands[setup]) for setup, other in work.contexts.items()]
    across = [(*bore.middle, bore.across) for bore in bores_of_other_setups(context, of_job)]
    for pin in pins_of(context, work.target.demands[context.setup.name]):
        x, y = pin.box[:2]
        own = (x, y, 2 * pin.radius)
        yield _met(f"{name}: {pin.name}", own, holes, units, words.JIG_HOLE_OFF, loose=MEETS)
        lies = (*context.on_blank(x, y), own[2])
        yield _met(f"{name}: bore of {pin.name}", lies, across, units, words.BORE_OFF, loose=LOOSE)


def _screws(name: str, jig: LaidOut, context: SetupContext) -> Iterator[FitRow]:
    """A pilot hole under every screw, deep enough."""
    units, holes = context.job.units, _rounds(jig, CutKind.pilot_hole)
    places = [place for group in context.setup.holders.screws for place in group.at]
    if not places:
        return
    worst = max(min((math.dist(place, hole[:2]) for hole in holes), default=math.inf) for place in places)
    verdict = Verdict.fits if worst <= MEETS else Verdict.no if holes else Verdict.look
    off = show_fine(worst, units) if math.isfinite(worst) else "none"
    counts = f"{len(holes)} pilot holes", f"{len(places)} screws"
    yield FitRow(f"{name}: screws", *counts, off, verdict, words.NO_PILOT)


def _stops(name: str, jig: LaidOut, context: SetupContext) -> Iterator[FitRow]:
    """The dowels of each stop touch the blank."""
    units, blank = context.job.units, box(*context.stock_box)
    dowels = _rounds(jig, CutKind.stop_pin)
    for stop in context.setup.holders.stops:
        place = box(stop.x[0], stop.y[0], stop.x[1], stop.y[1]).buffer(MEETS)
        mine = [d for d in dowels if place.covers(Point(d[0], d[1]).buffer(d[2] / 2))]
        gaps = [Point(x, y).distance(blank) - d / 2 for x, y, d in mine]
        if not mine:
            yield FitRow(f"{name}: {stop.name}", "no dowel", "a stop", "", Verdict.look, words.NO_DOWEL)
            continue
        worst = max(gaps, key=abs)
        verdict = Verdict.fits if abs(worst) <= MEETS else Verdict.no
        count, gap = f"{len(mine)} dowel{'s' * (len(mine) > 1)}", show_fine(worst, units)
        yield FitRow(f"{name}: {stop.name}", count, "blank's edge", gap, verdict, words.DOWELS_OFF)


def _depth(name: str, context: SetupContext, demands: Sequence[Demand]) -> FitRow:
    """How deep the work's cuts go into the jig."""
    units = context.job.units
    deepest = max((d.reach - lowest_of(d) for d in demands if d.may and not d.asked.is_empty), default=0.0)
    deep, allowed = max(0.0, deepest), context.breakthrough
    stays = 0.0 if context.jig is None else context.jig.under - deep
    verdict = Verdict.fits if deep <= allowed + 1e-6 and stays >= STAYS_UNDER else Verdict.no
    todo = words.too_deep_in_jig(STAYS_UNDER, units)
    depths = f"{show(allowed, units)} allowed", f"{show(deep, units)} deep"
    return FitRow(f"{name}: cuts into the jig", *depths, f"{show(stays, units)} stay", verdict, todo)


def _jig_screws(name: str, context: SetupContext, demands: Sequence[Demand]) -> Iterator[FitRow]:
    """How far everything that turns stays from the heads of the jig's own screws."""
    units, clear = context.job.units, context.setup.clearance
    heads = [it for it in context.obstacles if it.of_jig and it.kind is ObstacleKind.screw]
    if not heads:
        return
    shapes = np.array([Point(it.box[0], it.box[1]).buffer(it.radius) for it in heads])
    limits = np.full(len(heads), math.inf)
    for one in swept(context, demands):
        limits = np.minimum(limits, one.limits(shapes, clear))
    least = float(np.min(limits - np.array([it.top for it in heads])))
    verdict = Verdict.fits if least >= clear - 1e-6 else Verdict.no
    said = "nothing near" if math.isinf(least) else show_fine(least, units)
    what, wanted = f"{name}: the jig's screws", f"{show_fine(clear, units)} wanted"
    yield FitRow(what, f"{len(heads)} screws", wanted, said, verdict, words.JIG_SCREW_NEAR)


def _met(what: str, own: Round, holes: Sequence[Round], units: Units, todo: str, *, loose: float) -> FitRow:
    """A line for what belongs into the nearest of some holes, which may be so much wider, mm."""
    near = min(holes, key=lambda hole: math.dist(hole[:2], own[:2]), default=None)
    if near is None:
        return FitRow(what, "none", _words(own, units), "", Verdict.no, todo)
    off, wider = math.dist(near[:2], own[:2]), near[2] - own[2]
    verdict = Verdict.fits if off <= MEETS and -1e-3 <= wider <= loose else Verdict.no
    return FitRow(what, _words(near, units), _words(own, units), show_fine(off, units), verdict, todo)


def _rounds(jig: LaidOut, kind: CutKind) -> list[Round]:
    """The holes of a kind that a jig wants."""
    return [
        (*demand.middle, math.sqrt(4 * demand.asked.area / math.pi))
        for demands in jig.target.demands.values()
        for demand in demands
        if demand.kind is kind
    ]


def _words(hole: Round, units: Units) -> str:
    return f"{show(hole[2], units)} at {plain_size(hole[0], units)}, {plain_size(hole[1], units)}"
