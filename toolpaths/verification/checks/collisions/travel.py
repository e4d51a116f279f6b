"""Does all motion fit the machine's travel?

Machine coordinates run from 0 to the travel in x and y and from minus the travel to 0 in z, as is common
practice on small routers. Where the machine file does not say where an offset lies, only the span is judged.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, PLANE_AXES, Trace
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.long_blank import proposal
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.collisions import past_travel, too_long_for_axis

_CODE = "travel"
_AXES = "XYZ"
_SPARE = 1e-6


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `travel`."""
    if not len(inputs.trace):
        return []
    low, high = _extremes(inputs.as_written)
    return [*_spans(inputs, low, high), *_places(inputs, low, high)]


def _spans(inputs: CheckInput, low: Array, high: Array) -> Iterator[Finding]:
    units = inputs.job.units
    for axis, travel in enumerate(inputs.machine.travel.as_tuple()):
        if not np.any(np.isfinite(high[:, axis])):
            continue
        span = float(np.nanmax(high[:, axis]) - np.nanmin(low[:, axis]))
        if span > travel + _SPARE:
            places = proposal(inputs) if axis == 0 else None
            paste = "" if places is None else places.lines(units)
            message = too_long_for_axis(_AXES[axis], span, travel, units, paste)
            yield at_move(inputs, _CODE, message, int(np.nanargmax(high[:, axis])))


def _places(inputs: CheckInput, low: Array, high: Array) -> Iterator[Finding]:
    """Against the ends of travel, where the machine file knows where the work's zero lies."""
    trace, machine, units = inputs.trace, inputs.machine, inputs.job.units
    for index, name in enumerate(trace.offsets):
        zero = next((place for known, place in machine.offsets.items() if known == name), None)
        said = "the machine file"
        if inputs.context.setup.at is not None and name == inputs.context.setup.offset:
            zero, said = inputs.context.setup.at, "the setup"
        own = trace.offset == index
        if zero is None or not own.any():
            continue
        for axis, travel in enumerate(machine.travel.as_tuple()):
            least, most = (-travel, 0.0) if axis == 2 else (0.0, travel)
            a = np.where(own, low[:, axis] + zero[axis], np.nan)
            b = np.where(own, high[:, axis] + zero[axis], np.nan)
            for values, beyond, end in ((a, least - a, least), (b, b - most, most)):
                if np.any(beyond > _SPARE):
                    worst = int(np.nanargmax(beyond))
                    reached, upper = float(values[worst]), values is b
                    message = past_travel(_AXES[axis], name, said, reached, end, upper, units)
                    yield at_move(inputs, _CODE, message, worst)


def _extremes(trace: Trace) -> tuple[Array, Array]:
    """Least and greatest coordinates (N, 3), (N, 3) of every move, arcs with their true extremes; NaN where unknown."""
    low, high = np.fmin(trace.start, trace.end), np.fmax(trace.start, trace.end)
    for plane, (a, b, _) in PLANE_AXES.items():
        arc = np.nonzero((trace.kind >= ARC_CW) & (trace.plane == plane) & np.isfinite(trace.centre[:, a]))[0]
        if not len(arc):
            continue
        start, end, centre = trace.start[arc], trace.end[arc], trace.centre[arc]
        radius = np.hypot(start[:, a] - centre[:, a], start[:, b] - centre[:, b])
        first = np.arctan2(start[:, b] - centre[:, b], start[:, a] - centre[:, a])
        last = np.arctan2(end[:, b] - centre[:, b], end[:, a] - centre[:, a])
        ccw = trace.kind[arc] == ARC_CCW
        begin = np.where(ccw, first, last)
        sweep = np.mod(np.where(ccw, last - first, first - last), 2 * np.pi)
        full = (start[:, a] == end[:, a]) & (start[:, b] == end[:, b])
        sweep = np.where(full, 2 * np.pi, sweep)
        for axis, angle, sign in ((a, 0.0, 1), (a, np.pi, -1), (b, np.pi / 2, 1), (b, -np.pi / 2, -1)):
            passed = np.mod(angle - begin, 2 * np.pi) <= sweep
            reach = centre[:, axis] + sign * radius
            which = high if sign > 0 else low
            better = np.fmax(which[arc, axis], reach) if sign > 0 else np.fmin(which[arc, axis], reach)
            which[arc, axis] = np.where(passed, better, which[arc, axis])
    return low, high
