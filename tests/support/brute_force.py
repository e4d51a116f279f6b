"""Heights found the plain way: a move sampled closer and closer, and the bit set down at every sample."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.drill import Drill
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.tapered_ball import TaperedBall
from toolpaths.job.bits.vee import Vee

Array = NDArray[np.float64]

STEP = 0.001
_FIRST = 0.02
"""Between the first samples, mm."""
_CLOSER = np.linspace(-1, 1, 81)
_TIMES = 3
NEVER_ABOVE = 5e-7
"""What an exact height may stand above a sampled one, mm: the rounding of float32 near 10 mm."""


def sampled_height(bit: Bit, start: Array, end: Array, points: Array) -> Array:
    """Heights (N,) that one move from `start` to `end` (3,) leaves at points (N, 2); infinite out of reach. mm.

    Along a straight move the height over a place is convex, for the bits are: its lowest is beside the lowest sample.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    way = end - start
    count = max(2, int(np.ceil(np.linalg.norm(way) / _FIRST)) + 1)
    square = float(way[:2] @ way[:2])
    # Where the bit comes nearest: it may touch a place there alone, between two samples.
    nearest = np.clip((points - start[:2]) @ way[:2] / square, 0, 1) if square else np.zeros(len(points))
    parts = np.column_stack([np.tile(np.linspace(0, 1, count), (len(points), 1)), nearest])
    out, apart = np.full(len(points), np.inf), 1 / (count - 1)
    for _ in range(1 + _TIMES):
        x, y, z = (start[k] + way[k] * parts for k in range(3))
        heights = z + bit.height_at(np.hypot(x - points[:, :1], y - points[:, 1:]))
        lowest = np.argmin(heights, axis=1)[:, None]
        out = np.minimum(out, np.take_along_axis(heights, lowest, axis=1)[:, 0])
        # Round bits stand upright at their rim: once more, forty times as close.
        parts = np.clip(np.take_along_axis(parts, lowest, axis=1) + apart * _CLOSER, 0, 1)
        apart *= 2 / (len(_CLOSER) - 1)
    return out


def sampling_error(bit: Bit) -> float:
    """How far above the truth a sampled height may lie, mm.

    Half a step, times the steepest that the height changes; at a round bit's upright rim sqrt(2 R s) for a step s.
    """
    if isinstance(bit, Ball | Bull):
        return STEP + float(np.sqrt(2 * bit.radius * STEP / 1000))
    spread = getattr(bit, "spread", None)
    return STEP * (1 + (1 / spread if spread else 0.0))


def some_bits() -> dict[str, Bit]:
    """A bit of every kind that behaves differently."""
    common = {"cutting_length": 20, "shank": 6, "stickout": 30}
    return {
        "flat": Flat(shape="flat", diameter=3, **common),
        "sharp vee": Vee(shape="vee", diameter=4, angle=60, **common),
        "tipped vee": Vee(shape="vee", diameter=5, angle=90, tip=1, **common),
        "blunt vee": Vee(shape="vee", diameter=6, angle=150, tip=0.2, **common),
        "ball": Ball(shape="ball", diameter=6, **common),
        "bull": Bull(shape="bull", diameter=6, corner=1.2, **common),
        "almost a ball": Bull(shape="bull", diameter=4, corner=1.9, **common),
        "tapered ball": TaperedBall(shape="tapered ball", diameter=4, tip=1.5, angle=20, **common),
        "drill": Drill(shape="drill", diameter=5, **common),
    }


KINDS = ("level", "ramp", "steep", "down", "still", "along x", "along y", "ramp along x", "nearly upright")


def some_move(kind: str, rng: np.random.Generator, reach: float = 5.0) -> tuple[Array, Array]:
    """Start and end (3,) of a random move of a kind, within +-reach mm in plan and 0 to 4 mm in height."""
    a = np.append(rng.uniform(-reach, reach, 2), rng.uniform(0, 4))
    b = np.append(rng.uniform(-reach, reach, 2), rng.uniform(0, 4))
    if kind in ("level", "along x", "along y"):
        b[2] = a[2]
    if kind in ("along x", "ramp along x"):
        b[1] = a[1]
    if kind == "along y":
        b[0] = a[0]
    if kind == "down":
        b[:2] = a[:2]
    if kind == "still":
        b = a.copy()
    if kind == "steep":
        b[:2] = a[:2] + (b[:2] - a[:2]) * 0.05
    if kind == "nearly upright":
        b[:2] = a[:2] + 1e-9
    return a, b


def moves_of(starts: list[Array], ends: list[Array], bits: list[int]) -> Moves:
    """Moves from lists of places (3,) and bit numbers."""
    n = np.arange(len(bits), dtype=np.int64)
    start, end = np.array(starts, dtype=np.float64), np.array(ends, dtype=np.float64)
    return Moves(start.reshape(-1, 3), end.reshape(-1, 3), n, np.array(bits, dtype=np.int64))
