"""`report.json`: the run as data. Plain values, lengths in mm; the same run gives the same bytes."""

from __future__ import annotations

import hashlib
import json
import math
from pathlib import Path
from typing import Any

from toolpaths.common.version import __version__
from toolpaths.found.corrections import said
from toolpaths.gcode.program import Program
from toolpaths.reports.text.words import file_part
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome, SetupReport

_DIGITS = {
    "minutes": 2,
    "one_way_minutes": 2,
    "breaks_at_times_load": 1,
    "removed_mm3": 1,
    "deepest_mm": 4,
    "chip_load_mm": 5,
    "feed_mm_min": 2,
    "rpm": 0,
}
_DIGITS |= {"reached_mm_min": 2, "mean_mm_min": 2, "pitch_mm": 6, "z_mm": 4, "x": 4, "y": 4}
"""Behind the point, by key; 3 where nothing is said."""


def report_json(outcome: Outcome) -> bytes:
    """The report, UTF-8, with a line end at its end."""
    report = {
        "job": outcome.path.name,
        "job_hash": outcome.job_hash,
        "version": __version__,
        "machine": Path(outcome.job.machine).stem,
        "accepted": list(outcome.accepted),
        "found": {m.name: _number(outcome.found[m.number], 4) for m in outcome.marks if m.number in outcome.found},
        "corrections": [said(correction, outcome.job) for correction in outcome.corrections],
        "cut": sorted(outcome.cut),
        "programs": [_program(p) for p in outcome.programs],
        "setups": [_setup(s) for s in outcome.setups],
        "findings": [_finding(f) for f in outcome.findings],
        "handwork": [_picked(h, "feature", "what", "area_mm2", "reach_mm") for h in outcome.handwork],
    }
    return (json.dumps(report, indent=2, ensure_ascii=True, allow_nan=False) + "\n").encode()


def picture_name(setup: SetupReport) -> str:
    """File name of a setup's depth picture."""
    return f"depth-{file_part(setup.context.setup.name)}.png"


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
                **_rounded(feed_mm_min=one.feed, reached_mm_min=one.peak, mean_mm_min=one.mean),
            }
            for one in program.passes
        ],
        "sha256": hashlib.sha256(program.text.encode()).hexdigest(),
        "touch_off": None if touch is None else {"surface": touch.surface, **_rounded(z_mm=touch.z)},
    }


def _setup(setup: SetupReport) -> dict[str, Any]:
    figures = ("minutes", "removed_mm3", "left_mm3", "deepest_mm", "chip_load_mm")
    return {
        "name": setup.context.setup.name,
        "depth_picture": picture_name(setup),
        **_rounded(pitch_mm=setup.after.pitch, removed_mm3=setup.removed_mm3),
        "features": [
            {
                **_picked(f, "name", "feature", "bit", *figures),
                **_rounded(feed_mm_min=f.cutting.feed, rpm=f.cutting.rpm, pass_depth_mm=f.cutting.pass_depth),
                **_rounded(one_way_minutes=f.one_way_minutes, breaks_at_times_load=f.cutting.safety),
            }
            for f in setup.features
        ],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        **_picked(finding, "code", "severity", "message", "feature"),
        **_picked(finding.said, "wrong", "at", "todo", "measured", "limit", "paste"),
        "job_line": finding.job_line or None,
        "program": finding.program,
        "program_line": finding.program_line or None,
        **_rounded(x=finding.x, y=finding.y),
    }


def _picked(item: object, *names: str) -> dict[str, Any]:
    """Some attributes as they are called, figures rounded."""
    values = {name: getattr(item, name) for name in names}
    return {name: v if isinstance(v, str) else _rounded(**{name: v})[name] for name, v in values.items()}


def _rounded(**figures: float | None) -> dict[str, float | int | None]:
    return {key: _number(value, _DIGITS.get(key, 3)) for key, value in figures.items()}


def _number(value: float | None, digits: int) -> float | int | None:
    """Rounded so that the last bits of a computation do not show; a whole number for 0 digits; never -0."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value)) if digits == 0 else round(float(value), digits) + 0.0
