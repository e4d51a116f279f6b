"""Runs side by side as `compare.json`, for other programs: lengths mm, areas mm2, volumes mm3, feeds mm/min."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from toolpaths.common.version import __version__
from toolpaths.reports.compare.compared import Compared, ComparedRun

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

_DIGITS = {"feed_mm_min": 3, "rpm": 1, "chip_load_mm": 5, "leans_mm": 5, "deeper_mm3": 3, "higher_mm3": 3}
"""Behind the point; 4 where nothing is said."""


def _rounded(values: dict[str, Any]) -> dict[str, Any]:
    return {key: round(v, _DIGITS.get(key, 4)) if isinstance(v, float) else v for key, v in values.items()}


def _run(run: ComparedRun, base: ComparedRun) -> dict[str, Any]:
    picture = run.picture
    return _rounded(
        {
            "run": run.label,
            "same": run.same,
            "stopped": run.stopped,
            "refused": list(run.refused),
            **{key: None if run.refused else getattr(run, key) for key in ("minutes", "corner_mm2", "highest_mm")},
            **{key: picture and getattr(picture, key) for key in ("deeper_mm3", "higher_mm3")},
            "picture": picture and picture.file,
            "findings": [{"code": code, "severity": weight, "count": n} for (code, weight), n in run.counts.items()],
            "new_findings": [
                {key: getattr(f, key) for key in ("code", "severity", "feature", "message")} for f in run.news(base)
            ],
            "features": [_rounded(asdict(row)) for row in run.rows],
        }
    )
