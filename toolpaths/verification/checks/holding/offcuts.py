"""Which pieces of waste come free while the spindle turns, where, and how heavy are they?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from toolpaths.common.arrays import Mask
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.holding.coming_free import move_that_frees
from toolpaths.verification.holding.held_blank import HeldBlank, held_blank, nothing_to_hold
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.holding import offcut_comes_free

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
    """At the line that frees a piece, with a place on the piece."""
    columns = blank.columns
    row, col = np.nonzero(piece)
    thick = (columns.high - columns.low)[piece]
    grams = float(thick.sum()) * columns.pitch**2 * inputs.context.wood.density * 1e-6
    long, wide = ((int(np.ptp(v)) + 1) * columns.pitch for v in (col, row))

    def free(later: HeldBlank) -> bool:
        own = later.labels[piece]
        numbers, counts = np.unique(own[own > 0], return_counts=True)
        return not len(numbers) or not later.held(later.body(int(numbers[np.argmax(counts)])))

    move = move_that_frees(inputs, free)
    said = offcut_comes_free(long, wide, grams, LIGHT, units=inputs.job.units)
    found = at_move(inputs, "offcut-loose", said, move, severity=Severity.note if grams <= LIGHT else None)
    xs, ys = columns.xs[col], columns.ys[row]
    # The middle of a frame lies in the part: the place of it that is nearest to its middle is on the piece.
    k = int(np.argmin(np.hypot(xs - xs.mean(), ys - ys.mean())))
    return replace(found, x=float(xs[k]), y=float(ys[k]))
