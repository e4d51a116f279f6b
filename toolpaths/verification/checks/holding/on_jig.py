"""Does the blank lie on its jig as a whole, and does nothing of the jig stand under it or in its place?"""

from __future__ import annotations

from collections.abc import Iterator

from shapely import box

from toolpaths.common.units import show
from toolpaths.job.jig import Jig
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity

_SAME = 1e-6
_OVERHANG = 1.0
"""What a blank may stand out over its jig, mm. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `holder-place` of what a blank and its jig have to do with each other, told once a setup."""
    context = inputs.context
    if context.jig is None:
        return []
    return [
        Finding.of("holder-place", f"setup {context.setup.name}: {message}", severity=severity)
        for message, severity in _misplaced(inputs, context.jig)
    ]


def _misplaced(inputs: CheckInput, jig: Jig) -> Iterator[tuple[str, Severity]]:
    context, units = inputs.context, inputs.job.units
    blank = box(*context.stock_box)
    for it in jig.obstacles:
        over = box(*it.box).buffer(it.radius).intersection(blank)
        if over.area > _SAME and it.top > _SAME:
            yield (
                f"{it.name} stands {show(it.top, units)} above the seat, in the blank's own place: move it in the "
                "jig's job, or sink it",
                Severity.stop,
            )
    x0, y0, x1, y1 = box(*jig.box).bounds
    a, b, c, d = blank.bounds
    out = max(x0 - a, y0 - b, c - x1, d - y1)
    if out > _OVERHANG:
        yield (
            f"the blank hangs over the jig's edge by {show(out, units)}: nothing backs it there; a larger jig, or "
            "another nut_at or centre_at of it",
            Severity.warn,
        )
    for group in context.setup.holders.screws:
        if group.into_bed > jig.under - _SAME:
            yield (
                f"screws go {show(group.into_bed, units)} into a jig that is {show(jig.under, units)} thick under the "
                "blank, and would come out below: shorter screws (into_bed)",
                Severity.stop,
            )
