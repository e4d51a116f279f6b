"""Closed forms that several tests measure the package against, and what it packs, unpacked."""

from __future__ import annotations

import base64
import math
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolpaths.job.machine import Machine
from toolpaths.operations.cutting_forces import second_moment
from toolpaths.operations.machine_motion import driven

Array = NDArray[np.float64]


def trapezoid_seconds(distance: float, speed: float, acceleration: float) -> float:
    """Seconds for a straight move from rest to rest, mm, mm/s and mm/s2.

    d / v + v / a where it reaches its speed (d >= v^2 / a), else 2 sqrt(d / a).
    Source: uniformly accelerated motion.
    """
    if distance >= speed * speed / acceleration:
        return distance / speed + speed / acceleration
    return 2.0 * math.sqrt(distance / acceleration)


def corner_speed(interior_angle_degrees: float, acceleration: float, deviation: float) -> float:
    """Speed in mm/s at which a corner is passed without stopping; infinite on a straight line, 0 on a reversal.

    Junction deviation: the corner is taken as if on a circle that touches both legs and passes `deviation` mm
    from their meeting point. R = e s / (1 - s) with s = sin(theta / 2), v = sqrt(a R).
    Source: derived from that circle.
    """
    s = math.sin(math.radians(interior_angle_degrees) / 2)
    return math.inf if s >= 1.0 else math.sqrt(acceleration * deviation * s / (1.0 - s))


def travel_seconds(points: Array, feeds: Array, machine: Machine) -> Array:
    """Seconds of each straight move along a path that starts and ends at rest; see `driven`. Returns (N - 1,)."""
    return driven(points, feeds, machine).seconds


def reached_feeds(points: Array, feeds: Array, machine: Machine) -> tuple[Array, Array]:
    """(peak, mean) feed of each move as truly reached, mm/min, each (N - 1,); see `driven`.

    In a short move both lie below the feed that was asked for: chips are thinner there.
    """
    drive = driven(points, feeds, machine)
    return drive.peak, drive.mean


def cantilever(force: float, length: float, diameter: float, elasticity: float) -> float:
    """How far a round bar leans at its free end, mm: F L^3 / (3 E I); N, mm, mm and N/mm2.

    Source: elementary mechanics.
    """
    return force * length**3 / (3.0 * elasticity * second_moment(diameter))


def scallop_of(radius: float, corner: float, step: float) -> float:
    """Height of the cusps between passes `step` radians apart on a round top, mm: `half_step` turned around."""
    a, half = radius + corner, step / 2
    return a * math.cos(half) - math.sqrt(corner * corner - (a * math.sin(half)) ** 2) - radius


def unpacked(data: dict[str, Any]) -> NDArray[Any]:
    """The flat array again."""
    raw = base64.b64decode(data["data"])
    return np.frombuffer(zlib.decompress(raw) if data["deflated"] else raw, dtype=f"<{data['kind']}")
