"""Heel and headstock cut from the back, whole jobs by the product's own judge: `cases/neck_faces.yaml` and changes."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome

JOB = Path(__file__).parents[1] / "cases" / "neck_faces.yaml"
COARSE = Changes(pitch=0.4)
Edit = tuple[str, str]


def outcome_of(folder: Path, *edits: Edit) -> Outcome:
    text = JOB.read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    return make(path, COARSE)


def bad(outcome: Outcome) -> list[str]:
    return [f.message for f in outcome.findings if f.severity is not Severity.note]


LENGTHS = (
    "scale_length: 300",
    "{nut: 34, end: 40}",
    "overhang: 6",
    "thickness: 5",
    "{1: 18, 8: 19}",
    "{from: 95, to: 150, width: 46, thickness: 20, blend: 15,",
    "{depth: 13, corner: 3}",
    "{length: 70, width: 50, thickness: 12, blend: 18}",
    "{length: 290, width: 80, thickness: 19}",
    "nut_at: 105",
    "leave: 18",
    "drop: 2, from: -8",
    "diameter: 7, depth: 8, at: [[115, 13], [115, -13]]",
    "ramp: 12",
)
INCHES = (
    ("units: mm", "units: in"),
    ("machine: bench-router", "machine: hand-dial"),
    *((old, re.sub(r"-?\d+(?=[,\]}]|$)", r"\g<0> mm", old)) for old in LENGTHS),
)
"""The same neck in a job in inches, on a machine in inches: every length says its unit."""
LEFT = (("units: mm", "units: mm\nhanded: left"),)
HEEL, HEAD = "heel_face: {bit: quarter}", "headstock_back: {bit: quarter, ramp: 12}"
TURNED = ((HEAD, "headstock_face: {bit: quarter, ramp: 12, thickness: 12}"),)


@pytest.mark.parametrize(
    "edits",
    [
        (),
        LEFT,
        TURNED,
        ((HEAD, "headstock_back: {bit: planer, from: -21}"),),
        pytest.param(((HEEL, "heel_face: {bit: planer, thickness: 15}"),), marks=pytest.mark.slow),
        pytest.param(INCHES, marks=pytest.mark.slow),
    ],
    ids=["plain", "left", "turned", "wall", "wide bit", "inches"],
)
def test_both_faces_are_cut_and_nothing_is_said_against_it(tmp_path: Path, edits: tuple[Edit, ...]) -> None:
    outcome = outcome_of(tmp_path, *edits)
    assert [] == bad(outcome)
    back = next(s for s in outcome.setups if s.context.setup.name == "back")
    wood = back.after
    xs, ys = np.meshgrid(wood.xs, wood.ys)
    # The heel is 20 with a board of 5, the headstock 12 behind a drop of 2; heights from the bed are depths.
    heel = (xs > 95.1) & (xs < 149.9) & (abs(ys) < 22.9)
    assert 15.0 == pytest.approx(wood.heights[heel].min(), abs=0.011)
    assert 15.0 == pytest.approx(wood.heights[heel].max(), abs=0.021)
    head = (xs < -18 - 13) & (xs > -104.9)
    assert 14.0 == pytest.approx(wood.heights[head].min(), abs=0.011)
    assert 14.0 == pytest.approx(wood.heights[head].max(), abs=0.021)
    # Between them the blank's back stands.
    assert 18.0 == pytest.approx(wood.heights[(xs > -8) & (xs < 94.9)].min(), abs=0.011)


def test_the_turned_face_makes_the_same_moves(tmp_path: Path) -> None:
    texts = []
    for edits in ((), TURNED):
        programs = outcome_of(tmp_path, *edits).programs
        texts.append(re.sub(r"\([^)]*\)", "", programs[-1].text))
    assert texts[0] == texts[1]


@pytest.mark.parametrize(
    ("edit", "key", "said", "hint"),
    [
        ((HEEL, "heel_face: {bit: quarter, thickness: 16}"), "heel_face.thickness", "differs", "15.000"),
        ((HEEL, "heel_face: {bit: quarter, thickness: -1}"), "heel_face.thickness", "0", ""),
        ((HEEL, "heel_face: {bit: ball}"), "heel_face.bit", "ball", "flat"),
        ((HEAD, "headstock_back: {bit: quarter, thickness: 11}"), "headstock_back.thickness", "differs", "12.000"),
        ((HEAD, "headstock_back: {bit: quarter, ramp: 3}"), "headstock_back.ramp", "too steep", "4.00 mm long or more"),
        ((HEAD, "headstock_back: {bit: quarter, from: 4}"), "headstock_back.from", "under the board", "0 or less"),
        ((HEAD, "headstock_face: {bit: quarter, drop: 2}"), "headstock_face 2.drop", "headstock's back", "`thickness`"),
        (("drop: 2, from: -8}", "drop: 2}"), "headstock_face.from", "needs `from`", "`from: -8.00 mm`"),
        (("pocket: {depth: 13,", "pocket: {depth: 0,"), "pocket.depth", "0", ""),
        (("pocket: {depth: 13, corner: 3}", "pocket: {depth: 13, corner: -3}"), "pocket.corner", "0", ""),
        (("pocket: {depth: 13, corner: 3}", "pocket: {corner: 3}"), "pocket.depth", "", ""),
        (("pocket: {depth: 13, corner: 3}", "pocket: {depth: 13, width: 3}"), "pocket.width", "", ""),
    ],
)
def test_bad_input_is_told_with_its_line_and_what_to_do(
    tmp_path: Path, edit: Edit, key: str, said: str, hint: str
) -> None:
    with pytest.raises(JobError) as told:
        outcome_of(tmp_path, edit)
    (problem,) = told.value.problems
    assert problem.key.endswith(key)
    assert said in problem.problem
    assert hint in problem.hint
    lines = (tmp_path / "job.yaml").read_text(encoding="utf-8").splitlines()
    assert re.split("[. ]", key)[0] in lines[problem.line - 1]


def stops(outcome: Outcome, code: str) -> list[Finding]:
    return [f for f in outcome.findings if f.code == code and f.severity is Severity.stop]


@pytest.mark.parametrize(("y", "over"), [(19.4, False), (19.6, True)])
def test_a_bolt_beside_the_seat_is_stopped(tmp_path: Path, y: float, over: bool) -> None:
    # The heel is 46 wide and the bolts' holes 7: at 19.5 they touch its edge. Other checks miss the wall beside them.
    found = stops(outcome_of(tmp_path, ("[[115, 13], [115, -13]]", f"[[115, 13], [115, -{y}]]")), "bolt-off-seat")
    assert ([31] if over else []) == [f.job_line for f in found]


BORES = "      - bores: {bit: six, for: inserts, diameter: 8, depth: %s, at: [[-60, 0]]}\n      - heel_face"


def test_a_bore_in_wood_that_goes_is_stopped_with_the_right_depth(tmp_path: Path) -> None:
    """The headstock ends 14 below the glue face; the blank's back lies at 18 where nothing cuts it down."""
    bore, no_back = ("      - heel_face", BORES % "16"), (f"      - {HEAD}\n", "")
    (finding,) = stops(outcome_of(tmp_path, no_back, bore), "carved-away")
    assert ("bores", "nothing of it stays on the neck") == (finding.feature, finding.said.wrong)
    assert "back 14.00 mm" == finding.said.limit
    ((entry,),) = finding.remedies
    # 2 deep from the blank's back, so 2 deep from the finished one.
    assert ("depth", "12") == (entry.key, entry.value)


@pytest.mark.slow
def test_the_depth_that_is_advised_ends_it(tmp_path: Path) -> None:
    no_back = (f"      - {HEAD}\n", "")
    deeper = ("      - heel_face", BORES % "12")
    assert [] == stops(outcome_of(tmp_path, no_back, deeper), "carved-away")
    # With the back cut down first it is as deep as it says.
    assert [] == [f for f in outcome_of(tmp_path, deeper).findings if f.code == "carved-away"]
