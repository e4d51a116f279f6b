"""Is a scored line narrow enough for the saw to follow?

A line wider than the saw's kerf leaves the top of the slot looser than the rest; much wider, it shows beside the fret
and does not guide the blade. The width is measured in the wood as the text leaves it, at the face; the bit's runout,
which the text does not show, is added.
"""

from __future__ import annotations

import numpy as np
import shapely

from toolpaths.common.arrays import Array, Mask
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.operations.operation import Lines
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import in_words, shallower
from toolpaths.verification.wording import instrument as words

NOTE, WARN = 0.02, 0.05
"""From how much more than the saw's kerf a scored line is told of, and warned of, mm. Common practice, no source."""
PLAY = 0.1
"""A line wider than the saw's kerf by more than this does not guide the saw, mm. Common practice, no source."""
_EVEN = 1e-6
_MUCH = 5e-3
"""By how much more than it must a remedy makes a line narrower, mm: the width is measured to a thousandth."""
_SKIN = 1e-4
"""A place counts as cut where it lies this far below the face, mm."""
_STEPS = 100


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `kerf`, one a feature: its widest line."""
    found, kerf = [], inputs.job.saw.kerf
    # No saw follows into a slot that is at its depth.
    slots = {f.name for f in inputs.context.setup.features if CutKind.fret_slot in f.cuts}
    for operation in inputs.operations:
        if not isinstance(operation, Lines) or not len(operation.lines) or operation.feature in slots:
            continue
        widths = np.where(_in_slots(inputs, operation), np.nan, widths_of(inputs, operation))
        if not np.any(np.isfinite(widths)):
            continue
        widest = int(np.nanargmax(np.round(widths, 3)))
        bit = inputs.bit_named(operation.bit)
        runout = bit.widening(inputs.machine.runout)
        found_wide = np.round(widths, 3) + runout
        width, wide = float(found_wide[widest]), int(np.sum(found_wide >= kerf + NOTE - _EVEN))
        if not wide:
            continue
        remedies = _less_deep(inputs, operation, bit, width - kerf - NOTE)
        loose = int(np.sum(found_wide > kerf + PLAY))
        said = words.lines_too_wide(
            loose or wide,
            len(widths),
            width,
            kerf,
            remedy=in_words(remedies, ""),
            pointed=bit.is_pointed,
            unguided=bool(loose),
            bit=max(kerf - runout, 0.0),
            units=inputs.job.units,
        )
        severity = Severity.warn if width >= kerf + WARN - _EVEN else Severity.note
        x, y = operation.lines[widest].mean(axis=0)
        found.append(at_feature(inputs, "kerf", said, operation.feature, (x, y), severity=severity, remedies=remedies))
    return found


def _in_slots(inputs: CheckInput, operation: Lines) -> Mask:
    """Which lines (N,) lie where the router cuts a slot: no saw follows them."""
    slots = shapely.union_all([d.asked for d in inputs.demands if d.kind is CutKind.fret_slot])
    return np.asarray(shapely.intersects(shapely.linestrings(operation.lines), slots))


def _less_deep(inputs: CheckInput, operation: Lines, bit: Bit, narrower: float) -> tuple[Remedy, ...]:
    """A depth at which a pointed bit's line is narrower by more than that, mm."""
    if not bit.is_pointed:
        return ()
    deep = operation.top - operation.floor
    wanted = bit.width_at(deep) - narrower - _MUCH
    lengths = np.linspace(0.0, deep, 2001)
    fit = lengths[np.array([bit.width_at(float(d)) for d in lengths]) <= wanted]
    return shallower(inputs, operation.feature, deep - float(fit.max())) if len(fit) else ()


def widths_of(inputs: CheckInput, operation: Lines) -> Array:
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
    reach = inputs.bit_named(operation.bit).radius + inputs.job.saw.kerf + 0.5
    face = inputs.context.face - _SKIN

    def cut_at(aside: Array) -> Mask:
        """Whether the wood is cut at distances (N, K) aside of each middle."""
        points = middle[:, None, :] + aside[:, :, None] * square[:, None, :]
        return inputs.standing.heights(points.reshape(-1, 2)).reshape(aside.shape) < face

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
