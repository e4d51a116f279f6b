"""Work that is turned over, sits on pins and lies askew: `cases/two_sided_neck.yaml` and faults put into it."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.job.setup_context import setup_context_of
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

JOB = Path(__file__).parents[1] / "cases" / "two_sided_neck.yaml"
CHANGES = Changes(pitch=0.4)


def outcome_of(tmp_path: Path, *edits: tuple[str, str]) -> Outcome:
    text = JOB.read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    return make(path, CHANGES)


def codes(outcome: Outcome) -> set[tuple[str, str]]:
    return {(f.code, str(f.severity)) for f in outcome.findings}


def test_both_sides_are_cut_without_a_finding_in_programs_of_their_own(tmp_path: Path) -> None:
    outcome = outcome_of(tmp_path)
    assert () == outcome.findings
    assert [
        ("01-face-planer.ngc", False),
        ("02-face-pinner.ngc", False),
        ("03-back-pinner.ngc", True),
        ("04-back-pinner.ngc", False),
        ("05-back-long.ngc", False),
    ] == [(p.name, p.on_bed) for p in outcome.programs]


def test_tabs_on_a_part_without_a_long_straight_edge_are_refused(tmp_path: Path) -> None:
    # From the nut 35 mm straight to where the heel begins to widen, which ends at 60; a headstock of 40 mm.
    short = ("heel: {from: 110, to: 150,", "heel: {from: 50, to: 80,"), ("length: 70,", "length: 40,")
    with pytest.raises(JobError) as refused:
        outcome_of(tmp_path, *short)
    assert (
        "outline.tabs",
        "tabs must be 20 mm away from corners, and one side has no straight edge twice as long",
    ) in [(p.key, p.problem) for p in refused.value.problems]


def test_the_written_set_passes_when_it_is_handed_in_again(tmp_path: Path) -> None:
    outcome = outcome_of(tmp_path)
    paths = []
    for program in outcome.programs:
        (tmp_path / program.name).write_text(program.text, encoding="utf-8")
        paths.append(tmp_path / program.name)
    assert () == verify(tmp_path / "job.yaml", paths, CHANGES).findings


def test_turned_over_the_centreline_is_measured_from_the_other_edge() -> None:
    layout = lay_out(JOB, CHANGES)
    assert 34.0 == layout.contexts["face"].centre_at
    assert 70.0 - 34.0 == layout.contexts["back"].centre_at


def test_depths_of_the_second_side_are_distances_from_the_face_that_lies_on_the_bed() -> None:
    layout = lay_out(JOB, CHANGES)
    assert 18.0 - 5.0 == layout.contexts["face"].at_depth(5.0)
    assert 5.0 == layout.contexts["back"].at_depth(5.0)
    assert 18.0 == layout.contexts["back"].top


def test_the_second_side_sees_the_work_mirrored(tmp_path: Path) -> None:
    outcome = outcome_of(
        tmp_path,
        ("{x: -90, y: 0, diameter: 5}", "{x: -90, y: 4, diameter: 5}"),
        ("    skew: {points: [[-50, -36.4], [150, -35.4]]}\n", ""),
    )
    assert () == outcome.findings
    trace = read(next(p for p in outcome.programs if p.on_bed).text)
    low = trace.end[trace.end[:, 2] < -1]
    first = low[low[:, 0] < 0]
    assert -4.0 == pytest.approx(float(np.median([first[:, 1].min(), first[:, 1].max()])), abs=0.02)


def test_a_skew_carries_the_pins_with_the_edge_that_was_measured(tmp_path: Path) -> None:
    """The blank's edge lies 36 mm from the centreline and the pins 260 mm apart, however the blank lies."""
    trace = read(next(p for p in outcome_of(tmp_path).programs if p.on_bed).text)
    low = trace.end[trace.end[:, 2] < -1][:, :2]
    left, right = (low[keep] for keep in (low[:, 0] < 0, low[:, 0] > 0))
    a, b = ((part.min(axis=0) + part.max(axis=0)) / 2 for part in (left, right))
    (x0, y0), (x1, y1) = (-50.0, -36.4), (150.0, -35.4)
    length = math.hypot(x1 - x0, y1 - y0)
    for x, y in (a, b):
        assert 36.0 == pytest.approx(((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length, abs=0.02)
    assert 260.0 == pytest.approx(math.dist(a, b), abs=0.02)


def test_clamps_are_judged_where_they_stand_at_the_machine(tmp_path: Path) -> None:
    clamp = "    keep_out: [{name: cam, x: [165, 175], y: [-5, 5], height: 25}]\n    features:\n      - bed_bores"
    outcome = outcome_of(tmp_path, ("    features:\n      - bed_bores", clamp))
    assert ("keep-out", "stop") in codes(outcome)


@pytest.mark.parametrize(
    ("old", "new", "code", "severity"),
    [
        ("{x: 170, y: 0, diameter: 6}], depth: 5", "{x: 170, y: 0.1, diameter: 6}], depth: 5", "pins-apart", "stop"),
        ("{x: 170, y: 0, diameter: 6}], depth: 5", "{x: 170, y: 0, diameter: 7}], depth: 5", "pins-apart", "stop"),
        (
            "at: [{x: -90, y: 0, diameter: 5}, {x: 170, y: 0, diameter: 6}], depth: 5",
            "at: [{x: -90, y: 0, diameter: 5}], depth: 5",
            "pins-alike",
            "warn",
        ),
        ("{x: -90, y: 0, diameter: 5}", "{x: -90, y: 0, diameter: 6}", "pins-alike", "warn"),
    ],
)
def test_pins_that_do_not_meet_or_fit_two_ways_are_told(
    tmp_path: Path, old: str, new: str, code: str, severity: str
) -> None:
    outcome = outcome_of(tmp_path, (old, new))
    assert {(code, severity)} == codes(outcome)
    lines = (tmp_path / "job.yaml").read_text(encoding="utf-8").splitlines()
    assert "bed_bores" in lines[outcome.findings[0].job_line - 1]


def test_pins_within_the_tolerance_pass(tmp_path: Path) -> None:
    old = "{x: 170, y: 0, diameter: 6}], depth: 5"
    assert () == outcome_of(tmp_path, (old, old.replace("y: 0", "y: 0.04"))).findings


@pytest.mark.parametrize(
    ("depth", "severity", "said"),
    [
        (11, "stop", "1.00 mm"),
        pytest.param(9, "stop", "overlap 1.00 mm", marks=pytest.mark.slow),
        pytest.param(12.5, "warn", "2.50 mm", marks=pytest.mark.slow),
        (14, None, ""),
    ],
)
def test_a_web_between_the_two_sides_is_measured(tmp_path: Path, depth: float, severity: str | None, said: str) -> None:
    """A pocket 10 mm deep from the face has its floor 10 mm from the plane that the turned work lies on."""
    pocket = "{bit: pinner, diameter: 8, frets: [3], depth: "
    outcome = outcome_of(
        tmp_path,
        ("      - pin_bores", f"      - marker_pockets: {pocket}10}}\n      - pin_bores"),
        ("      - outline", f"      - marker_pockets: {pocket}{depth}}}\n      - outline"),
    )
    web = [f for f in outcome.findings if f.code == "wood-between" and "marker" in f.message]
    if severity is None:
        assert [] == web
        return
    (finding,) = web
    assert severity == str(finding.severity)
    assert said == finding.said.measured
    assert "marker_pockets 2" == finding.feature


def test_setups_that_disagree_about_the_blank_are_told(tmp_path: Path) -> None:
    with pytest.raises(JobError) as told:
        outcome_of(tmp_path, ("    hold: tape\n    skew", "    centre_at: 35\n    hold: tape\n    skew"))
    (problem,) = told.value.problems
    assert "the blank is not in the same place as in the first setup" == problem.problem


def test_a_header_says_that_the_work_is_turned_askew_or_not_there(tmp_path: Path) -> None:
    programs = outcome_of(tmp_path).programs
    text = next(p for p in programs if p.on_bed).text.replace(")\n(+ ", " ")
    assert "(Take the blank off first. This program cuts the bare bed.)" in text
    assert re.search(r"\(The blank lies turned 0\.286 degrees counter-clockwise, and 0\.15 mm nearer to the", text)
    assert "face down" not in text
    later = next(p for p in programs if p.setup == "back" and not p.on_bed).text
    assert "(The blank lies face down. Turn it over about its centreline" in later


def test_nothing_of_a_web_is_judged_in_waste(tmp_path: Path) -> None:
    """The witness ring lies over a bore of the first side: neither is part of the neck."""
    assert not any(f.severity is Severity.stop for f in outcome_of(tmp_path).findings)


def test_a_setup_without_a_second_side_measures_from_its_own_face() -> None:
    layout = lay_out(JOB, CHANGES)
    loaded = layout.loaded
    context = setup_context_of(loaded.job, loaded.machine, loaded.wood, loaded.job.setups[0])
    assert (19.0, 18.0, 18.0) == (context.top, context.face, context.glue)


@pytest.mark.parametrize(
    ("ring", "bore", "refused"),
    # 18 thick: a bore of 17 leaves 1 over it, and one without a depth comes through.
    [("1.2", ", depth: 17", False), ("1.0", ", depth: 17", True), ("0.6", ", depth: 17", True), ("0.6", "", False)],
)
def test_a_ring_that_leaves_wood_over_the_bore_is_refused(tmp_path: Path, ring: str, bore: str, refused: bool) -> None:
    edits = (("depth: 1.2}", f"depth: {ring}}}"), (", depth: 17", bore))
    if not refused:
        assert not outcome_of(tmp_path, *edits).stopped
        return
    with pytest.raises(JobError, match="of wood would still cover the bore") as told:
        outcome_of(tmp_path, *edits)
    assert "make the ring 1.20 mm deep, or let the bore go through" in told.value.problems[0].hint
