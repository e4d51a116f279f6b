from __future__ import annotations

import hashlib
import json

from toolpaths.reports.output.report_json import report_json
from toolpaths.verification.wording.message import Message

TOP = ["job", "job_hash", "version", "machine", "accepted", "found", "corrections", "cut"]
TOP += ["programs", "setups", "findings", "handwork"]
PROGRAM = ["file", "setup", "bit", "bits", "number", "minutes", "session", "passes", "sha256", "touch_off"]
SETUP = ["name", "depth_picture", "pitch_mm", "removed_mm3", "features"]
FEATURE = [
    "name",
    "feature",
    "bit",
    "minutes",
    "removed_mm3",
    "left_mm3",
    "deepest_mm",
    "chip_load_mm",
    "feed_mm_min",
    "rpm",
    "pass_depth_mm",
    "one_way_minutes",
    "breaks_at_times_load",
]
FINDING = ["code", "severity", "message", "feature", "wrong", "at", "todo", "measured", "limit", "paste"]
FINDING += ["job_line", "program", "program_line", "x", "y"]


def test_the_report_has_exactly_its_keys(make_outcome, gouge) -> None:
    report = json.loads(report_json(make_outcome(findings=(gouge,))))
    assert TOP == list(report)
    assert PROGRAM == list(report["programs"][0])
    assert SETUP == list(report["setups"][0])
    assert FEATURE == list(report["setups"][0]["features"][0])
    assert FINDING == list(report["findings"][0])


def test_the_report_holds_bare_values(make_outcome, gouge) -> None:
    report = json.loads(report_json(make_outcome(findings=(gouge,))))
    scored = report["setups"][0]["features"][1]
    assert ("bass_uke.yaml", "bench-router") == (report["job"], report["machine"])
    assert (0.5, 0.0075, 270.0, 18000) == tuple(scored[k] for k in ("deepest_mm", "chip_load_mm", "feed_mm_min", "rpm"))
    assert ("stop", 130.2, -4.0) == tuple(report["findings"][0][k] for k in ("severity", "x", "y"))
    assert {"surface": "the planed face", "z_mm": 5.5} == report["programs"][1]["touch_off"]


def test_each_program_can_be_recognised_by_its_hash(outcome) -> None:
    report = json.loads(report_json(outcome))
    hashes = [hashlib.sha256(p.text.encode()).hexdigest() for p in outcome.programs]
    assert hashes == [p["sha256"] for p in report["programs"]]


def test_the_same_outcome_gives_the_same_bytes_without_a_clock(make_outcome) -> None:
    assert report_json(make_outcome()) == report_json(make_outcome())


def test_numbers_that_are_not_finite_become_null(make_outcome) -> None:
    from toolpaths.verification.finding import Finding

    finding = Finding.of("travel", Message("beyond the travel"), place=(float("nan"), 1.0))
    assert json.loads(report_json(make_outcome(findings=(finding,))))["findings"][0]["x"] is None
