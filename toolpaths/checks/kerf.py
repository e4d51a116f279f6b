"""Is a scored line narrow enough for the saw to follow?

A line much wider than the saw's kerf shows beside the fret and does not guide the blade.
The width is measured in the wood as the text leaves it, at the face.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding
from toolpaths.core.operation import Lines
from toolpaths.core.reading import job_line_of
from toolpaths.core.units import show

Array = NDArray[np.float64]

WIDER = 0.1
"""How much wider than the saw's kerf a scored line may be, mm. Common practice, no source."""
_SKIN = 1e-4
"""A place counts as cut where it lies this far below the face, mm."""
_HALVINGS = 16


def check(evidence: Evidence) -> list[Finding]:
    """Findings `kerf`, one a feature: its widest line."""
    found, kerf = [], evidence.job.saw.kerf
    for operation in evidence.operations:
        if not isinstance(operation, Lines) or not len(operation.lines):
            continue
        widths = widths_of(evidence, operation)
        if not np.any(np.isfinite(widths)):
            continue
        widest = int(np.nanargmax(widths))
        width, wide = float(widths[widest]), int(np.sum(widths > kerf + WIDER))
        if not wide:
            continue
        units = evidence.job.units
        middle = operation.lines[widest].mean(axis=0)
        found.append(
            Finding.of(
                "kerf",
                f"the line of {operation.names[widest]} is {show(width, units)} wide, and the saw's kerf is "
                f"{show(kerf, units)} ({wide} of {len(widths)} lines are more than {show(WIDER, units)} wider): it "
                f"would not guide the saw and would show beside the fret; take a bit of {show(kerf, units)} or less, "
                "or name the saw that you have (saw: kerf)",
                feature=operation.feature,
                job_line=job_line_of(evidence, operation.feature),
                program=evidence.program.name,
                place=(middle[0], middle[1]),
            )
        )
    return found


def widths_of(evidence: Evidence, operation: Lines) -> Array:
    """Width at the face of each line (N,), mm, measured square to it where it crosses the centreline.

    NaN where the line is not cut there, or runs into something else that is.
    """
    starts, ends = operation.lines[:, 0], operation.lines[:, 1]
    run = ends - starts
    length = np.hypot(run[:, 0], run[:, 1])
    cross = np.where(np.abs(run[:, 1]) > 1e-9, run[:, 1], 1.0)
    along = np.where(np.abs(run[:, 1]) > 1e-9, np.clip(-starts[:, 1] / cross, 0.0, 1.0), 0.5)
    middle = starts + along[:, None] * run
    square = np.stack([-run[:, 1], run[:, 0]], axis=1) / np.maximum(length, 1e-9)[:, None]
    bit = next((b for name, b in evidence.bits.values() if name == operation.bit), None)
    reach = 2 * (bit.radius if bit is not None else operation.cutting.pass_depth) + evidence.job.saw.kerf
    face = evidence.scene.face - _SKIN

    def is_cut(aside: Array) -> NDArray[np.bool_]:
        return evidence.standing.heights(middle + aside[:, None] * square) < face

    total = np.zeros(len(starts))
    for side in (-1.0, 1.0):
        inside, outside = np.zeros(len(starts)), np.full(len(starts), side * reach)
        sound = is_cut(inside) & ~is_cut(outside)
        for _ in range(_HALVINGS):
            half = (inside + outside) / 2
            cut = is_cut(half)
            inside, outside = np.where(cut, half, inside), np.where(cut, outside, half)
        total += np.where(sound, np.abs(inside + outside) / 2, np.nan)
    return total
