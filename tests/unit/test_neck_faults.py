"""One fault at a time put into the demo neck: each gives its own finding, at its line in the job."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Finding

DEMOS = Path(__file__).parents[2] / "demo_jobs"
NECK = (DEMOS / "tenor_neck.yaml").read_text(encoding="utf-8")


def found(tmp_path: Path, old: str, new: str, only: str | None = None) -> tuple[list[Finding], list[str]]:
    """(findings above a note, lines of the job) of the demo with one edit, its paths made absolute."""
    assert old in NECK
    text = NECK.replace(old, new, 1).replace(
        "instrument: instruments/tenor.yaml", f"instrument: {DEMOS / 'instruments' / 'tenor.yaml'}"
    )
    text = re.sub(r"drawing: (drawings/\S+?),", lambda m: f"drawing: {DEMOS / m[1]},", text)
    path = tmp_path / "neck.yaml"
    path.write_text(text, encoding="utf-8")
    outcome = make(path, Changes(pitch=1.0, only=only))
    return [f for f in outcome.findings if str(f.severity) != "note"], text.splitlines()


def test_the_demo_itself_has_no_finding_above_a_note() -> None:
    findings = made(DEMOS / "tenor_neck.yaml", Changes(pitch=0.5)).findings
    assert [] == [f for f in findings if str(f.severity) != "note"]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("old", "new", "code", "severity", "feature", "only"),
    [
        (
            "depth: 9.5, from: 4",
            "depth: 13, from: 4",
            "wall-too-thin",
            "stop",
            "truss_rod_channel",
            "truss_rod_channel",
        ),
        ("to: 350, adjuster", "to: 399, adjuster", "rod-uncovered", "stop", "truss_rod_channel", "truss_rod_channel"),
        (
            "depth: 5.6, offset: 10",
            "depth: 5.6, offset: 22",
            "wall-too-thin",
            "stop",
            "reinforcement_slots",
            "reinforcement_slots",
        ),
        (
            "depth: 5.6, offset: 10",
            "depth: 5.6, offset: 5.5",
            "wood-between",
            "stop",
            "reinforcement_slots",
            "reinforcement_slots",
        ),
        ("[-52, 19]", "[-52, 34]", "wood-between", "stop", "tuner_bores", "tuner_bores"),
        (
            "x: [330, 360], y: [50, 70], height: 18",
            "x: [410, 420], y: [-5, 5], height: 27",
            "keep-out",
            "stop",
            "",
            None,
        ),
        (
            "{x: 414, y: 0, diameter: 8}], depth: 6",
            "{x: 414, y: 1, diameter: 8}], depth: 6",
            "pins-apart",
            "stop",
            "bed_bores",
            "bed_bores",
        ),
    ],
)
def test_each_fault_is_told_with_its_line_in_the_job(
    tmp_path: Path, old: str, new: str, code: str, severity: str, feature: str, only: str | None
) -> None:
    findings, lines = found(tmp_path, old, new, only)
    mine = [f for f in findings if f.code == code and str(f.severity) == severity]
    assert mine, [f"{f.severity} {f.code} {f.feature}: {f.message}" for f in findings]
    if feature:
        assert any(f.feature == feature and f"{feature}:" in lines[f.job_line - 1] for f in mine)


def test_a_channel_too_deep_is_told_with_place_and_millimetres_left(tmp_path: Path) -> None:
    findings, _ = found(tmp_path, "depth: 9.5, from: 4", "depth: 13, from: 4", only="truss_rod_channel")
    (wall,) = [f for f in findings if f.code == "wall-too-thin"]
    left = re.search(r"([\d.]+) mm below", wall.said.measured)
    assert left is not None
    # By hand at the nut's end of the channel (x = 7, y = 3.2), where the shaft is 14.3 mm deep at its middle and
    # 18 mm wide to each side: the half ellipse stands 14.3 sqrt(1 - (3.2 / 18)^2) = 14.1 mm deep there, 1.1 mm below
    # the channel's floor; 0.5 mm of that is the carver's.
    assert float(left[1]) == pytest.approx(0.6, abs=0.05)
    assert wall.x == pytest.approx(7.2, abs=0.5)
