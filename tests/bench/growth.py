"""Jobs and texts that grow: as many times the bores, as many lines, as many boards as asked for."""

from __future__ import annotations

import io
import math
from pathlib import Path

_BOARD = """\
title: Board {NAME}
units: mm
machine: {MACHINE}
wood: hard maple
instrument:
  scale_length: {SCALE}
  frets: {FRETS}
  strings: 6
  board: {{width: {{nut: {NUT}, end: {END}}}, overhang: 8, thickness: 6}}
stock: {{length: {LENGTH}, width: 96, thickness: {{min: 6.8, max: 7.1}}}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 30
    hold: tape
    features:
      - plane: {{bit: planer, leave: 6}}
      - score_lines: {{bit: scorer, depth: 0.5}}
      - marker_pockets: {{bit: eighth, shape: round, diameter: 6, depth: 1.8}}
"""


def bores_job(folder: Path, times: int) -> Path:
    """A board with 4 bores times a number, in its waste, for a machine that takes no arcs: each bore is many moves."""
    text = _BOARD.format(NAME=times, MACHINE="hand-dial", SCALE=600, FRETS=12, NUT=40, END=50, LENGTH=420)
    text = text[: text.index("      - score_lines")]
    places = [(-20 + 9 * (i // 2), (-1) ** i * 38) for i in range(4 * times)]
    at = ", ".join(f"[{x}, {y}]" for x, y in places)
    text += f"      - pin_bores: {{bit: eighth, diameter: 6, at: [{at}]}}\n"
    path = folder / f"bores-{times}.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def sweep_job(folder: Path, i: int) -> Path:
    """One of a sweep of boards: scale, frets and widths change from one to the next."""
    scale, frets = 480 + (i % 100) * 1.7, 12 + i % 13
    length = math.ceil(scale * (1 - 2 ** (-frets / 12)) + 8 + 60)
    words = {"NAME": i, "MACHINE": "bench-router", "SCALE": round(scale, 1), "FRETS": frets, "LENGTH": length}
    path = folder / f"board-{i:04d}.yaml"
    path.write_text(_BOARD.format(**words, NUT=36 + i % 9, END=46 + i % 7), encoding="utf-8")
    return path


def peck_text(count: int) -> str:
    """A program of so many short moves."""
    out = io.StringIO()
    out.write("G21\nG17 G90 G94\nG54\nS18000 M3\nG0 X0 Y0 Z5\nF900\n")
    for i in range(count):
        out.write(f"G1 X{0.2 * (i % 2000):.3f} Y{2 * math.sin(i / 9):.3f} Z{-(i % 5) / 10:.3f}\n")
    out.write("G0 Z5\nM5\nM30\n")
    return out.getvalue()
