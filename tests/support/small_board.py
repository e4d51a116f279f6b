"""An invented board of five frets at 300 mm, as a job's text: quick to cut, whatever its features are."""

from __future__ import annotations

from pathlib import Path


def small_board(
    *features: str, radius: str = "", bits: str = "", hold: str = "tape", length: int = 124, nut_at: int = 18,
    machine: str = "bench-router",
) -> str:  # fmt: skip
    """The job's text. `bits`: entries of `bits`, a line each; it is planed to 5 mm, then come the features."""
    top = f", radius: {radius}" if radius else ""
    own = "".join(f"  {line}\n" for line in bits.splitlines())
    asked = "".join(f"      - {feature}\n" for feature in ("plane: {bit: planer, leave: 5}", *features))
    return f"""\
title: Small board
units: mm
machine: {machine}
wood: black cherry
instrument:
  scale_length: 300
  frets: 5
  strings: 5
  board: {{width: {{nut: 40, 5: 44}}, overhang: 6, thickness: 5{top}}}
stock: {{length: {length}, width: 70, thickness: 6}}
{"bits:" + chr(10) + own if own else ""}setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: {nut_at}
    hold: {hold}
    features:
{asked}"""


def written(folder: Path, text: str) -> Path:
    """The path of a job's file in a folder."""
    path = folder / "board.yaml"
    path.write_text(text, encoding="utf-8")
    return path
