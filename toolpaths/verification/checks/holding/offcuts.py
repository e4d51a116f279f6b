"""Which pieces of waste come free while the spindle turns, where, and how heavy are they?"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Mask
from toolpaths.common.units import show
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.holding.coming_free import move_that_frees
from toolpaths.verification.holding.held_blank import HeldBlank, held_blank, nothing_to_hold
from toolpaths.verification.trace_queries import at_move

SMALLEST = 100.0
"""Pieces of less area are chips, mm2. Common practice, no source."""
LIGHT = 1.0
"""Grams up to which a piece is only noted: extraction draws it away. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `offcut-loose`: pieces that this program frees."""
    setup = inputs.context.setup
    if nothing_to_hold(inputs) or setup.hold is None or setup.unplaced is not None:
        return []
    blank = held_blank(inputs)
    loose = _loose(blank)
    if not loose:
        return []
    before = held_blank(inputs, inputs.before)
    return [_finding(inputs, blank, piece) for piece in loose if _was_held(before, piece)]


def _loose(blank: HeldBlank) -> list[Mask]:
    """Pieces (rows, cols) without a holder and without the part, larger than chips."""
    if not (blank.columns.wood & ~blank.adhered).any():
        return []
    size = np.bincount(blank.labels.ravel()) * blank.columns.pitch**2
    large = np.nonzero(size >= SMALLEST)[0]
    parts = {blank.of_part(part)[0] for part in blank.parts}
    held = {int(n) for h in blank.holders if h.lifts for n in np.unique(blank.labels[h.cells])}
    return [blank.body(int(n)) for n in large if n and int(n) not in parts | held]


def _was_held(before: HeldBlank, piece: Mask) -> bool:
    numbers, counts = np.unique(before.labels[piece], return_counts=True)
    return before.held(before.body(int(numbers[np.argmax(counts)])))


def _finding(inputs: CheckInput, blank: HeldBlank, piece: Mask) -> Finding:
    columns, units = blank.columns, inputs.job.units
    row, col = np.nonzero(piece)
    thick = (columns.high - columns.low)[piece]
    grams = float(thick.sum()) * columns.pitch**2 * inputs.context.wood.density * 1e-6
    long, wide = ((int(np.ptp(v)) + 1) * columns.pitch for v in (col, row))

    def free(later: HeldBlank) -> bool:
        own = later.labels[piece]
        numbers, counts = np.unique(own[own > 0], return_counts=True)
        return not len(numbers) or not later.held(later.body(int(numbers[np.argmax(counts)])))

    move = move_that_frees(inputs, free)
    severity = Severity.note if grams <= LIGHT else None
    digits = 0 if units == "mm" else 2
    message = (
        f"here a piece of waste comes free, {show(long, units, digits)} by {show(wide, units, digits)}, "
        f"{grams:.0f} g, about x {show(float(columns.xs[col].mean()), units, digits)} y "
        f"{show(float(columns.ys[row].mean()), units, digits)}: "
    )
    message += (
        "it is light; keep extraction on and hands away"
        if severity is Severity.note
        else "the bit may jam or throw it; hold it by tape or a screw, leave a tab, or clear it away in chips"
    )
    return at_move(inputs, "offcut-loose", message, move, severity=severity)
