"""How far do the strings turn aside at the nut to reach their posts?

A string that turns aside binds in its slot and goes out of tune; straight is best, and three-a-side heads come near
6 degrees. The string is taken to the post's middle; it runs to the post's side, which is a little less or more.
"""

from __future__ import annotations

from toolpaths.common.units import show
from toolpaths.instrument.fans import SPREAD, nut_front, nut_spread
from toolpaths.instrument.tuner_posts import posts_of_strings, string_angle, strings_at_nut
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cut_solids import CutSolid, cut_solid
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_places import at_feature

NOTE, WARN = 6.0, 10.0
"""Degrees from which it is noted, and above which it is a warning. Common practice, no source."""
_SPARE = 1e-6


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `string-angle`, once all posts of a setup are bored: the worst string, and how many turn as far."""
    holes = [cut_solid(inputs.context, d) for d in inputs.demands if d.kind is CutKind.tuner_hole]
    posts, here = {h.demand.feature for h in holes}, {o.feature for o in inputs.operations}
    if not posts & here or not posts <= inputs.begun:
        return []
    instrument = inputs.job.instrument
    order = posts_of_strings([h.middle for h in holes], instrument.strings)
    if order is None:
        count = f"{instrument.strings} string{'s' if instrument.strings > 1 else ''}"
        return [_finding(inputs, f"{len(holes)} posts for {count}: no angle is told", holes[-1], Severity.note)]
    at_nut, front = strings_at_nut(instrument), nut_front(instrument)
    posts_behind = [
        (holes[i].middle[0] - front.at(float(y)), holes[i].middle[1]) for y, i in zip(at_nut, order, strict=True)
    ]
    angles = [string_angle(float(y), post) for y, post in zip(at_nut, posts_behind, strict=True)]
    # Of two that turn alike the first is named, whatever the last digit says.
    worst = max(range(len(angles)), key=lambda k: round(angles[k], 6))
    if angles[worst] < NOTE - _SPARE:
        return []
    warn = angles[worst] > WARN + _SPARE
    limit = WARN if warn else NOTE
    turning = sum(a >= limit - _SPARE for a in angles)
    message = (
        f"string {worst + 1} turns aside by {angles[worst]:.1f} degrees at the nut to reach "
        f"{holes[order[worst]].demand.name}"
        f"{f' ({turning} strings turn by {limit:.0f} or more)' if turning > 1 else ''}; straight is best"
        f"{', and above 10 it binds: move the posts inwards or further from the nut' if warn else ''}. "
        f"Counted to the post's middle, with the strings spread over {_spread(inputs)} at the nut"
    )
    return [_finding(inputs, message, holes[order[worst]], Severity.warn if warn else Severity.note)]


def _spread(inputs: CheckInput) -> str:
    instrument = inputs.job.instrument
    text = show(nut_spread(instrument), inputs.job.units)
    given = instrument.nut_spread is not None
    return text if given else f"{text} ({SPREAD} of the board's width there; `nut_spread` says otherwise)"


def _finding(inputs: CheckInput, message: str, hole: CutSolid, severity: Severity) -> Finding:
    place = (hole.middle[0], inputs.context.mirror * hole.middle[1])
    return at_feature(inputs, "string-angle", message, hole.demand, place, severity=severity)
