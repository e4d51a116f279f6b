"""An invented short neck of 300 mm as a job's text, cut from both sides: quick, whatever its back's features are."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from toolpaths.job.changes import Changes
from toolpaths.job.setup_context import SetupContext
from toolpaths.pipeline.design import _context
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

HEEL = "heel: {from: 110, to: 150, width: 46, thickness: 21, blend: 18}"
HEAD = "headstock: {length: 75, width: 50, thickness: 14, blend: 22}"
VOLUTE = "volute: {height: 2, at: nut, length: 30}"
BITS = """\
  long: {shape: flat, diameter: 6, flutes: 2, cutting_length: 24, shank: 6, stickout: 30, material: carbide}
  round6: {shape: ball, diameter: 6, flutes: 2, cutting_length: 24, shank: 6, stickout: 30, material: carbide}
  round4: {shape: ball, diameter: 4, flutes: 2, cutting_length: 18, shank: 6, stickout: 28, material: carbide}
  nose: {shape: bull, diameter: 6, corner: 1.5, flutes: 2, cutting_length: 24, shank: 6, stickout: 30}
  three: {shape: flat, diameter: 3, flutes: 2, cutting_length: 18, shank: 3, stickout: 24, material: carbide}
"""


def carved(
    *features: str, parts: tuple[str, ...] = (HEEL, HEAD), back: str = "round", face: tuple[str, ...] = (),
    hand: str = "right", units: str = "mm", leave: str = "18.5 mm",
) -> str:  # fmt: skip
    """The job's text. `parts`: heel, headstock and the like, a line each; `features` of the back, `face` before it."""
    own = "".join(f"    {part}\n" for part in parts)
    asked = "".join(f"      - {feature}\n" for feature in features)
    before = "".join(f"      - {feature}\n" for feature in face)
    handed = "handed: left\n" if hand == "left" else ""
    text = f"""\
title: Short neck
units: mm
part: neck
machine: bench-router
wood: black cherry
{handed}instrument:
  scale_length: 300
  frets: 8
  strings: 4
  board: {{width: {{nut: 34, end: 40}}, overhang: 6, thickness: 5}}
  neck:
    thickness: {{1: 18, 8: 19}}
    back: {back}
{own}stock: {{length: 290, width: 84, thickness: 19}}
bits:
{BITS}setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 105
    hold: tape
    features:
      - plane: {{bit: planer, leave: {leave}}}
{before}  - name: back
    flip: about x
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 105
    hold: tape
    features:
{asked}"""
    return in_inches(text) if units == "in" else text


def in_inches(text: str) -> str:
    """The same job with its units named: every bare number of the instrument, the stock and the places in mm."""
    text = text.replace("units: mm", "units: in")

    def named(match: re.Match[str]) -> str:
        return f"{match[1]}{match[2]} mm"

    keys = r"(?:scale_length|nut|end|overhang|thickness|from|to|width|blend|length|height|diameter|corner|shank|every|"
    keys += r"cutting_length|stickout|nut_at|depth|scallop|offset)"
    text = re.sub(rf"\b({keys}: )(\d+(?:\.\d+)?)(?![\d.])(?! ?mm)", named, text)
    text = re.sub(r"(leave: )(\d+(?:\.\d+)?)(?![\d.])(?! ?mm)", named, text)
    return re.sub(r"(thickness: \{)1: 18, 8: 19", r"\g<1>1: 18 mm, 8: 19 mm", text)


def written(folder: Path, text: str) -> Path:
    """The path of the job's file."""
    path = folder / "neck.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def cut(folder: Path, text: str, pitch: float = 0.5) -> Outcome:
    """The job made and judged."""
    return make(written(folder, text), Changes(pitch=pitch))


def said(outcome: Outcome) -> list[str]:
    """What was found above a note."""
    return [f"{f.code}: {f.message}" for f in outcome.findings if f.severity is not Severity.note]


def scene(folder: Path, text: str, key: str) -> tuple[Any, SetupContext]:
    """(the feature of a key, its setup's context)."""
    loaded = load_job(written(folder, text))
    for setup in loaded.job.setups:
        for feature in setup.features:
            if feature.key == key:
                return feature, _context(loaded, setup)
    raise AssertionError(key)
