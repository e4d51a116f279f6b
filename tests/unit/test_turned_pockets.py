"""A drawn pocket with short arcs in its way, at many turns and on every machine: the bit never leaves it.

The text is read by a reader of its own; the inset of the pocket comes from another library than the product's.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from shapely import Polygon

from tests.support.text_moves import TextReader
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity

BIT, SCALE, PLACE, DEPTH, TOP = 2.0, 1.405, (178.3, 7.7), 2.2, 8.0
JOB = """\
title: A turned pocket
units: mm
machine: {MACHINE}
wood: hard maple
handed: left
instrument:
  scale_length: 584
  frets: 19
  strings: 4
  board: {width: {nut: 36, 12: 44}, overhang: 8, thickness: 6}
stock: {length: 480, width: 64, thickness: 8}
bits:
  one: {shape: flat, diameter: {BIT}, flutes: 2, cutting_length: 6, shank: 3, stickout: 29}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 30
    hold: tape
    {SKEW}
    features:
      - pocket: {bit: one, drawing: fin.svg, depth: 2.2, place: [178.3, 7.7], rotate: {TURN}, scale: 1.405}
"""
# An invented fin: its rings have arcs of hundredths of a millimetre at the bit's radius.
FIN = [(-6.3, 3.4), (5.1, 4.2), (7.4, -0.6), (1.9, -1.3), (-0.8, -5.2), (-5.7, -2.2)]
SKEW = "skew: {points: [[40.5, 0.63], [440.1, -1.19]]}"
SHIPPED = ("bench-router", "hand-dial", "shop-gantry", "small-frame")
# The first eight are turns at which a short arc was written as a whole circle on one machine or another; measured.
DEGREES = (19.19, 23.69, 55.19, 68.69, 77.69, 109.19, 203.69, 298.19, 1.19, 150.0)


def job(folder: Path, machine: str, turned: float, skew: str = "") -> Path:
    way = " L ".join(f"{x} {y}" for x, y in FIN)
    page = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="-20 -15 40 30">'
    drawn = f'{page}<path fill="none" stroke="black" d="M {way} Z"/></svg>'
    (folder / "fin.svg").write_text(drawn, encoding="utf-8")
    text = JOB
    for key, value in {"MACHINE": machine, "BIT": BIT, "SKEW": skew, "TURN": turned}.items():
        text = text.replace("{" + key + "}", str(value))
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    return folder / "job.yaml"


def pocket(turned: float) -> Polygon:
    """The fin on the board, mm: its drawing's y points down, the board's up."""
    upright = Polygon([(SCALE * x, -SCALE * y) for x, y in FIN])
    seen = shapely.affinity.translate(shapely.affinity.rotate(upright, turned, origin=(0, 0)), *PLACE)
    # A left-handed board is the other's mirror image.
    return shapely.affinity.scale(seen, 1.0, -1.0, origin=(0, 0))


def strays(folder: Path, name: str, degrees: float, skew: str = "") -> int:
    """How many moves below the top take the bit's side out of the pocket by more than 0.02 mm."""
    unit = 25.4 if load_machine(name).units == "in" else 1.0
    layout = lay_out(job(folder, name, degrees, skew), Changes())
    (turn, shift), (zx, zy, _) = layout.contexts["face"].skew, layout.contexts["face"].zero
    # Chords, last digits and the pocket's own tolerance make less than that.
    room = pocket(degrees).buffer(-BIT / 2 + 0.02)
    out = deep = 0
    for move in TextReader().read(layout.own[0][1].text.splitlines()):
        if not min(move.start[2], move.end[2]) * unit < TOP - 0.01:
            continue
        deep += 1
        x, y, _ = np.array(list(move.points(0.1 / unit))).T * unit
        x, y = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn) - shift
        out += not np.all(shapely.contains_xy(room, x + zx, y + zy))
    assert deep > 20
    return out


@pytest.mark.parametrize("skew", ["", pytest.param(SKEW, marks=pytest.mark.slow)])
@pytest.mark.parametrize("name", SHIPPED)
def test_the_bit_stays_in_the_pocket_at_every_turn(tmp_path: Path, name: str, skew: str) -> None:
    turns = DEGREES[1::2] if skew else DEGREES
    assert dict.fromkeys(turns, 0) == {d: strays(tmp_path, name, d, skew) for d in turns}


def test_such_a_pocket_passes_its_judge(tmp_path: Path) -> None:
    # A turn that was stopped when a short arc became a whole circle; measured.
    outcome = make(job(tmp_path, "bench-router", 109.19))
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]
