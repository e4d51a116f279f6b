"""Whether the part is held, holders can stand where they are, and nothing turns too near to them: by brute force.

Bodies are found by flood fill of voxels; clearance by sampling every move. Nothing of the product is used.
Each verdict is True (a fault), False (none) or None (within a tolerance of the limit, so that nothing is claimed).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from scipy import ndimage
from shapely import Point, Polygon, box

from tests.property.plain_part import Part
from tests.support.plain_wood import Array, Flags, Heights, Lay, Read, read_plainly, turning_parts

UNSURE = 0.15
"""Nothing is claimed so near to a limit, mm."""
LEAST = 1.0
"""Height from which wood joins, mm: docs/checks.md, `part-loose`."""
STEP = 0.2
"""Between samples of a move, mm."""
_LEVELS = 1.0
_SEAT, _LIES, _SEAL, _GRIP = 3.0, 0.05, 3.0, 1.0
"""docs/checks.md `holder-place`; docs/holding.md."""

Verdict = bool | None


@dataclass
class Judged:
    """What is found of a set: of each program by its name, and of each setup by its name."""

    loose: dict[str, Verdict] = field(default_factory=dict)
    near: dict[str, Verdict] = field(default_factory=dict)
    placed: dict[str, Verdict] = field(default_factory=dict)
    unplaced: dict[str, Verdict] = field(default_factory=dict)


def judged_plainly(job: dict[str, Any], programs: Sequence[tuple[str, str, str]], pitch: float) -> Judged:
    """Everything of a job's programs (setup, name, text), in their order."""
    out, before = Judged(), None
    for place, setup in enumerate(job["setups"]):
        lay = Lay(Part(job, place))
        texts = [read_plainly(lay, name, text) for of, name, text in programs if of == setup["name"]]
        wood = Heights.of(lay.part.blank, lay.part.top, pitch)
        under = np.zeros_like(wood.z)
        if before is not None and lay.part.flipped:
            # Turned over about x: y changes its sign, and the glue face lies below.
            under = np.maximum(lay.part.glue - before.z[::-1], 0.0)
        out.unplaced[setup["name"]] = setup.get("hold") in ("screws", "clamps")
        out.placed[setup["name"]] = _either(_placed(lay, wood, under))
        for text in texts:
            out.near[text.name] = _either(_near(lay, text))
            if text.on_bed:
                continue
            wood.cut(lay, text)
            out.loose[text.name] = None if out.unplaced[setup["name"]] else loose(lay, text, wood, under)
        before = wood
    return out


def _either(found: Iterator[Verdict]) -> Verdict:
    """A fault if one is; else unsure if one is."""
    known = list(found)
    return True if True in known else None if None in known else False


# Does the part hang on something?


def loose(lay: Lay, text: Read, wood: Heights, under: Array) -> Verdict:
    """Whether the part's body has nothing that holds against lift: with all doubts for it, and all against it."""
    kindly = _free(lay, text, wood, under, LEAST - UNSURE, UNSURE)
    if kindly:
        return True
    return None if _free(lay, text, wood, under, LEAST + UNSURE, -UNSURE) else False


def _free(lay: Lay, text: Read, wood: Heights, under: Array, least: float, grown: float) -> bool:
    # Walls may stand a cell further in; or two further out, for what is thinner than a cell.
    if grown < 0:
        top, under = ndimage.minimum_filter(wood.z, size=3), ndimage.maximum_filter(under, size=3)
    else:
        top, under = ndimage.maximum_filter(wood.z, size=5), ndimage.minimum_filter(under, size=5)
    labels = bodies(top, under, least)
    x, y = wood.places
    inside = shapely.contains_xy(core_of(lay.part), x, y)
    numbers = labels[:, inside]
    numbers = numbers[numbers > 0]
    if not len(numbers):
        return True
    own = (labels == np.bincount(numbers).argmax()).any(axis=0)
    return not any((own & cells).any() for cells in lifting(lay, text, wood, under, grown))


def bodies(top: Array, under: Array, least: float) -> Array:
    """Numbers (levels, rows, cols) of what hangs together in three dimensions.

    A voxel counts where so much wood stands on it: then two beside each other count only where the wood between them
    is so high. Levels are where an underside lies, and every mm between.
    """
    levels = np.unique(np.ceil(np.concatenate([under.ravel(), np.arange(0.0, top.max(), _LEVELS)]) / 0.02)) * 0.02
    solid = (under[None] <= levels[:, None, None]) & (levels[:, None, None] + least <= top[None])
    return np.asarray(ndimage.label(solid)[0])


def core_of(part: Part) -> Polygon:
    """What surely is part: the board, or what lies under it."""
    return part.seen(part.outline.buffer(-0.5))


def lifting(lay: Lay, text: Read, wood: Heights, under: Array, grown: float) -> Iterator[Flags]:
    """Cells (rows, cols) of each thing that holds against lift, its edge moved out by so much."""
    x, y = wood.places
    hold, part = lay.hold, lay.part
    blank = box(*part.blank)

    def cells(shape: Polygon) -> Flags:
        return np.asarray(shapely.contains_xy(shape.buffer(grown), x, y))

    if not text.boring:
        yield from (cells(Point(at).buffer(head / 2)) for at, head, _, _ in screws(lay))
    for clamp in hold.get("clamps", ()):
        if "until" in clamp and not text.boring:
            continue
        foot = foot_on(lay, clamp)
        if clamp.get("presses") == "from the side":
            foot = foot.buffer(_GRIP, join_style="mitre")
        yield cells(foot.intersection(blank))
    lies = (under <= _LIES) & (wood.z > under)
    for key, inside in (("tape", 0.0), ("vacuum", _SEAL)):
        if key in hold:
            mine = lies & (cells(patch(lay, hold[key])) if set(hold[key]) & {"x", "y"} else True)
            by = round((inside - math.copysign(wood.pitch, grown)) / wood.pitch) if inside else 0
            yield np.asarray(ndimage.binary_erosion(mine, np.ones((2 * by + 1, 2 * by + 1))) if by else mine)


def screws(lay: Lay) -> Iterator[tuple[tuple[float, float], float, float, float]]:
    """(place on the blank, head, sunk, head's height) of each."""
    given = lay.hold.get("screws", ())
    bored = "screw_holes" in lay.part.features
    for group in [given] if isinstance(given, dict) else given:
        head, tall = (lay.part.mm(group.get(k, f"{v} mm")) for k, v in (("head", 8), ("head_height", 3.5)))
        for place in group["at"]:
            x, y = (lay.part.mm(v) for v in place)
            yield (x, y) if bored else lay.on_blank(x, y), head, lay.part.mm(group.get("sunk", 0.0)), tall


def rectangle(lay: Lay, it: dict[str, Any]) -> tuple[float, float, float, float]:
    (x0, x1), (y0, y1) = ([lay.part.mm(v) for v in it[k]] for k in ("x", "y"))
    return x0, y0, x1, y1


def turned_back(lay: Lay, of: tuple[float, float, float, float]) -> Polygon:
    x0, y0, x1, y1 = of
    return Polygon([lay.on_blank(*c) for c in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def foot_on(lay: Lay, clamp: dict[str, Any]) -> Polygon:
    return turned_back(lay, rectangle(lay, clamp.get("foot", clamp)))


def patch(lay: Lay, given: dict[str, Any]) -> Polygon:
    far = ["-5000 mm", "5000 mm"]
    return turned_back(lay, rectangle(lay, {"x": given.get("x", far), "y": given.get("y", far)}))


# Can everything stand there?


def _placed(lay: Lay, wood: Heights, under: Array) -> Iterator[Verdict]:
    blank, part = box(*lay.part.blank), lay.part
    top = part.top + lay.under
    for it in lay.hold.get("stops", ()):
        yield _within(turned_back(lay, rectangle(lay, it)), blank, part.mm(it["height"]) > lay.under)
    for it in lay.setup.get("keep_out", ()):
        high = part.mm(it["height"])
        yield _within(turned_back(lay, rectangle(lay, it)), blank, lay.under < high <= top)
    for clamp in lay.hold.get("clamps", ()):
        whole = turned_back(lay, rectangle(lay, clamp))
        if clamp.get("presses") == "from the side":
            yield _within(whole, blank, True)
            away = whole.distance(blank)
            yield None if abs(away - 0.5) < UNSURE else away > 0.5
            continue
        reaches = _within(foot_on(lay, clamp), blank, True)
        yield None if reaches is None else not reaches
        high = part.mm(clamp["height"])
        yield None if abs(high - top) < UNSURE and high != top else high <= top
    x, y = wood.places
    for at, head, sunk, _ in screws(lay):
        inside = Point(at).distance(blank.exterior) * (1 if blank.contains(Point(at)) else -1)
        yield None if abs(inside) < UNSURE else inside < 0
        if inside <= 0:
            continue
        into = head / 2 - Point(at).distance(part.seen(_finished(part)))
        yield None if abs(into) < UNSURE else into > 0
        seats = []
        for grown in (0.0, 0.4):
            near = np.hypot(x - at[0], y - at[1]) <= head / 2 + grown
            seats.append(part.top - sunk - float(under[near & (under < part.top)].max(initial=0.0)))
        sure = {s < _SEAT - UNSURE for s in seats} | {s < _SEAT + UNSURE for s in seats}
        yield None if len(sure) > 1 and seats != [_SEAT, _SEAT] else seats[0] < _SEAT
    for pin in lay.hold.get("pins", {}).get("at", ()):
        px, py = lay.on_blank(part.mm(pin["x"]), part.mm(pin["y"]))
        deep = float(under[np.hypot(x - px, y - py) <= part.mm(pin["diameter"]) / 4].max(initial=0.0))
        over = part.mm(lay.hold["pins"]["height"]) - lay.under - deep
        yield None if 0 < abs(over) < UNSURE else over > 0
    for key in ("tape", "vacuum"):
        if key in lay.hold:
            over = _within(patch(lay, lay.hold[key]), blank, True)
            yield None if over is None else not over


def _finished(part: Part) -> Polygon:
    return part.outline


def _within(shape: Polygon, blank: Polygon, counts: bool) -> Verdict:
    """Whether a shape reaches into the blank."""
    if not counts:
        return False
    shared = shape.intersection(blank)
    if shared.area <= 1e-6:
        return False
    x0, y0, x1, y1 = shared.bounds
    return None if min(x1 - x0, y1 - y0) < UNSURE else True


# Does anything turn too near?


def _near(lay: Lay, text: Read) -> Iterator[Verdict]:
    parts, clear = turning_parts(lay.part, text.bit), lay.clearance
    points = _samples(text, max(p.top for p in [*obstacles(lay, text), _NONE]) + clear + 1.0)
    for it in obstacles(lay, text):
        aside = np.hypot(*(np.maximum(np.abs(points[:, k] - it.middle[k]) - it.half[k], 0.0) for k in (0, 1)))
        for radius, rises in parts:
            beside = aside - radius - it.radius - clear
            above = points[:, 2] + rises - it.top - clear
            slack = float(np.maximum(beside, above).min(initial=math.inf))
            yield None if abs(slack) < UNSURE and not _touches(slack) else slack < 0


def _touches(slack: float) -> bool:
    """Exactly at the limit, as a head at the clearance below a planed face is: that is not nearer."""
    return 0 <= slack < 1e-9


@dataclass(frozen=True)
class Upright:
    """A box about its middle, or a cylinder, from the bed up to a height."""

    middle: tuple[float, float]
    half: tuple[float, float]
    radius: float
    top: float


_NONE = Upright((0.0, 0.0), (0.0, 0.0), 0.0, -math.inf)


def obstacles(lay: Lay, text: Read) -> list[Upright]:
    """Everything that stands there while a program runs, at the machine."""
    part, hold, out = lay.part, lay.hold, []
    boxes = [*lay.setup.get("keep_out", ()), *hold.get("stops", ())]
    if not text.on_bed:
        boxes += [c for c in hold.get("clamps", ()) if "until" not in c or text.boring]
    for it in boxes:
        x0, y0, x1, y1 = rectangle(lay, it)
        high = part.mm(it["height"]) - lay.under
        out.append(Upright(((x0 + x1) / 2, (y0 + y1) / 2), ((x1 - x0) / 2, (y1 - y0) / 2), 0.0, high))
    if not text.on_bed and not text.boring:
        for at, head, sunk, tall in screws(lay):
            out.append(Upright(lay.at_machine(*at), (0.0, 0.0), head / 2, part.top - sunk + tall))
    if not text.on_bed and "pins" in hold:
        for pin in hold["pins"].get("at", ()):
            place = part.mm(pin["x"]), part.mm(pin["y"])
            high = part.mm(hold["pins"]["height"]) - lay.under
            out.append(Upright(place, (0.0, 0.0), part.mm(pin["diameter"]) / 2, high))
    return out


def _samples(text: Read, below: float) -> Array:
    """Places (N, 3) along all moves that are lower than that anywhere."""
    low = np.minimum(text.start[:, 2], text.end[:, 2]) < below
    start, end = text.start[low], text.end[low]
    if not len(start):
        return np.zeros((0, 3))
    count = np.maximum(1, np.ceil(np.linalg.norm(end - start, axis=1) / STEP)).astype(np.int64) + 1
    which = np.repeat(np.arange(len(start)), count)
    step = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    return np.asarray(start[which] + (end - start)[which] * (step / np.maximum(count[which] - 1, 1))[:, None])
