"""Arc words of a program (I, J, K, R). Only the reader uses this, never the writer.

Source: NISTIR 6556 (2000), section 3.5.3.2, arcs in centre format.
"""

from __future__ import annotations

import math

from toolpaths.gcode.reader import refusals
from toolpaths.gcode.reader.trace import PLANE_AXES

LARGEST = 1e6
"""Largest length in mm (and feed, speed, time) that is believed."""

Place = tuple[float, float, float]


def arc_of(line: int, words: dict[str, float], start: Place, end: Place, plane: int, mm: float) -> tuple[Place, Place]:
    """Centre and end of an arc, mm. I, J, K count from the start; `mm` is the length of the program's unit.

    The end is the one given, or the start itself where only a rest of arithmetic parts them: a full turn.
    Raises ReadError for words that do not make an arc in the plane, and for radii at start and end that
    differ by more than 0.002 mm (0.0002 in in a program in inches).
    """
    a, b, n = PLANE_AXES[plane]
    if _AXES[a] not in words and _AXES[b] not in words:
        raise refusals.arc_without(line, plane, _either(_AXES, a, b))
    if _CENTRES[n] in words:
        raise refusals.not_in_plane(line, _CENTRES[n], plane)
    if _CENTRES[a] not in words and _CENTRES[b] not in words:
        raise refusals.arc_without(line, plane, _either(_CENTRES, a, b))
    centre = list(start)
    for axis in (a, b):
        centre[axis] += words.get(_CENTRES[axis], 0.0) * mm
        if not abs(centre[axis]) <= LARGEST:
            raise refusals.too_far(line, _CENTRES[axis], centre[axis], mm)
    first = math.hypot(start[a] - centre[a], start[b] - centre[b])
    last = math.hypot(end[a] - centre[a], end[b] - centre[b])
    rule = 0.002 if mm == 1.0 else 0.0002 * mm
    if first < rule:
        raise refusals.no_radius(line)
    if abs(first - last) > rule + _REST:
        raise refusals.two_radii(line, first, last, rule, mm)
    if abs(end[a] - start[a]) < _SAME_PLACE and abs(end[b] - start[b]) < _SAME_PLACE:
        turned = list(end)
        turned[a], turned[b] = start[a], start[b]
        end = (turned[0], turned[1], turned[2])
    return (centre[0], centre[1], centre[2]), end


# Private

_AXES = "XYZ"
_CENTRES = "IJK"
_SAME_PLACE = 1e-6
_REST = 1e-9


def _either(letters: str, a: int, b: int) -> str:
    return f"{letters[min(a, b)]} or {letters[max(a, b)]}"
