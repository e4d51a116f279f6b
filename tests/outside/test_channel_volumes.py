"""Volumes of slots, as the written programs cut them, against closed forms and a geometry library.

The shapes here are made from plain boxes, discs and buffered lines, apart from the code that asks and cuts.
A straight slot is cut or not a whole row of cells at a time, so widths here are whole numbers of cells; the rest
falls between cells at random, and volumes agree within 0.2 %.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Severity

CASES = Path(__file__).parents[1] / "cases"

JOB = """
title: One channel
units: mm
machine: bench-router
wood: hard maple
part: neck
instrument:
  scale_length: 330
  frets: 9
  strings: 4
  board: {width: {nut: 36, end: 44}, overhang: 8, thickness: 6}
  neck: {thickness: {1: 24, 9: 26}}
stock: {length: 200, width: 60, thickness: 24}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 30
    hold: tape
    features:
      - truss_rod_channel: KEYS
"""


def judged(path: Path, pitch: float = 0.05) -> dict[str, float]:
    """Volume removed by feature, mm3; a set without a stop."""
    outcome = make(path, Changes(pitch=pitch))
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]
    return {f.name: f.removed_mm3 for s in outcome.setups for f in s.features}


def volume(folder: Path, keys: str) -> float:
    path = folder / "channel.yaml"
    path.write_text(JOB.replace("KEYS", keys), encoding="utf-8")
    return judged(path)["truss_rod_channel"]


def line(x0: float, x1: float, width: float, y: float = 0.0) -> BaseGeometry:
    """A slot with round ends from extreme to extreme: a buffered line."""
    return shapely.LineString([(x0 + width / 2, y), (x1 - width / 2, y)]).buffer(width / 2, 256)


@pytest.mark.parametrize("width", [6.0, 6.35, 9.0, 17.0])
def test_a_rounded_channel_holds_its_stadium_times_its_depth(tmp_path: Path, width: float) -> None:
    # Closed form: a rectangle and two half circles.
    area = width * (110 - width) + math.pi * width**2 / 4
    found = volume(tmp_path, f"{{bit: six, width: {width}, depth: 9.5, from: 10, to: 120}}")
    assert area * 9.5 == pytest.approx(found, rel=2e-3)


@pytest.mark.parametrize("width", [6.4, 12.0])
def test_a_squared_channel_holds_its_rectangle_less_four_corners(tmp_path: Path, width: float) -> None:
    # A corner of radius r leaves r^2 (1 - pi / 4).
    area = 110 * width - 4 * 9 * (1 - math.pi / 4)
    found = volume(tmp_path, f"{{bit: six, width: {width}, depth: 9.5, from: 10, to: 120, ends: squared}}")
    assert area * 9.5 == pytest.approx(found, rel=2e-3)


def test_an_arc_floor_holds_the_segment_of_its_circle_as_well(tmp_path: Path) -> None:
    # The segment of a circle of radius R that half a turn of t spans: R^2 (t - sin t cos t).
    chord, rise, width = 120.0, 1.2, 6.4
    radius = (chord**2 / 4 + rise**2) / (2 * rise)
    t = math.asin(chord / 2 / radius)
    segment = radius**2 * (t - math.sin(t) * math.cos(t))
    # The corners stand at the depth of the ends; what a flat end leaves on the slope is less than 0.3 % here:
    # slope at most 0.04, on average 0.02, over a mean reach of r (1 - pi / 4) = 0.644 mm, of a depth of 9.8.
    whole = width * (chord * 9 + segment) - 4 * 9 * (1 - math.pi / 4) * 9
    keys = "{bit: six, width: 6.4, floor: {ends: 9, middle: 10.2}, from: 5, to: 125, ends: squared}"
    found = volume(tmp_path, keys)
    left = 0.02 * 3 * (1 - math.pi / 4) * width * chord
    assert whole - left == pytest.approx(found, rel=2e-3)
    assert found < whole + 2e-4 * whole


def test_channel_pocket_nut_slot_and_bars_of_a_neck() -> None:
    removed = judged(CASES / "rod_neck.yaml")
    # Fret 7 of 360 mm: 360 (1 - 2^(-7/12)).
    end = 360 * (1 - 2 ** (-7 / 12))
    # Out of the heel at 170, the pocket's path ends 4 mm on, a rectangle with the bit's corners 3 mm further.
    pocket = line(end, 200, 12).union(shapely.box(end + 6, -6, 170, 6)).intersection(shapely.box(0, -9, 174, 9))
    pocket = pocket.union(shapely.box(171, -3, 174, 3).buffer(3, 256))
    channel = line(-5, end + 6, 6.4)
    deep = pocket.area * 11 + channel.difference(pocket).area * 9.5
    assert deep == pytest.approx(removed["truss_rod_channel"], rel=2e-3)
    # The nut slot, 3.3 wide with a bit of 3: 36 mm at the nut and 0.5 mm of margin on each side, 2.5 mm run out to the
    # bit's middle; the channel has taken some of it before. As cut, the run-out ends with corners of radius 1.5.
    nut = shapely.box(-1.8, -21.0, -1.5, 21.0).buffer(1.5, 256)
    assert nut.difference(channel).area * 3 == pytest.approx(removed["nut_slot"], rel=4e-3)
    # The bars follow a taper of 4 mm over 222.94 mm (9 frets and 8 mm): half of it to each side.
    board = 360 * (1 - 2 ** (-9 / 12)) + 8
    rise = 4 / board
    long = 115 * math.hypot(1, rise) - 3.4 * (math.hypot(1, rise) - 1)
    assert 2 * line(0, long, 3.4).area * 5.5 == pytest.approx(removed["reinforcement_slots"], rel=2e-3)


def test_a_left_handed_neck_in_inches_without_arcs_is_clean_and_holds_as_much() -> None:
    removed = judged(CASES / "arc_rod.yaml", 0.002 * 25.4)
    # A pair of rounded slots 0.144 in wide, 0.2 in deep, from 0.4 in to fret 8 of 14 in.
    length = 25.4 * (14 * (1 - 2 ** (-8 / 12)) - 0.4)
    assert 2 * line(0, length, 0.144 * 25.4).area * 5.08 == pytest.approx(removed["reinforcement_slots"], rel=2e-3)
