"""How far do the strings turn aside at the nut to reach their posts?

A string that turns aside binds in its slot and goes out of tune; straight is best, and three-a-side heads come near
6 degrees. The string is taken to the post's middle; it runs to the post's side, which is a little less or more.
"""

from __future__ import annotations

from toolpaths.instrument.fans import nut_front
from toolpaths.instrument.tuner_posts import posts_of_strings, string_angle, strings_at_nut
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cut_solids import CutSolid, cut_solid
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording import instrument as words
from toolpaths.verification.wording.message import Message

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
        said = words.posts_not_strings(len(holes), instrument.strings)
        return [_finding(inputs, said, holes[-1], Severity.note)]
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
    said = words.string_turns(
        worst + 1, holes[order[worst]].demand.name, angles[worst], limit,
        turning=sum(a >= limit - _SPARE for a in angles), binds=warn,
        given=instrument.nut_spread is not None,
    )  # fmt: skip
    return [_finding(inputs, said, holes[order[worst]], Severity.warn if warn else Severity.note)]


def _finding(inputs: CheckInput, said: Message, hole: CutSolid, severity: Severity) -> Finding:
    place = (hole.middle[0], inputs.context.mirror * hole.middle[1])
    return at_feature(inputs, "string-angle", said, hole.demand, place, severity=severity)
