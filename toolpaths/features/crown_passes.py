"""The passes over a board's rounded top: its surface, where the bit runs on it, and the step between passes.

The radius is linear along the board and the crown level (the trade's rule). All cross-sections are circles about one
apex, so the surface is an oblique cone: straight lines from the apex lie wholly in it, and along each of them the
surface keeps one normal. A bit that touches such a line all along moves straight, and leaves the line exact.
A cylinder is the case of one radius. Derived here; checked in `tests/outside/test_dome_surface.py`.
"""

from __future__ import annotations

import math

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.target_shape.crown_floor import CrownFloor

OVERLAP = 0.9
"""Between passes of a flat end, a part of its diameter, so that no strip stays. Common practice, no source."""
_SMALL = 1e-9


def corner_of(bit: Bit) -> float:
    """Radius of the rounding at a bit's end, mm: a ball's own, 0 of a flat bit."""
    return {"ball": bit.radius, "flat": 0.0}.get(bit.shape, float(getattr(bit, "corner", 0.0)))


def angles(dome: CrownFloor, bit: Bit, scallop: float, reach: tuple[float, float]) -> Array:
    """Angles (N,) from the crown outward, radians, of passes that leave no more than a scallop, mm.

    `reach`: (x, half width there) of the farthest place that must be finished; the last pass lies on or beyond it.
    A rounded end: cusps between circles about two passes, at the greatest radius, where they stand farthest apart.
    A flat end leaves a stair: each pass lies at most a scallop lower than the one before, and touches its strip.
    """
    radius, corner = greatest_radius(dome), corner_of(bit)
    last = math.asin(min(1.0, reach[1] / float(dome.radius(np.asarray(reach[0])))))
    if corner > 0:
        step = 2 * half_step(radius, corner, scallop)
        return np.linspace(0.0, last, max(1, math.ceil(last / step - _SMALL)) + 1)
    # A flat end on the crown itself takes nothing, and on its way out from there would cut into it.
    out = [math.acos(max(1.0 - scallop / radius, -1.0))]
    while out[-1] < last:
        lower = math.acos(max(math.cos(out[-1]) - scallop / radius, -1.0))
        beside = math.sin(out[-1]) + OVERLAP * bit.cut_diameter / radius
        out.append(lower if beside >= 1.0 else min(lower, math.asin(beside)))
    return np.array(out)


def half_step(radius: float, corner: float, scallop: float) -> float:
    """Half of the angle between two passes of a rounded bit on a round top that leave a scallop, radians.

    The cusp stands where both circles meet: with A = R + r and B = R + h, cos(d) = (A^2 + B^2 - r^2) / (2 A B).
    Derived (law of cosines).
    """
    a, b = radius + corner, radius + scallop
    return math.acos(min(1.0, (a * a + b * b - corner * corner) / (2 * a * b)))


def greatest_radius(dome: CrownFloor) -> float:
    """The largest radius between nut and end, mm."""
    return max(dome.nut, dome.end)


def tip_at(dome: CrownFloor, bit: Bit, x: Array, angle: Array, crown: float) -> Array:
    """Where a bit's tip is (N, 3), mm, when it touches the dome at x (N,) on the lines at signed angles (N,).

    The surface's normal there is (b (cos t - 1), sin t, cos t), b = dR/dx, the same all along a line. The rounding's
    middle stands its radius off along it, and the bit's axis beyond that by its flat's radius, outward.
    """
    r, b, corner = dome.radius(x), (dome.end - dome.nut) / dome.length, corner_of(bit)
    touch = np.stack([x, r * np.sin(angle), crown - r * (1 - np.cos(angle))], axis=1)
    normal = np.stack([b * (np.cos(angle) - 1), np.sin(angle), np.cos(angle)], axis=1)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    level = np.hypot(normal[:, 0], normal[:, 1])
    outward = np.where((level > _SMALL)[:, None], normal[:, :2] / np.maximum(level, _SMALL)[:, None], 0.0)
    tip = touch + corner * normal
    tip[:, :2] += (bit.radius - corner) * outward
    tip[:, 2] -= corner
    return tip


def cone_difference(dome: CrownFloor, half_width: float) -> float:
    """How far the linear radius with a level crown strays from a true (right circular) cone at most, mm.

    Both have the same curvature at the crown. Square to its crown line a right cone of half angle a is cut in a conic
    of eccentricity tan a = dR/dx: y^2 = 2 R d - (1 - e^2) d^2, against the circle's y^2 = 2 R d - d^2. Derived.
    """
    e2 = ((dome.end - dome.nut) / dome.length) ** 2
    least = min(dome.nut, dome.end)
    if e2 >= 1 or half_width >= least:
        return math.inf
    circle = least - math.sqrt(least * least - half_width * half_width)
    cone = half_width * half_width / (least + math.sqrt(least * least - (1 - e2) * half_width * half_width))
    return abs(circle - cone)
