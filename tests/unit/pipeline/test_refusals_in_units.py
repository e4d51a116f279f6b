"""A refusal speaks in the job's units, wherever in the package it comes from."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out

JOB = """\
title: Inches
units: UNITS
PARTmachine: bench-router
wood: mahogany
instrument:
  scale_length: 344 mm
  frets: 12
  strings: 4
  board: {width: {nut: 40 mm, end: 46 mm}, overhang: 9 mm, thickness: 5 mm}
NECKstock: {length: 400 mm, width: 80 mm, thickness: THICK mm}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 150 mm
    hold: tape
    features:
      - FEATURE
"""
HEAD = "headstock: {drawing: a.svg, thickness: 14 mm}"
NECK = f"  neck: {{thickness: {{1: 20 mm, 12: 21 mm}}, back: round, margin: 0.5 mm, {HEAD}}}\n"
MARKERS = "marker_pockets: {bit: sixteenth, frets: [5], depth: 1 mm, "
OPEN = '<path d="M 0 0 h 10 v 10 h -9"/>'
CASES = {
    "two at one fret": (MARKERS + "doubles: [5], shape: round, diameter: 4 mm, double_spacing: 60 mm}", "", "in apart"),
    "in a row": (
        MARKERS + "doubles: [5], shape: round, diameter: 4 mm, double_spacing: 90 mm, row: {edge: bass, offset: 8 mm}}",
        "", "in apart",
    ),
    "no room": (MARKERS + "shape: trapezoid, inset: 30 mm, gap: 2 mm}", "", "an inset of 1.181 in"),
    "an open line": ("pocket: {bit: sixteenth, drawing: a.svg, depth: 1 mm, place: [90 mm, 0]}", OPEN, "0.396 in"),
    "a headstock far off": (
        "truss_rod_channel: {bit: eighth, width: 4 mm, depth: 6 mm, from: 10 mm, to: 200 mm}",
        '<rect x="-90" y="-20" width="60" height="40"/>', "ends at x -1.181 in",
    ),
}  # fmt: skip


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", CASES)
def test_lengths_are_in_the_job_s_units(tmp_path: Path, name: str, units: str) -> None:
    feature, shapes, said = CASES[name]
    neck = feature.startswith("truss")
    text = JOB.replace("FEATURE", feature).replace("UNITS", units).replace("THICK", "24" if neck else "5")
    text = text.replace("PART", "part: neck\n" if neck else "").replace("NECK", NECK if neck else "")
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="-100 -100 200 200">'
    (tmp_path / "a.svg").write_text(f"{svg}{shapes}</svg>", encoding="utf-8")
    with pytest.raises(JobError) as caught:
        lay_out(tmp_path / "job.yaml", Changes())
    (problem,) = caught.value.problems
    words = f"{problem.problem} {problem.hint}"
    assert "\u2039" not in words
    assert re.search(rf"\d {units}\b", words), words
    # `draw it in mm from the nut` is what the drawing must be.
    assert units == "mm" or (not re.search(r"\d mm\b", words) and said in words), words
