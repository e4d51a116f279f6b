"""Will scored lines and marker pockets still be there when the top has been radiused by hand?

Radiusing takes the edges down by the sagitta, R - sqrt(R^2 - (w/2)^2), and leaves the middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding
from toolpaths.core.operation import Clear, Lines
from toolpaths.core.reading import job_line_of
from toolpaths.core.units import show
from toolpaths.trade.boards import crossings
from toolpaths.trade.fans import FretLine
from toolpaths.trade.radius import radius_at, sagitta


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the top comes down most over one line or pocket: x, y and how far down, mm."""

    name: str
    x: float
    y: float
    drop: float


def check(evidence: Evidence) -> list[Finding]:
    """Findings `gone-after-radius`, one a feature: the place where the top comes down most."""
    job = evidence.job
    cut_here = any(f.key == "radius" for s in job.setups for f in s.features)
    if job.instrument.board.radius is None or cut_here:
        return []
    keys = {f.name: f.key for f in evidence.scene.setup.features}
    found = []
    for operation in evidence.operations:
        key = keys.get(operation.feature)
        if key == "score_lines" and isinstance(operation, Lines):
            places = _lines(evidence, operation)
        elif key == "marker_pockets" and isinstance(operation, Clear):
            places = _pockets(evidence, operation)
        else:
            continue
        depth = evidence.scene.face - operation.floor
        gone = [p for p in places if depth <= p.drop + 1e-9]
        if gone:
            worst = max(gone, key=lambda p: p.drop)
            message = _line_message if key == "score_lines" else _pocket_message
            found.append(
                Finding.of(
                    "gone-after-radius",
                    message(evidence, depth, worst, len(gone), len(places)),
                    feature=operation.feature,
                    job_line=job_line_of(evidence, operation.feature),
                    program=evidence.program.name,
                    place=(worst.x, worst.y),
                )
            )
    return found


def _lines(evidence: Evidence, operation: Lines) -> list[_Place]:
    """Each line at the edge of the finished board."""
    instrument = evidence.job.instrument
    out = []
    for name, ends in zip(operation.names, operation.lines, strict=True):
        (ax, ay), (bx, by) = ends.tolist()
        lean = 0.0 if ax == bx else (bx - ax) / (by - ay)
        edges = crossings(instrument, FretLine(ax - lean * ay, lean))
        places = [_Place(name, x, y, _drop(evidence, x, abs(y))) for x, y in edges]
        out.append(max(reversed(places), key=lambda p: round(p.drop, 9)))
    return out


def _pockets(evidence: Evidence, operation: Clear) -> list[_Place]:
    """Each pocket at the point of its wall that is farthest from the centreline."""
    out = []
    for name, loop in zip(operation.names, operation.loops, strict=True):
        points = loop.flattened(0.05)
        far = points[int(np.argmax(np.abs(points[:, 1])))]
        out.append(_Place(name, float(far[0]), float(far[1]), _drop(evidence, float(far[0]), abs(float(far[1])))))
    return out


def _drop(evidence: Evidence, x: float, y: float) -> float:
    """How far the radiused top lies below its crown at x, y, mm."""
    instrument = evidence.job.instrument
    radius = radius_at(instrument.board, instrument, x)
    if radius is None:
        return 0.0
    return sagitta(radius, 2 * min(y, radius))


def _line_message(evidence: Evidence, depth: float, worst: _Place, gone: int, count: int) -> str:
    units = evidence.job.units
    return (
        f"at {worst.name} hand-radiusing takes {show(worst.drop, units)} off the edges, and the line is "
        f"{show(depth, units)} deep: {show(depth, units)} of it is left in the middle and none at the edges "
        f"({gone} of {count} lines); saw the slots to depth before radiusing, or score deeper than "
        f"{show(worst.drop, units)}"
    )


def _pocket_message(evidence: Evidence, depth: float, worst: _Place, gone: int, count: int) -> str:
    units = evidence.job.units
    return (
        f"at the {worst.name} hand-radiusing takes {show(worst.drop, units)} off the pocket's outer wall, and it is "
        f"{show(depth, units)} deep: none of it is left there ({gone} of {count} pockets); make the pockets deeper "
        f"than {show(worst.drop, units)} by what the marker needs, or cut them after radiusing"
    )
