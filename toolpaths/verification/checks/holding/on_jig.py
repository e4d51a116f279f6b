"""Does the blank lie on its jig as a whole, and does nothing of the jig stand under it or in its place?"""

from __future__ import annotations

from collections.abc import Iterator

from shapely import box

from toolpaths.job.jig import Jig
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.wording import holding as words
from toolpaths.verification.wording.message import Message

_SAME = 1e-6
_OVERHANG = 1.0
"""What a blank may stand out over its jig, mm. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `holder-place` of what a blank and its jig have to do with each other, told once a setup."""
    context = inputs.context
    if context.jig is None:
        return []
    return [Finding.of("holder-place", said, severity=weight) for said, weight in _misplaced(inputs, context.jig)]


def _misplaced(inputs: CheckInput, jig: Jig) -> Iterator[tuple[Message, Severity]]:
    context, units, setup = inputs.context, inputs.job.units, inputs.context.setup.name
    blank = box(*context.stock_box)
    for it in jig.obstacles:
        over = box(*it.box).buffer(it.radius).intersection(blank)
        if over.area > _SAME and it.top > _SAME:
            yield words.jig_in_blank(setup, it.name, it.top, units=units), Severity.stop
    x0, y0, x1, y1 = box(*jig.box).bounds
    a, b, c, d = blank.bounds
    out = max(x0 - a, y0 - b, c - x1, d - y1)
    if out > _OVERHANG:
        yield words.over_jig_edge(setup, out, _OVERHANG, units=units), Severity.warn
    for group in context.setup.holders.screws:
        if group.into_bed > jig.under - _SAME:
            yield words.screws_through_jig(setup, group.into_bed, jig.under, units=units), Severity.stop
