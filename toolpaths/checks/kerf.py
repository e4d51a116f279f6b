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
Mask = NDArray[np.bool_]

WIDER = 0.1
"""How much wider than the saw's kerf a scored line may be, mm. Common practice, no source."""
_SKIN = 1e-4
"""A place counts as cut where it lies this far below the face, mm."""
_STEPS = 100


def check(evidence: Evidence) -> list[Finding]:
    """Findings `kerf`, one a feature: its widest line."""
    found, kerf = [], evidence.job.saw.kerf
    # No saw follows into a slot that is at its depth.
    slots = {f.name for f in evidence.scene.setup.features if f.key == "fret_slots"}
    for operation in evidence.operations:
        if not isinstance(operation, Lines) or not len(operation.lines) or operation.feature in slots:
            continue
        widths = widths_of(evidence, operation)
        if not np.any(np.isfinite(widths)):
            continue
        widest = int(np.nanargmax(np.round(widths, 3)))
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
    reach = (bit.radius if bit is not None else 1.0) + evidence.job.saw.kerf + 0.5
    face = evidence.scene.face - _SKIN

    def cut_at(aside: Array) -> Mask:
        """Whether the wood is cut at distances (N, K) aside of each middle."""
        points = middle[:, None, :] + aside[:, :, None] * square[:, None, :]
        return evidence.standing.heights(points.reshape(-1, 2)).reshape(aside.shape) < face

    # Twice: steps of the reach to find both edges, then finer ones across the step that holds each.
    count, step = len(starts), reach / _STEPS
    sides = np.concatenate([-np.arange(_STEPS + 1), np.arange(_STEPS + 1)]) * step
    cut = cut_at(np.broadcast_to(sides, (count, len(sides)))).reshape(count, 2, -1)
    sound = np.all(cut[:, :, 0] & ~cut[:, :, -1], axis=1)
    edge = np.argmin(cut, axis=2) * step
    fine = edge[:, :, None] - step * (1 - np.arange(_STEPS + 1) / _STEPS)
    signed = fine * np.array([-1.0, 1.0])[None, :, None]
    within = cut_at(signed.reshape(count, -1)).reshape(count, 2, -1)
    exact = edge - step * (1 - (np.argmin(within, axis=2) - 0.5) / _STEPS)
    return np.where(sound, exact.sum(axis=1), np.nan)
