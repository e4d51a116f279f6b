"""`score_lines: {ends: blank}`: lines out to the blank's parallel edges, and when a mitre box has those edges."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from tests.support.made import made as make
from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.outline import Outline
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.operations.operation import Lines
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.verification.finding import Severity

FAN = {"bass": 670, "treble": 640, "square_fret": 7}


def scored(*features: Any, keys: dict[str, Any] | None = None, **job: Any) -> tuple[ScoreLines, SetupContext]:
    given = {"bit": "scorer", "depth": 0.5, "ends": "blank", **(keys or {})}
    feature = ScoreLines.model_validate(given, context={"units": "mm"})
    s = context(Plane(bit="planer", leave=6), feature, *features, **job)
    placed = s.setup.features[1]
    assert isinstance(placed, ScoreLines)
    return placed, s


def lines(**job: Any) -> Lines:
    feature, s = scored(**job)
    (found,) = feature.operations(s)
    assert isinstance(found, Lines)
    return found


def test_each_line_is_asked_for_as_far_as_the_blank_reaches() -> None:
    # The blank is 70 wide about the centreline, the board 52 at fret 12: 9 mm of waste on each side, 0.5 wide.
    feature, s = scored()
    found = [d for d in feature.demands(s) if "fret 12" in d.name]
    assert [CutKind.line, CutKind.line_in_waste] == [d.kind for d in found]
    assert 0.5 * 52 == pytest.approx(found[0].asked.area, abs=1e-3)
    assert 2 * 0.5 * 9 == pytest.approx(found[1].asked.area, abs=1e-2)
    assert (-35.0, 35.0) == pytest.approx((found[1].asked.bounds[1], found[1].asked.bounds[3]))
    assert found[1].must


def test_the_bit_begins_and_ends_beyond_the_blank() -> None:
    # Its radius and a millimetre past the edge.
    assert [-36.25, 36.25] == pytest.approx(lines().lines[11][:, 1].tolist())


@settings(max_examples=30)
@given(
    wide=st.floats(66, 120),
    off=st.floats(-2, 2),
    lean=st.floats(0, 40),
    handed=st.sampled_from(["right", "left"]),
    length=st.floats(520, 700),
)
def test_what_is_wanted_and_what_is_cut_agree(wide: float, off: float, lean: float, handed: str, length: float) -> None:
    scale = {"bass": 650, "treble": 650 - lean, "square_fret": 8} if lean > 1 else 650
    keys: dict[str, Any] = {
        "scale_length": scale, "handed": handed, "stock": {"length": length, "width": wide, "thickness": 8},
        "setup": {"centre_at": wide / 2 + off, "nut_at": 30},
    }  # fmt: skip
    feature, s = scored(**keys)
    blank = box(*s.instrument_box)
    (operation,) = feature.operations(s)
    assert isinstance(operation, Lines)
    demands = list(feature.demands(s))
    for line, board, waste in zip(operation.lines, demands[::2], demands[1::2], strict=True):
        way = shapely.LineString(line)
        # The bit's middle line lies in what is asked for all across the blank, and comes out of it at both edges.
        both = shapely.union(board.asked, waste.asked).buffer(1e-6)
        assert both.covers(way.intersection(blank))
        assert blank.disjoint(shapely.points(line[0]))
        assert blank.disjoint(shapely.points(line[1]))
        assert blank.buffer(1e-6).covers(waste.asked)
        assert math.hypot(*np.diff(line, axis=0)[0]) > wide


def test_a_fanned_line_leans_on_through_the_waste() -> None:
    line = lines(scale_length=FAN).lines[0]
    board = ScoreLines.model_validate({"bit": "scorer", "depth": 0.5}, context={"units": "mm"})
    s = context(Plane(bit="planer", leave=6), board, scale_length=FAN)
    (short,) = s.setup.features[1].operations(s)  # type: ignore[attr-defined]
    slopes = [np.diff(one, axis=0)[0] for one in (line, short.lines[0])]
    assert slopes[0][0] / slopes[0][1] == pytest.approx(slopes[1][0] / slopes[1][1], abs=1e-12)


@pytest.mark.parametrize(
    ("job", "problem", "hint"),
    [
        (
            {"stock": {"length": 510, "width": 57, "thickness": 8}},
            "at fret 22 the line needs 0.95 mm more wood beyond the board",
            "take a wider blank",
        ),
        (
            {"setup": {"centre_at": 28}},
            "at fret 22 the line needs 1.45 mm more wood beyond the board",
            "move the board in it (`centre_at`)",
        ),
        (
            {"scale_length": FAN, "frets": 6, "setup": {"nut_at": -36.0}},
            "the line of fret 1 would leave the blank at its end",
            "take a longer blank",
        ),
        (
            {"board": {"radius": 305}},
            "slots in a mitre box are sawn before the top is radiused, and the job does not say so",
            f"write `by_hand: {SAWN_FIRST}` at the top of the job",
        ),
        (
            {"board": {"radius": 305}, "by_hand": SAWN_FIRST, "keys": {"below": "radius"}},
            "do not follow a radius",
            "leave `below` out",
        ),
    ],
)
def test_what_no_mitre_box_could_saw_is_refused(job: dict[str, Any], problem: str, hint: str) -> None:
    with pytest.raises(FeatureError) as caught:
        lines(**job)
    assert problem in caught.value.problem
    assert hint in caught.value.hint
    assert "ends" == caught.value.key


def test_a_blank_wide_enough_is_taken() -> None:
    # At fret 22 the board is 56.39 wide: 28.19, the bit's radius and 1 mm to each side. By hand.
    assert lines(stock={"length": 510, "width": 58.9, "thickness": 8})
    with pytest.raises(FeatureError, match="fret 22"):
        lines(stock={"length": 510, "width": 58.87, "thickness": 8})


@pytest.mark.parametrize("ends", ["stock", "blind", {"blank": 2}, True, None])
def test_other_words_for_the_ends_are_refused(ends: Any) -> None:
    with pytest.raises(ValueError):
        scored(keys={"ends": ends})


# When the blank's edges still stand


def told(*setups: list[Any], last: dict[str, Any] | None = None) -> list[tuple[str, str]]:
    """What the hands are told of the lines, scored in the first setup; the features of each setup beside them."""
    feature, s = scored(*setups[0])
    first = s.job.setups[0]
    more = [
        first.model_copy(update={"name": f"later {i}", "features": tuple(f), **(last or {})})
        for i, f in enumerate(setups[1:], 1)
    ]
    job = s.job.model_copy(update={"setups": (first, *more)})
    s = setup_context_of(job, s.machine, s.wood, first)
    return [(work.when, work.what) for work in feature.by_hand(s, near(s))]


OUT = Outline(bit="quarter")
PART = Outline.model_validate({"bit": "quarter", "depth": 3}, context={"units": "mm"})
NONE = Plane(bit="planer", leave=6)


def test_slots_are_sawn_before_the_setup_that_cuts_the_outline() -> None:
    ((when, words),) = told([], [NONE], [OUT])
    assert "before the setup" == when
    assert words.startswith("Before setup later 2: use a mitre box, with a long edge of the blank against its fence. ")
    assert "Saw 22 fret slots, with a saw of 0.58 mm kerf" in words


def test_slots_are_sawn_on_the_blank_where_no_program_cuts_the_outline() -> None:
    ((when, words),) = told([])
    assert "" == when
    assert words.startswith("While the blank is still whole: use a mitre box")


@pytest.mark.parametrize("setups", [([OUT],), ([OUT], [NONE]), ([OUT], [OUT])])
def test_no_mitre_box_is_named_where_the_outline_is_gone_by_then(setups: tuple[list[Any], ...]) -> None:
    ((when, words),) = told(*setups)
    assert "" == when
    assert "Setup face leaves no parallel edge of the blank for a mitre box" in words
    assert "against its fence" not in words


def test_an_outline_that_does_not_go_through_leaves_the_blank_whole() -> None:
    ((_, words),) = told([PART])
    assert "While the blank is still whole" in words
    ((when, words),) = told([PART], [PART], last={"flip": "about x"})
    assert "before the setup" == when


# A whole job

JOB = """\
title: Slots first
units: mm
machine: bench-router
wood: hard maple
handed: {handed}
instrument:
  scale_length: {scale}
  frets: 5
  strings: 4
  nut_spread: 28
  board: {{width: {{nut: 36, 5: 40}}, overhang: 8, thickness: 6}}
stock: {{length: 150, width: {width}, thickness: 6}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 30
    centre_at: {centre}
    hold: {hold}
    features:
      - score_lines: {{bit: scorer, depth: 0.4, ends: blank}}
  - name: free
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 30
    centre_at: {centre}
    hold: tape
    features:
      - outline: {{bit: quarter, tabs: {{count: 4, length: 6, height: 1.5}}}}
"""


def whole(folder: Path, **values: Any) -> Path:
    path = folder / "job.yaml"
    keys = {"handed": "right", "scale": 300, "width": 66, "centre": 33, "hold": "tape", **values}
    path.write_text(JOB.format(**keys), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"handed": "left", "width": 72.5, "centre": 34},
        {"scale": "{bass: 312, treble: 300, square_fret: 3}", "width": 70, "centre": 36},
    ],
)
def test_the_whole_job_passes_its_check(values: dict[str, Any], tmp_path: Path) -> None:
    found = make(whole(tmp_path, **values), Changes(pitch=0.5))
    assert [] == [f"{f.code}: {f.message}" for f in found.findings if f.severity is not Severity.note]
    sawn = [w for w in found.handwork if w.feature == "score_lines"]
    assert ["before the setup"] == [w.when for w in sawn]
    assert "Before setup free: use a mitre box" in sawn[0].what


def test_a_line_that_stops_short_of_the_blank_s_edge_is_found(tmp_path: Path) -> None:
    # The blank's edge lies at y 33, the bit's middle goes to 34.25: one line ends 1.5 mm before the edge.
    layout = lay_out(whole(tmp_path), Changes(pitch=0.5))
    program = layout.own[0][1]
    assert "Y34.25" in program.text
    short = replace(program, text=program.text.replace("Y34.25", "Y31.5"))
    found = prove(layout, {0: short})
    codes = {f.code for f in found.findings if f.severity is Severity.stop}
    assert "uncut" in codes


def test_a_screw_in_a_line_s_way_is_found(tmp_path: Path) -> None:
    # Fret 3 of 300 lies at 300 (1 - 2^(-3/12)) = 47.73.
    screws = "{screws: {at: [[47.7, -29], [47.7, 29], [-20, 29], [100, -29]]}}"
    found = make(whole(tmp_path, hold=screws), Changes(pitch=0.5))
    assert {"keep-out"} <= {f.code for f in found.findings if f.severity is Severity.stop}
    clear = "{screws: {at: [[55, -29], [55, 29], [-20, 29], [105, -29]]}}"
    found = make(whole(tmp_path, hold=clear), Changes(pitch=0.5))
    assert "keep-out" not in {f.code for f in found.findings}
