"""Are the feeds and speeds in the text those that the job gives, and each where it belongs?

Every feed of a move that goes down to the work must be one that the job gives its bit in this program; a level
cut that lies in the region of one feature alone must carry one of that feature's. Speeds likewise, where the
program sets them. Only place and bit decide: what the comments call a section does not.
No feed may ask more of an axis than the machine gives: a feed that was meant for level cuts, left on a way down,
asks it of Z.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.common.units import MM_PER_INCH
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.operations.operation import Operation
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.patches import points_in
from toolpaths.verification.trace_queries import at_move, depth_steps, going_low
from toolpaths.verification.wording.program import feed_too_fast, other_feed, other_rpm

_RPM_SLACK = 0.5


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `feed-differs` and `rpm-differs`."""
    trace, slack = inputs.trace, feed_slack(inputs.machine.units)
    cutting = going_low(inputs) & (trace.kind != RAPID)
    feeds = _differing(inputs, "feed-differs", cutting, trace.feed, lambda o: o.cutting.feeds, slack)
    found = [*feeds, *_too_fast(inputs)]
    if not inputs.machine.spindle.dialled:
        # A spindle that stands still is the spindle check's.
        turning, rpm = cutting & (trace.rpm > 0), lambda o: (o.cutting.rpm,)
        found += _differing(inputs, "rpm-differs", turning, trace.rpm, rpm, _RPM_SLACK)
    return found


def _too_fast(inputs: CheckInput) -> Iterator[Finding]:
    """For each axis the first feed that asks more of it than the machine gives: its part of the way times the feed."""
    moves, units = inputs.moves, inputs.job.units
    way = np.abs(moves.end - moves.start)
    length = np.maximum(np.sqrt(np.einsum("ij,ij->i", way, way)), 1e-9)
    feed = np.where(inputs.trace.kind[moves.parent] == RAPID, 0.0, inputs.trace.feed[moves.parent])
    for axis, limit in zip("XYZ", inputs.machine.feed_limit.as_tuple(), strict=True):
        part = way[:, "XYZ".index(axis)] / length
        over = np.nonzero(feed * part > limit + feed_slack(inputs.machine.units))[0]
        if not len(over):
            continue
        first = int(over[0])
        own, most = float(feed[first] * part[first]), float(limit / part[first])
        message = feed_too_fast(axis, own, limit, most, len(over), units)
        yield at_move(inputs, "feed-differs", message, int(moves.parent[first]))


def feed_slack(units: str) -> float:
    """How far a feed in the text may be from the job's, mm/min: half of 1 mm/min, or of 0.1 in/min."""
    return (0.05 * MM_PER_INCH if units == "in" else 0.5) + 1e-6


def _differing(
    inputs: CheckInput,
    code: str,
    which: Mask,
    values: Array,
    wanted: Callable[[Operation], Iterable[float]],
    slack: float,
) -> Iterator[Finding]:
    bits = inputs.trace.bit
    for number, name, _ in inputs.bits_in(bits[which]):
        by_feature: dict[str, set[float]] = {}
        for operation in inputs.operations:
            if operation.bit == name:
                by_feature.setdefault(operation.feature, set()).update(wanted(operation))
        # A bit that has nothing to do here is another check's finding.
        if not by_feature:
            continue
        here = which & (bits == number)
        for value in np.unique(values[here]):
            moves = np.nonzero(here & (values == value))[0]
            fits = {f for f, wants in by_feature.items() if _near(float(value), wants, slack)}
            if not fits:
                every = set().union(*by_feature.values())
                yield _finding(inputs, code, float(value), every, moves)
            elif len(fits) < len(by_feature):
                for feature in by_feature.keys() - fits:
                    wrong = _only_in(inputs, feature, by_feature, moves)
                    if len(wrong):
                        yield _finding(inputs, code, float(value), by_feature[feature], wrong, feature)


def _near(value: float, wanted: set[float], slack: float) -> bool:
    return any(abs(value - w) <= slack for w in wanted)


def _finding(
    inputs: CheckInput, code: str, value: float, wanted: set[float], moves: Ints, feature: str = ""
) -> Finding:
    nearest_first = sorted(wanted, key=lambda w: (abs(w - value), w))
    if code == "feed-differs":
        message = other_feed(value, nearest_first, len(moves), inputs.job.units)
    else:
        message = other_rpm(value, nearest_first, len(moves))
    return at_move(inputs, code, message, int(moves[0]), feature=feature)


def _only_in(inputs: CheckInput, feature: str, features: Iterable[str], moves: Ints) -> Ints:
    """Which of the trace's moves have a level cut whose middle lies in this feature's region and in no other's."""
    middle, fall = depth_steps(inputs)
    asked = (np.abs(fall) < 1e-6) & (middle[:, 2] < inputs.context.top) & np.isin(inputs.moves.parent, moves)
    points, parent = middle[asked, :2], inputs.moves.parent[asked]
    inside = {name: _within(inputs, name, points) for name in features}
    alone = inside.pop(feature)
    return np.unique(parent[alone & ~np.any([np.zeros(len(points), dtype=bool), *inside.values()], axis=0)])


def _within(inputs: CheckInput, feature: str, points: Array) -> Mask:
    """Which points (N, 2) lie where a feature may be cut."""
    inside = np.zeros(len(points), dtype=bool)
    for demand in inputs.demands:
        if demand.feature == feature and demand.may:
            inside[points_in(demand.may_region(inputs.context.tolerance), points)] = True
    return inside
