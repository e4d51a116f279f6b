"""Gauges for the carver: the finished back's section at a few stations, as cards to cut out and hold against the neck.

A gauge is a U: its hollow is the finished back, its two legs reach up beside the neck. It fits where both legs end
flush with the glue face (the joint with the board) and the hollow touches all around.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show
from toolpaths.features.neck_kinds.depth_kerfs import DepthKerfs
from toolpaths.geometry.arc_fit import arcs_in
from toolpaths.instrument.fans import fret_x
from toolpaths.instrument.kerf_stations import kerf_stations
from toolpaths.instrument.necks import SOFT_VEE, back_depth, half_width_at, neck_end, neck_of
from toolpaths.job.job import Instrument, Job
from toolpaths.reports.drawings_out.marks import WORDS, Line, Mark, OutlineMark, OutputDrawing, TextMark, in_order
from toolpaths.reports.text.words import plain

FRETS = (1, 5, 9, 12)
"""Stations at which a back is usually gauged, beside the heel. Common practice, no source."""
LEG = 15.0
"""Width of the legs beside the hollow, mm."""
BACK_OF_CARD = 18.0
"""Card left under the hollow, mm: stiff enough in veneer or 3 mm board."""
_GAP = 8.0
_ROW = 186.0
"""Cards in a row are at most so wide, so that a sheet of A4 holds them, mm."""
_STEPS = 720
_FIT = 5e-4
"""How far the arcs of a hollow may stray from the formula, mm."""


@dataclass(frozen=True, slots=True)
class TemplateStation:
    """One gauge: its name, place along the neck, half width and depth of the section, mm."""

    name: str
    x: float
    half: float
    depth: float


def stations_of(instrument: Instrument, kerfs: Sequence[float] = ()) -> tuple[TemplateStation, ...]:
    """Where the back is gauged: frets 1, 5, 9, 12 as far as the neck reaches, and the heel where it is full.

    Where kerfs are cut across the back, at these x, mm, the gauges stand at the kerfs nearest to those frets.

    Raises FeatureError where the instrument has no neck.
    """
    neck = neck_of(instrument)
    end = neck_end(instrument)
    places = [(f"fret {n}", fret_x(instrument, n)) for n in FRETS if n <= instrument.frets]
    places = [(name, x) for name, x in places if x <= end]
    if kerfs:
        nearest = {min(range(len(kerfs)), key=lambda k: abs(kerfs[k] - x)): name for name, x in places[::-1]}
        places = [(f"kerf {k + 1}, by {name}", kerfs[k]) for k, name in sorted(nearest.items())]
    if neck.heel is not None:
        places.append(("heel", neck.heel.start))
    out: list[TemplateStation] = []
    for name, x in places:
        at = np.array([x])
        half = float(half_width_at(instrument, at)[0])
        depth = float(back_depth(instrument, at, np.zeros(1))[0])
        if half <= 0 or depth <= 0:
            raise FeatureError(f"the neck has no back at {name}", "see its thickness there", "thickness")
        out.append(TemplateStation(name, x, half, depth))
    return tuple(out)


def section(instrument: Instrument, station: TemplateStation) -> Array:
    """The finished back at a station, (N, 2) mm: y from bass to treble edge, depth below the glue face."""
    t = np.linspace(0.0, np.pi, _STEPS + 1)
    parts = -np.cos(t)
    back = neck_of(instrument).back
    if back != "round":
        # The corners of a profile of straight pieces are met exactly.
        knots = np.array([w for w, _ in (SOFT_VEE if back == "soft vee" else back)])
        parts = np.unique(np.round(np.concatenate([parts, knots, -knots]), 12))
    y = np.clip(parts, -1.0, 1.0) * station.half
    return np.column_stack([y, back_depth(instrument, np.full(len(y), station.x), y)])


def kerfs_of(job: Job) -> list[float]:
    """x of the kerfs across the back that a job cuts, mm; none where it cuts none."""
    for feature in (f for setup in job.setups for f in setup.features):
        if isinstance(feature, DepthKerfs):
            return kerf_stations(job.instrument, feature.every, job.bits[feature.bit].cut_diameter)
    return []


def templates_of(job: Job) -> OutputDrawing:
    """The gauges of a job's neck, in rows, mm."""
    instrument, units = job.instrument, job.units
    neck = neck_of(instrument)
    layers: dict[str, list[Mark]] = {"gauges": [], "centres": [], WORDS: []}
    x, top, lowest = 0.0, 0.0, 0.0
    for station in stations_of(instrument, kerfs_of(job)):
        width, height = 2 * (station.half + LEG), station.depth + BACK_OF_CARD
        if x > 0 and x + width > _ROW:
            x, top = 0.0, lowest - _GAP
        _card(layers, instrument, station, (x + width / 2, top), units)
        lowest = min(lowest, top - height)
        x += width + _GAP
    trim = f" Before that the shaft is {show(neck.margin, units)} wider on each side." if neck.margin > 0 else ""
    lines = (
        f"{plain(job.title, 80)}: gauges for the back",
        "The ends of both legs are the reference edge: flush with the glue face, the joint with the board.",
        f"They fit the neck trimmed to the board.{trim}",
        "Cut on the line; carve until the hollow touches all around and the legs come flush, then stop.",
    )
    return OutputDrawing(in_order(layers), lines)


def _card(
    layers: dict[str, list[Mark]],
    instrument: Instrument,
    station: TemplateStation,
    at: tuple[float, float],
    units: Units,
) -> None:
    """One card; `at` is the middle of its reference edge."""
    cx, top = at
    hollow = section(instrument, station) * np.array([1.0, -1.0]) + np.array([cx, top])
    outer, under = station.half + LEG, top - station.depth - BACK_OF_CARD
    # Counter-clockwise: down the bass side, along the bottom, up the treble side, back through the hollow.
    ring = np.concatenate(
        [
            [[cx - outer, top], [cx - outer, under], [cx + outer, under], [cx + outer, top]],
            _from_face(hollow, top)[::-1],
        ]
    )
    layers["gauges"].append(OutlineMark(arcs_in(ring, _FIT)))
    floor = top - station.depth
    layers["centres"] += [
        Line((cx, floor), (cx, floor - 4.0)),
        Line((cx - outer, top - 1.5), (cx - outer + 4, top - 1.5)),
        Line((cx + outer - 4, top - 1.5), (cx + outer, top - 1.5)),
    ]
    thick = station.depth + instrument.board.thickness
    words = layers[WORDS]
    words.append(TextMark(cx, floor - 7.6, 3.0, station.name, "middle"))
    words.append(TextMark(cx, floor - 11.4, 2.1, f"{show(station.depth, units)} below the glue face", "middle"))
    words.append(TextMark(cx, floor - 14.8, 2.1, f"{show(thick, units)} with the board", "middle"))
    words.append(TextMark(cx, top + 1.6, 2.1, f"glue face, {show(2 * station.half, units)} wide", "middle"))


def _from_face(hollow: Array, top: float) -> Array:
    """The hollow from the glue face down: a back with depth at its edges (a heel) gets its upright sides."""
    first, last = hollow[0], hollow[-1]
    before = [[first[0], top]] if abs(first[1] - top) > 1e-9 else []
    after = [[last[0], top]] if abs(last[1] - top) > 1e-9 else []
    return np.concatenate([np.reshape(before, (-1, 2)), hollow, np.reshape(after, (-1, 2))])
