"""A board and a neck of one invented instrument, written into a folder, each line of them changeable."""

from __future__ import annotations

from pathlib import Path

INSTRUMENT = """\
units: mm
scale_length: 584
frets: 19
strings: 4
nut_spread: 28
board:
  width: {nut: 36, 12: 44}
  overhang: 8
  thickness: 6
neck:
  thickness: {1: 20.5, 12: 22}
  back: round
  margin: 0.5
  heel: {from: 330, to: 400, width: 52, thickness: 25, blend: 20}
  headstock: {length: 150, width: 66, thickness: 14}
"""

BOARD = """\
title: Board of the pair
units: mm
machine: bench-router
wood: hard maple
instrument: pair.yaml
stock: {length: 480, width: 64, thickness: 8}
bits:
  scorer: {shape: flat, diameter: 0.6, flutes: 2, cutting_length: 2.5, shank: 3.175, stickout: 15, material: carbide}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 30
    hold: tape
    features:
      - plane: {bit: planer, leave: 6}
      - score_lines: {bit: scorer, depth: 0.5}
      - marker_pockets: {bit: eighth, shape: round, diameter: 6, depth: 1.8}
      - pin_bores: {bit: eighth, diameter: 4, depth: 4, at: [[20, 14.5], [380, -14.5], [-16, 0]]}
      - outline: {bit: quarter, tabs: {count: 4, length: 8, height: 1.5}}
"""

NECK = """\
title: Neck of the pair
units: mm
part: neck
machine: bench-router
wood: hard maple
instrument: pair.yaml
stock: {length: 600, width: 90, thickness: 26}
bits:
  long: {shape: flat, diameter: 6.35, flutes: 2, cutting_length: 32, shank: 6.35, stickout: 38, material: carbide}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 175
    hold: tape
    features:
      - plane: {bit: planer, leave: 25}
      - truss_rod_channel: {bit: quarter, width: 6.4, depth: 9.5, from: -5, to: 350}
      - reinforcement_slots: {bit: eighth, width: 3.4, depth: 6.5, offset: 11, from: 12, to: 340}
      - pin_bores: {bit: eighth, diameter: 4, depth: 8, at: [[20, 14.5], [380, -14.5], [-165, 0]]}
      - tuner_bores: {bit: quarter, diameter: 10, at: [[-60, 22], [-100, 22], [-60, -22], [-100, -22]]}
      - outline: {bit: long, depth: 24}
"""


def pair(folder: Path, *, board: dict[str, str] | None = None, neck: dict[str, str] | None = None) -> tuple[Path, Path]:
    """The two jobs, with texts replaced (old: new); an instrument of its own for a job whose numbers change."""
    (folder / "pair.yaml").write_text(INSTRUMENT, encoding="utf-8")
    return _job(folder, "board", BOARD, board or {}), _job(folder, "neck", NECK, neck or {})


def _job(folder: Path, name: str, text: str, changes: dict[str, str]) -> Path:
    instrument = INSTRUMENT
    for old, new in changes.items():
        assert old in text or old in instrument, old
        text, instrument = text.replace(old, new), instrument.replace(old, new)
    if instrument != INSTRUMENT:
        (folder / f"{name}-instrument.yaml").write_text(instrument, encoding="utf-8")
        text = text.replace("instrument: pair.yaml", f"instrument: {name}-instrument.yaml")
    path = folder / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    return path
