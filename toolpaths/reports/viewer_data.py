"""STAND-IN: replaced by the exact replay's own module."""

from __future__ import annotations

from typing import Any

import numpy as np

from toolpaths.core.outcome import Outcome, SetupReport
from toolpaths.reports.packed import packed


def replay_data(outcome: Outcome, setup: SetupReport) -> dict[str, Any]:
    """STAND-IN: straight moves as written."""
    start, end, kind, seconds, program, line, feature, names = [], [], [], [], [], [], [], []
    features: list[str] = []
    for n, (name, t) in enumerate(setup.traces.items()):
        ok = np.isfinite(t.start).all(axis=1) & np.isfinite(t.end).all(axis=1)
        s = t.start[ok] + np.asarray(setup.scene.zero)
        e = t.end[ok] + np.asarray(setup.scene.zero)
        start.append(s)
        end.append(e)
        kind.append((t.kind[ok] > 0).astype(int))
        seconds.append(np.linalg.norm(e - s, axis=1) / np.where(t.feed[ok] > 0, t.feed[ok], 4000) * 60)
        program.append(np.full(int(ok.sum()), n))
        line.append(t.line[ok])
        for i in t.section[ok]:
            f = t.sections[i][0] if i >= 0 else ""
            if f not in features:
                features.append(f)
            feature.append(features.index(f))
        names.append(name)

    def cat(parts: list[Any], width: int = 0) -> Any:
        return np.concatenate(parts) if parts else np.empty((0, width) if width else 0)

    return {
        "start": packed(cat(start, 3), "f4"),
        "end": packed(cat(end, 3), "f4"),
        "kind": packed(cat(kind), "u1"),
        "seconds": packed(cat(seconds), "f4"),
        "program": packed(cat(program), "u2"),
        "line": packed(cat(line), "u4"),
        "feature": packed(np.array(feature), "u2"),
        "programs": names,
        "features": features,
    }
