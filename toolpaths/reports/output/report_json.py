"""`report.json`: the run as data. Plain values, lengths in mm; the same run gives the same bytes."""

from __future__ import annotations

import hashlib
import json
import math
from pathlib import Path
from typing import Any

from toolpaths.common.version import __version__
from toolpaths.gcode.program import Program
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.reports.text.words import file_part
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import FeatureReport, Outcome, SetupReport


def report_json(outcome: Outcome) -> bytes:
    """The report, UTF-8, with a line end at its end."""
    report = {
        "job": outcome.path.name,
        "job_hash": outcome.job_hash,
        "version": __version__,
        "machine": Path(outcome.job.machine).stem,
        "accepted": list(outcome.accepted),
        "programs": [_program(p) for p in outcome.programs],
        "setups": [_setup(s) for s in outcome.setups],
        "findings": [_finding(f) for f in outcome.findings],
        "handwork": [_handwork(h) for h in outcome.handwork],
    }
    return (json.dumps(report, indent=2, ensure_ascii=True, allow_nan=False) + "\n").encode()


def picture_name(setup: SetupReport) -> str:
    """File name of a setup's depth picture."""
    return f"depth-{file_part(setup.context.setup.name)}.png"


def sha256(text: str) -> str:
    """What a program's file hashes to, hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def _program(program: Program) -> dict[str, Any]:
    touch = program.touch_off
    return {
        "file": program.name,
        "setup": program.setup,
        "bit": program.bits[0] if program.bits else "",
        "bits": list(program.bits),
        "number": program.number,
        "minutes": _number(program.minutes, 2),
        "session": program.session or None,
        "passes": [
            {
                "feature": one.feature,
                "title": one.title,
                "minutes": _number(one.minutes, 3),
                "feed_mm_min": _number(one.feed, 2),
                "reached_mm_min": _number(one.peak, 2),
                "mean_mm_min": _number(one.mean, 2),
            }
            for one in program.passes
        ],
        "sha256": sha256(program.text),
        "touch_off": None if touch is None else {"surface": touch.surface, "z_mm": _number(touch.z, 4)},
    }


def _setup(setup: SetupReport) -> dict[str, Any]:
    return {
        "name": setup.context.setup.name,
        "depth_picture": picture_name(setup),
        "pitch_mm": _number(setup.after.pitch, 6),
        "removed_mm3": _number(setup.removed_mm3, 1),
        "features": [_feature(f) for f in setup.features],
    }


def _feature(feature: FeatureReport) -> dict[str, Any]:
    return {
        "name": feature.name,
        "feature": feature.feature,
        "bit": feature.bit,
        "minutes": _number(feature.minutes, 2),
        "removed_mm3": _number(feature.removed_mm3, 1),
        "left_mm3": _number(feature.left_mm3, 3),
        "deepest_mm": _number(feature.deepest_mm, 4),
        "chip_load_mm": _number(feature.chip_load_mm, 5),
        "feed_mm_min": _number(feature.cutting.feed, 2),
        "rpm": _number(feature.cutting.rpm, 0),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": str(finding.severity),
        "message": finding.message,
        "feature": finding.feature,
        "job_line": finding.job_line or None,
        "program": finding.program,
        "program_line": finding.program_line or None,
        "x": _number(finding.x, 4),
        "y": _number(finding.y, 4),
    }


def _handwork(work: Handwork) -> dict[str, Any]:
    return {
        "feature": work.feature,
        "what": work.what,
        "area_mm2": _number(work.area_mm2, 3),
        "reach_mm": _number(work.reach_mm, 3),
    }


def _number(value: float | None, digits: int) -> float | int | None:
    """Rounded so that the last bits of a computation do not show; a whole number for 0 digits; never -0."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value)) if digits == 0 else round(float(value), digits) + 0.0
