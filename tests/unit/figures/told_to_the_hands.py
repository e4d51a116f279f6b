"""Lengths that the list for the hands tells of the job, the bits and the finished part."""

from __future__ import annotations

import math
import re

import numpy as np

from tests.unit.figures.on_the_wood import NEAR, wall
from tests.unit.figures.told import Told, near
from toolpaths.instrument.necks import back_depth
from toolpaths.job.cut_kind import CutKind
from toolpaths.operations.cutting_forces import deflection
from toolpaths.operations.machine_stiffness import stiffness_of


def frets(told: Told) -> bool:
    fret = int(re.findall(r"fret (\d+)", told.text)[-1])
    scale = told.cut.outcome.job.instrument.scale_length
    return not isinstance(scale, float) or near((told.mm[0], scale * (1 - 2 ** (-fret / 12))))


def carved(told: Told) -> bool:
    """Thickness with the board: straight between the stations of the job, the heel its own."""
    job = told.cut.outcome.job
    neck, scale = job.instrument.neck, job.instrument.scale_length
    assert neck is not None
    assert isinstance(scale, float)
    at = {s.fret: s.thickness for s in neck.thickness}
    xs = [scale * (1 - 2 ** (-n / 12)) for n in at]
    for n, mm in zip(map(int, re.findall(r"fret (\d+)", told.text)), told.mm, strict=False):
        x = scale * (1 - 2 ** (-n / 12))
        blended = neck.heel is not None and x > neck.heel.start - neck.heel.blend
        if not blended and abs(mm - np.interp(x, xs, list(at.values()))) > 0.02:
            return False
    return "heel" not in told.text or (neck.heel is not None and near((told.mm[-1], neck.heel.thickness)))


def dropped(told: Told, fret: int, beyond: float = 0.0) -> float:
    """How far the top of one radius lies lower at the edges there: the sagitta of the board's width, mm."""
    instrument = told.cut.outcome.job.instrument
    width = instrument.board.width

    def place(n: int) -> float:
        return float(instrument.scale_length * (1 - 2 ** (-n / 12)))

    there = place(instrument.frets) + instrument.board.overhang if width.at == "end" else place(width.at)
    half = (width.nut + (width.there - width.nut) * (place(fret) + beyond) / there) / 2
    radius = instrument.board.radius
    return 0.0 if radius is None else radius - math.sqrt(radius**2 - half**2)


def sawn(told: Told) -> bool:
    """The saw's kerf, the depth below the surface, what is left of it in the middle and at the edges, where those
    differ, the stop, and the wood that stays under the last slot's ends."""
    job = told.cut.outcome.job
    kerf, below, left, *edges, stop, under = told.mm
    line = next(f for s in job.setups for f in s.features if f.key == "score_lines")
    remains = max(line.depth - dropped(told, 1), 0.0)  # type: ignore[attr-defined]
    thick = job.instrument.board.thickness - dropped(told, job.instrument.frets)
    right = near((kerf, job.saw.kerf), (left, below - line.depth), (stop, below), (under, thick - below))  # type: ignore[attr-defined]
    return right and near(*((edge, below - remains) for edge in edges))


def radiused(told: Told) -> bool:
    board = told.cut.outcome.job.instrument
    return near((told.mm[0], board.board.radius), (told.mm[-1], dropped(told, board.frets, board.board.overhang)))


def gives_way(told: Told) -> bool:
    """60 N/mm2 (from memory) x the last skim's wood a second / the speed of the edges; yield of machine and bit.

    P = F v and Hooke's law: elementary mechanics. Rounded to what is printed.
    """
    machine, out = told.cut.outcome.machine, []
    for row in (f for s in told.cut.outcome.setups for f in s.features):
        bit, c = told.cut.outcome.job.bits[row.bit], row.cutting
        deep = min(row.deepest_mm, bit.cutting_length)
        rate = c.finish_allowance * deep * c.along_wall(deep, bit.diameter)
        force = 60.0 * rate / (math.pi * bit.diameter * c.rpm)
        out.append(force / stiffness_of(machine).value + deflection(bit, force, deep))
    digit = 0.00254 if told.cut.outcome.job.units == "in" else 0.001
    return any(abs(told.mm[0] - by) <= 0.51 * digit for by in out)


def widened(told: Told) -> bool:
    return near((told.mm[0], told.cut.outcome.machine.runout))


def bits_of(told: Told) -> bool:
    return all(any(near((mm, bit)) for bit in told.bits()) for mm in told.mm)


def bar(told: Told) -> bool:
    slots = next(f for s in told.cut.outcome.job.setups for f in s.features if f.key == "reinforcement_slots")
    width = slots.width  # type: ignore[attr-defined]
    return near((told.mm[-2], width - 0.2), (told.mm[-1], width - 0.1))


def bar_end(told: Told) -> bool:
    entry = next(h for h in told.cut.outcome.handwork if "Round the bar's ends" in h.what)
    width, length = entry.figures[0].value, entry.figures[2].value
    return near((told.mm[0], length - width))


def left_on_back(told: Told) -> bool:
    """What the rough back leaves, and its ridges: on the centreline, between the kerfs, in the wood."""
    job = told.cut.outcome.job
    (feature,) = (f for s in job.setups for f in s.features if CutKind.rough_back in f.cuts)
    setup = next(s.name for s in job.setups if feature in s.features)
    # Kerfs lie at whole multiples of their distance.
    every = [f.every for s in job.setups for f in s.features if CutKind.depth_kerf in f.cuts]  # type: ignore[attr-defined]
    x = np.array([a for a in np.linspace(42.0, 58.0, 33) if all(abs(a - round(a / e) * e) > 2.5 for e in every)])
    y = np.linspace(-6.0, 6.0, 161)
    places = np.array([(a, b) for a in x for b in y])
    back = back_depth(job.instrument, places[:, 0], places[:, 1])
    over = told.cut.wood(setup).heights(places) - back
    return abs(over.min() - told.mm[0]) <= NEAR and over.max() <= sum(told.mm) + NEAR


def kerf_left(told: Told) -> bool:
    kerfs = next(f for s in told.cut.outcome.job.setups for f in s.features if CutKind.depth_kerf in f.cuts)
    return near((told.mm[0], kerfs.leave))  # type: ignore[attr-defined]


def nut_wall(told: Told) -> bool:
    """The wall on the bridge's side, in the wood; without a length it is at the nut line."""
    entry = next(h for h in told.cut.outcome.handwork if h.what.startswith("Fit the nut"))
    wide = entry.figures[0]
    x = 0.0 if not told.mm else told.mm[0] if "bridge" in told.text.split("toward")[1] else -told.mm[0]
    return abs(x - wide.at[0] - wall(told.cut.wood(wide.setup), wide, 1.0)) <= NEAR


def seat(told: Told) -> bool:
    """The heel's seat begins at its wall in the wood, and ends where the heel does; the rest is the instrument's."""
    job = told.cut.outcome.job
    setup = next(s for s in told.cut.outcome.setups if any(d.kind is CutKind.heel_seat for d in s.demands))
    wood, (start, to, blend) = told.cut.wood(setup.context.setup.name), told.mm
    z = next(float(d.floor.height(np.zeros(1), np.zeros(1))[0]) for d in setup.demands if d.kind is CutKind.heel_seat)
    before, within, last = wood.heights(np.array([[start - 0.05, 1.0], [start + 0.05, 1.0], [to - 0.6, 1.0]]))
    stands = before > z + 0.5 and abs(within - z) <= NEAR and abs(last - z) <= NEAR
    heel = job.instrument.neck.heel
    return bool(stands) and near((start, heel.start), (to, heel.to), (blend, heel.blend))


def pins_long(told: Told) -> bool:
    """As deep as the holes are in the wood, and as much of the board as lies under the lowest slot over one of them."""
    job = told.cut.outcome.job
    setup = next(s for s in told.cut.outcome.setups if any(d.feature == "locating_pins" for d in s.demands))
    wood, board = told.cut.wood(setup.context.setup.name), job.instrument.board
    rooms = []
    for demand in (d for d in setup.demands if d.feature == "locating_pins"):
        x, y = demand.middle
        over, floor = wood.heights(np.array([[x + 2.0, y], [x, y]]))
        drop = board.radius - math.sqrt(board.radius**2 - y * y)
        rooms.append(over - floor + board.thickness - job.saw.depth - drop)
    return abs(told.mm[0] - min(rooms)) <= NEAR


def allowance(told: Told) -> bool:
    lowest = min(e.moves.end[:, 2].min() for e in told.cut.after.values() if not e.on_bed)
    return near((told.mm[0], -lowest))
