"""Cuts that follow the rounded top of a board before it is rounded: their depth, and the path of the tip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show
from toolpaths.features.feature import Feature
from toolpaths.features.line_starts import from_waste
from toolpaths.instrument.boards import board_end
from toolpaths.job.bit import Bit
from toolpaths.job.job import Compound, Instrument
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import cone_of
from toolpaths.operations.operation import Lines
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Floor, Groove, Level

Place = tuple[float, float]

CHORD = 0.002
"""How far the tip's way, in straight pieces, may lie below the curve, mm."""
_EDGE = 1e-3
"""Depth at which a bit's end shows how wide it is, mm."""
_SHORT = 0.02
"""Pieces of a way are longer, mm."""
_REACH = 0.25
"""A pointed bit's groove is described so far beyond its edge, mm: further than any tolerance reaches."""
_BESIDE = 0.5
"""Between the discs of a groove that widens, mm: their tangents stray by less than 0.001."""


def domed(base: Floor, instrument: Instrument) -> CrownFloor:
    """A floor that follows the board's top. Raises FeatureError where the board is flat, or wider than its circle."""
    radius = instrument.board.radius
    if radius is None:
        raise FeatureError("the board has no radius to follow", "give board.radius, or leave `below` out", "below")
    if isinstance(radius, Compound):
        return CrownFloor(base, radius.nut, radius.end, board_end(instrument))
    return CrownFloor(base, radius, radius, board_end(instrument))


def deepest_drop(dome: CrownFloor, lines: Array) -> float:
    """How much lower than the crown the top lies at the ends of lines (N, 2, 2) at most, mm.

    Raises FeatureError where a line ends beyond the circle.
    """
    ends = lines.reshape(-1, 2)
    if np.any(np.abs(ends[:, 1]) >= dome.radius(ends[:, 0])):
        raise FeatureError("the board is wider than a circle of its radius", "give a greater radius", "below")
    return float(dome.drop(ends[:, 0], ends[:, 1]).max())


def tip_way(dome: CrownFloor, bit: Bit, line: Array, floor: float) -> Array:
    """Where a bit's tip runs along a line (2, 2) so that its groove follows the dome: (K, 2) mm.

    Columns: distance from the line's first end, height above the bed. `floor`: the groove's at the crown.
    A bit with a flat end touches the dome with the side that is nearer to the crown, so its tip runs as the dome
    does half its end's width further in. (Derived here: on a dome the highest place under the end lies there.)
    """
    (ax, ay), (bx, by) = line
    length = math.hypot(bx - ax, by - ay)
    end = bit.width_at(_EDGE) / 2
    least = float(np.min(dome.radius(line[:, 0])))
    count = max(2, math.ceil(length / math.sqrt(8 * least * CHORD)))
    s = np.linspace(0.0, length, count + 1)
    if ay * by < 0:
        # Exactly where it is level over the crown, and there alone, the way has corners.
        over = np.array([-end, end]) - ay
        s = np.unique(np.concatenate([s, np.clip(over / (by - ay) * length, 0.0, length)]))
    # A piece as short as the last digit would be written as a move straight down.
    s = np.concatenate([[0.0], s[1:-1][(np.diff(s[:-1]) > _SHORT) & (s[1:-1] < length - _SHORT)], [length]])
    x, y = ax + (bx - ax) * s / length, ay + (by - ay) * s / length
    return np.stack([s, floor - dome.drop(x, np.maximum(np.abs(y) - end, 0.0))], axis=1)


def left_by_end(dome: CrownFloor | None, bit: Bit, lean: float, places: Sequence[Place]) -> float:
    """Greatest height of wood that a flat end leaves beside the middle of a groove that follows the dome, mm.

    At the groove's walls the end has no length along it: there it leaves what the dome falls over half its width, and
    where the groove leans, over as much more as its outer wall lies further out. Derived here: half the end's width
    times 1 + the lean's sine, times the steepest that the dome leans at `places` (x, y), mm.
    """
    if dome is None:
        return 0.0
    x, y = np.asarray(places, dtype=np.float64).T
    outer = 1.0 + abs(lean) / math.hypot(1.0, lean)
    return bit.level_radius * outer * float(dome.slope(x, y).max())


def line_floor(bit: Bit, path: BaseGeometry, z: float, depth: float) -> Floor:
    """The floor that a bit leaves along a path at height z: level, or under a pointed one walls up to its width."""
    width, halfway = bit.width_at(depth), bit.width_at(depth / 2)
    if width - halfway < 1e-9:
        return Level(z)
    rise = depth / (width - halfway)
    return Groove(path, z, width - 2 * depth / rise, rise, width / 2 + _REACH)


def groove_shape(
    bit: Bit, depth: float, dome: CrownFloor | None, ends: tuple[Place, Place], rounded: bool
) -> BaseGeometry:
    """The groove of a bit whose middle goes from one end to the other, as wide as it cuts in the flat face. mm.

    `rounded`: whether the bit's own round is seen at its ends. Under a dome a pointed bit lies deeper towards the
    edges and is wider there: all of its discs together, close beside each other.
    """
    flat, opens = cone_of(bit)
    way = LineString(ends)
    if dome is None or not opens:
        return way.buffer(bit.width_at(depth) / 2, quad_segs=64, cap_style="round" if rounded else "flat")
    x, y = shapely.get_coordinates(shapely.segmentize(way, _BESIDE)).T
    drops = dome.drop(x, np.maximum(np.abs(y) - flat, 0.0))
    wide = np.array([bit.width_at(depth + float(d)) / 2 for d in drops])
    discs = shapely.buffer(shapely.points(x, y), wide, quad_segs=48)
    pairs = shapely.geometrycollections(np.stack([discs[:-1], discs[1:]], axis=1))
    return shapely.union_all(shapely.convex_hull(pairs))


def crowned_lines(
    feature: Feature,
    context: SetupContext,
    title: str,
    lines: Array,
    names: Sequence[str],
    depth: float,
    follows: bool,
    *,
    run_out: bool = False,
) -> tuple[Lines, float]:
    """Grooves along lines (N, 2, 2) of a depth below the flat face, or of the top once it is radiused (`follows`).

    Each begins at its end of lower x, so that slack in the screw stays on one side where it leans; `run_out`: both ends
    lie in waste that has room for a ramp.

    With them: how much lower than the crown the top lies at their ends at most, mm. Raises FeatureError where the
    edges of the bit are shorter than the wood beside its groove is high.
    """
    bit, units, floor = context.bits[feature.bit], context.job.units, context.at_depth(depth)
    lines = np.array([line if line[0, 0] <= line[1, 0] else line[::-1] for line in lines])
    floors: tuple[Array, ...] = ()
    drop = 0.0
    if follows:
        dome = domed(Level(floor), context.job.instrument)
        drop = deepest_drop(dome, lines)
        floors = tuple(tip_way(dome, bit, line, floor) for line in lines)
        title += " below the top once it is radiused"
    if depth + drop > bit.cutting_length + 1e-9:
        raise FeatureError(
            f"it is {show(depth + drop, units)} deep at the edges, and the cutting edges of {feature.bit} are "
            f"{show(bit.cutting_length, units)} long",
            "take a bit with longer edges, cut less deep, or count the depth from the face (`below: face`)",
            "depth",
        )
    lowest = min((float(f[:, 1].min()) for f in floors), default=floor)
    done = Lines(*feature.operation_head(context, title, lowest, slot=True), lines, tuple(names), floors)
    if run_out and not follows:
        done = replace(done, lines=from_waste(context, bit, done.cutting, lines, floor))
    return done, drop
