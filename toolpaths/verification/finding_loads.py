"""Places at which a bit or the spindle is loaded above a limit, and the feeds that would do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from toolpaths.common.arrays import Ints
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import Engagement
from toolpaths.verification.finding import Remedy
from toolpaths.verification.remedies import fed
from toolpaths.verification.trace_queries import feature_of, speeds_of


@dataclass(slots=True)
class Overload:
    """One bit in one feature: the place of its greatest load, which is `part` times the limit.

    `place`: index into the engagement; `move`: index of the trace's move there; `feed` mm/min; `rpm`: the slowest
    speed for that feed. `feeds`: every feed at which the limit is passed, with the greatest load at it.
    """

    name: str
    feature: str
    part: float = 1.0
    place: int = -1
    move: int = -1
    feed: float = 0.0
    rpm: float = 0.0
    feeds: dict[float, float] = field(default_factory=dict)

    def slower(self, inputs: CheckInput) -> tuple[Remedy, ...]:
        """Feeds of the job that bring every load down to the limit."""
        return fed(inputs, self.name, self.feature, [(feed, feed / much) for feed, much in self.feeds.items()])


def overloads(
    inputs: CheckInput, met: Engagement, places: Ints, load: Callable[[int, Bit, float, float], float]
) -> list[Overload]:
    """Each bit and feature with a load above the limit at some of these places (K,) of the engagement.

    `load`: of a place, its bit, its feed in mm/min and its speed in rpm, as a part of the limit.
    """
    found: dict[tuple[str, str], Overload] = {}
    parent = inputs.moves.parent[met.move]
    for place in places.tolist():
        name, bit = inputs.bits[int(inputs.moves.bit[met.move[place]])]
        move = int(parent[place])
        feed = float(inputs.trace.feed[move])
        rpm = speeds_of(inputs, name, feed, float(inputs.trace.rpm[move]))[0]
        part = load(place, bit, feed, rpm) if rpm > 0 else 0.0  # `spindle` stops one that stands still
        if part <= 1.0:
            continue
        key = name, feature_of(inputs, move)
        one = found.setdefault(key, Overload(*key))
        one.feeds[feed] = max(part, one.feeds.get(feed, 0.0))
        if part > one.part:
            one.part, one.place, one.move, one.feed, one.rpm = part, place, move, feed, rpm
    return list(found.values())
