"""Runs side by side as `compare.json`, for other programs: lengths mm, areas mm2, volumes mm3, feeds mm/min."""

from __future__ import annotations

import json
from typing import Any

from toolpaths.common.version import __version__
from toolpaths.reports.compare.compared import Compared, ComparedRow, ComparedRun

REPORT = "compare.json"


def compare_json(compared: Compared) -> bytes:
    """The whole comparison."""
    written = compared.written
    whole = {
        "job": written.path.name,
        "job_hash": written.job_hash,
        "version": __version__,
        "machine": written.machine.name,
        "as_written": _run(compared.base, compared.base),
        "variants": [_run(v, compared.base) for v in compared.variants],
    }
    return json.dumps(whole, indent=1, ensure_ascii=True).encode("ascii") + b"\n"


# Private


def _run(run: ComparedRun, base: ComparedRun) -> dict[str, Any]:
    picture = run.picture
    return {
        "run": run.label,
        "same": run.same,
        "stopped": run.stopped,
        "refused": list(run.refused),
        "minutes": _rounded(None if run.refused else run.minutes),
        "corner_mm2": _rounded(None if run.refused else run.corner_mm2),
        "highest_mm": _rounded(None if run.refused else run.highest_mm),
        "deeper_mm3": _rounded(None if picture is None else picture.deeper_mm3, 3),
        "higher_mm3": _rounded(None if picture is None else picture.higher_mm3, 3),
        "picture": None if picture is None else picture.file,
        "findings": [{"code": code, "severity": severity, "count": n} for (code, severity), n in run.counts.items()],
        "new_findings": [
            {"code": f.code, "severity": f.severity, "feature": f.feature, "message": f.message} for f in run.news(base)
        ],
        "features": [_row(r) for r in run.rows],
    }


def _row(r: ComparedRow) -> dict[str, Any]:
    return {
        "setup": r.setup,
        "name": r.feature,
        "bit": r.bit,
        "bit_is": r.bit_words,
        "diameter_mm": _rounded(r.diameter_mm),
        "width_mm": _rounded(r.width_mm),
        "passes": r.passes,
        "pass_depth_mm": _rounded(r.pass_mm),
        "feed_mm_min": _rounded(r.feed_mm_min, 3),
        "rpm": _rounded(r.rpm, 1),
        "chip_load_mm": _rounded(r.chip_mm, 5),
        "leans_mm": _rounded(r.bend_mm, 5),
        "minutes": _rounded(r.minutes),
        "corner_mm2": _rounded(r.corner_mm2),
        "highest_mm": _rounded(r.highest_mm),
    }


def _rounded(value: float | None, digits: int = 4) -> float | None:
    return None if value is None else round(value, digits)
