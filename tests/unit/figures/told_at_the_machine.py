"""Lengths that the sheet tells of the job, the blank and the machine."""

from __future__ import annotations

import math
import re

import numpy as np

from tests.unit.figures.on_the_wood import NEAR
from tests.unit.figures.told import Told, near
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.outcome import SetupReport
from toolpaths.workshop.measures import measures


def controller(told: Told, setup: SetupReport, place: tuple[float, float]) -> tuple[float, float]:
    """Which coordinates bring the bit to a place: from the moves of the setup's own programs, and where they cut."""
    own = [e for e in told.cut.after.values() if e.context.setup.name == setup.context.setup.name]
    there, here = [], []
    for e in own:
        last = np.r_[np.diff(e.moves.parent) != 0, True]
        there.append(e.moves.end[last, :2])
        here.append(e.as_written.end[e.moves.parent[last], :2])
    a, b = np.concatenate(there), np.concatenate(here)
    way, *_ = np.linalg.lstsq(np.column_stack([a, np.ones(len(a))]), b, rcond=None)
    x, y = np.array([*place, 1.0]) @ way
    return float(x), float(y)


def corner(told: Told) -> bool:
    """Both corners of the blank, or one of the nut, as the controller shows them."""
    setup = told.setup
    assert setup is not None
    x0, y0, x1, _ = setup.context.stock_box
    lift, *xy = told.mm
    width = told.cut.outcome.job.instrument.board.width.nut
    places = [(x0, y0), (x1, y0)] if len(xy) == 4 else [(0.0, -width / 2)]
    wanted = [v for place in places for v in controller(told, setup, place)]
    return near((lift, setup.context.travel_height - setup.context.zero[2]), *zip(xy, wanted, strict=True))


def planed(told: Told) -> bool:
    """What is left, and what comes off the blank where it was thinnest and thickest."""
    job = told.cut.outcome.job
    leaves = [f.leave for s in job.setups for f in s.features if f.key == "plane"]  # type: ignore[attr-defined]
    i = next(k for k, leave in enumerate(leaves) if near((leave, told.mm[0])))
    before = (job.stock.thickness.min, job.stock.thickness.max) if i == 0 else (leaves[i - 1],) * 2
    return near(*zip(told.mm[1:], [b - leaves[i] for b in before], strict=False))


def scale(told: Told) -> bool:
    """The scale length of the job, or the two of a fan."""
    length = told.cut.outcome.job.instrument.scale_length
    return near(*zip(told.mm, [length] if isinstance(length, float) else [length.bass, length.treble], strict=True))


def lies(told: Told) -> bool:
    assert told.setup is not None
    x0, y0, *_ = told.setup.context.stock_box
    return near((told.mm[0], -x0), (told.mm[1], -y0))


def stock(told: Told) -> bool:
    assert told.setup is not None
    context = told.setup.context
    x0, y0, x1, y1 = context.stock_box
    return near((told.mm[0], x1 - x0), (told.mm[1], y1 - y0), (told.mm[2], context.least), (told.mm[-1], context.top))


def enter(told: Told) -> bool:
    """The surface that is touched lies there, in the wood, before the program runs."""
    assert told.setup is not None
    context = told.setup.context
    high = {"the bed": 0.0, "the stock top": context.top, "the planed face": context.face}
    surface = next(h for words, h in high.items() if words in told.text)
    return near((told.mm[-1], surface - context.zero[2]))


def uncalibrated(told: Told) -> bool:
    """Equal temperament: fret n stands scale (1 - 2^(-n/12)) from the nut, and an axis is off in proportion."""
    scale, fret = told.cut.outcome.job.instrument.scale_length, int(re.findall(r"fret (\d+)", told.text)[0])
    length = scale if isinstance(scale, float) else (scale.bass + scale.treble) / 2
    off, way, moved = told.mm
    return abs(moved - off / way * length * (1 - 2 ** (-fret / 12))) <= NEAR


def travel(told: Told) -> bool:
    assert told.setup is not None
    runs = told.setup.runs.values()
    return near((told.mm[0], max(run.moves.end[:, 2].max() for run in runs)))


def kept_out(told: Told) -> bool:
    """A box of the job's file."""
    assert told.setup is not None
    setup = told.setup.context.setup
    boxes = [*setup.keep_out, *setup.holders.clamps, *setup.holders.stops]
    return any(near(*zip(told.mm, (*k.x, *k.y, k.height), strict=True)) for k in boxes)


def screwed(told: Told) -> bool:
    """Places of the job's screws as they lie, the width of their heads, and their tops: on the floor they stand on."""
    assert told.setup is not None
    setup, context = told.setup.context.setup, told.setup.context
    places, (wide, top) = told.places(), told.mm
    groups = [
        g for g in setup.holders.screws
        if near((wide, g.head), (top, context.above_bed(context.top - g.sunk + g.head_height)))
    ]  # fmt: skip
    # Screws whose holes the router bores lie askew as the blank does; others where they are.
    return any(
        near(*zip(places, (v for at in g.at for v in at), strict=True)) for g in groups if len(g.at) == len(places) / 2
    )


def pinned(told: Told) -> bool:
    assert told.setup is not None
    places, (wide, top) = told.places(), told.mm
    holes = [d.asked for d in told.setup.demands if d.kind is CutKind.bed_hole]
    true = [v for h in holes if near((wide, 2 * math.sqrt(h.area / math.pi))) for v in
            told.setup.context.as_it_lies(h.centroid.x, h.centroid.y)]  # fmt: skip
    pins = told.setup.context.setup.holders.pins
    return pins is not None and near((top, pins.height), *zip(places, true, strict=True))


def standing(told: Told) -> bool:
    """How high pins may stand: within the other side's bores, 1 mm below all that is cut around them, in the wood."""
    most = []
    for setup in told.cut.outcome.setups:
        for hole in (d.asked for d in setup.demands if d.kind is CutKind.bed_hole):
            assert setup.standing is not None
            assert setup.beneath is not None
            centre = np.array([[hole.centroid.x, hole.centroid.y]])
            turn, far = np.linspace(0, 2 * np.pi, 90), math.sqrt(hole.area / math.pi) + 1.0
            around = np.vstack([centre, centre + far * np.column_stack([np.cos(turn), np.sin(turn)])])
            under = setup.context.glue - setup.beneath[1].heights(centre * [1, -1])[0]
            most.append(min(under, setup.standing.heights(around).min() - 1.0))
    return abs(told.mm[0] - min(most)) <= NEAR


def driven(told: Told) -> bool:
    """Sizes of screws, as the job gives them."""
    screws = [g for s in told.cut.outcome.job.setups for g in s.holders.screws]
    sizes = list(dict.fromkeys((g.diameter, g.into_bed) for g in screws))[: len(told.mm) // 2]
    return near(*zip(told.mm, (v for size in sizes for v in size), strict=True))


def askew(told: Told) -> bool:
    assert told.setup is not None
    return near((told.mm[0], told.setup.context.skew[1]))


def thinnest(told: Told) -> bool:
    thick = told.cut.outcome.job.stock.thickness
    return near((told.mm[0], thick.min), (told.mm[1], thick.max))


def kerf_at(told: Told) -> bool:
    """A kerf's middle: on the centreline the wood drops as far before the place as behind it."""
    assert told.setup is not None
    x = told.mm[0] + np.arange(-4.0, 4.0, 0.01)
    h = told.cut.wood(told.setup.context.setup.name).heights(np.column_stack([x, 0 * x]))
    low = x[h < (h.min() + h.max()) / 2]
    return h.max() - h.min() > 1.0 and abs((low[0] + low[-1]) / 2 - told.mm[0]) <= NEAR


def measured_at(told: Told) -> bool:
    """The place of the thickness that the measuring list asks for."""
    assert told.setup is not None
    figures = [f for row in measures(told.cut.outcome, told.setup) for f in row.measure.figures]
    return any(near((told.mm[0], f.at[0])) for f in figures if f.kind == "thickness")
