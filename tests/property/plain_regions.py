"""Where each feature of a job may and must cut: one function a feature, from the words of its page."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import shapely
from shapely import Polygon, box

from tests.property.plain_part import FAR, RAMP, RUN, Part, Region, capsule, disc, everywhere_but, strip

Given = dict[str, Any]
USUAL = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24)
_SLICES = 8
_GRID = 0.1
"""Floors that follow a round top are allowed down to the next step of so much, mm: few heights are looked at then."""


def regions(part: Part) -> list[Region]:
    """All regions of a setup, as seen at the machine. Planing is none: it leaves the face; the bed is no wood of it."""
    found = [
        r
        for key, given in part.features.items()
        if key not in ("plane", "bed_bores")
        for r in _REGIONS[key](part, given)
    ]
    return [replace(r, shape=part.seen(r.shape)) for r in found]


def _lines(part: Part, given: Given) -> Iterator[Region]:
    first = 0 if part.instrument.get("zero_fret") else 1
    yield from _grooves(part, "score_lines", given, part.mm(given["depth"]), first, None)


def _slots(part: Part, given: Given) -> Iterator[Region]:
    if "tang" in given:
        depth = part.mm(given["tang"]["height"]) + (part.mm(given["clearance"]) if "clearance" in given else 0.4)
        width = part.mm(given["tang"]["width"]) + part.mm(given.get("fit", 0.0))
    else:
        depth, width = part.mm(given["depth"]), None
    yield from _grooves(part, "fret_slots", given, depth, 1, width)


def _grooves(part: Part, feature: str, given: Given, depth: float, first: int, width: float | None) -> Iterator[Region]:
    """A groove at L (1 - 2^(-n/12)) for every fret, in slices across where its floor follows a round top."""
    bit, follows = part.bit(given["bit"]), given.get("below") == "radius"
    wide, grow = 2 * bit.radius if width is None else max(width, 2 * bit.radius), 0.0
    if bit.kind == "vee":
        wide, grow = bit.tip, _tangent(bit.angle)
    blind = part.mm(given["ends"]["blind"]) if isinstance(given.get("ends"), dict) else None
    for n in given.get("frets", range(first, part.instrument["frets"] + 1)):
        line = part.line(n)
        (_, y0), (_, y1) = part.ends(line)
        # A V is as wide at the top of the deepest place as it gets; there it also begins to run out.
        spare = 0.0 if bit.kind != "vee" else grow * (depth + (_deepest(part, line) if follows else 0.0)) + bit.tip / 2
        beyond = 2 * max(bit.radius if bit.kind == "flat" else spare, spare) + RUN
        if blind is None:
            y0, y1 = y0 - beyond, y1 + beyond
            if not follows:
                for a, b in ((y0 - RAMP, y0), (y1, y1 + RAMP)):
                    low = part.floor(depth)
                    yield Region(feature, strip(line, a, b, wide), low, low, bit, False, grow)
        else:
            # The bit's round end stays so far from the edge, square to it: its middle lies further in along the line.
            taper, radius = part.frets.taper, bit.tip / 2 if bit.kind == "vee" else bit.radius
            back = [
                (blind + radius) * math.hypot(1.0, taper) / (1 - side * taper * line[1]) - radius for side in (-1, 1)
            ]
            y0, y1 = y0 + back[0], y1 - back[1]
        # A blind V groove's own tip stops short by half of what it is wide there.
        count = _SLICES if follows else 1
        for k in range(count):
            a, b = y0 + (y1 - y0) * k / count, y0 + (y1 - y0) * (k + 1) / count
            sags = [part.drop(line[0] + line[1] * y, y) for y in (a, b)] if follows else [0.0]
            if follows and a < 0 < b:
                sags.append(0.0)
            low, high = part.floor(depth + _step(max(sags))), part.floor(depth + min(sags))
            exact = blind is None and not follows and bit.kind == "flat"
            yield Region(feature, strip(line, a, b, wide), low, high, bit, exact, grow)


def _step(sag: float) -> float:
    return math.ceil(sag / _GRID - 1e-9) * _GRID


def _deepest(part: Part, line: tuple[float, float]) -> float:
    return max(part.drop(x, y) for x, y in part.ends(line))


def _tangent(angle: float) -> float:
    return math.tan(math.radians(angle / 2))


def _radius(part: Part, given: Given) -> Iterator[Region]:
    """Everything over the board, no lower than the lowest place of the top: the rest is judged cell by cell."""
    bit = part.bit(given["bit"])
    x0, y0, x1, y1 = part.outline.bounds
    aside = 2 * bit.radius + 4
    around = box(x0 - aside, y0 - aside, x1 + aside, y1 + aside)
    # A rounded bit's tip lies further out, and lower, than the place where it touches.
    low = part.floor(max(part.drop(x, part.half(x) + 2 + bit.radius) for x in (x0 - 1, x1 + 1)))
    yield Region("radius", around, low, part.floor(0.0), bit, exact=False)


def _markers(part: Part, given: Given) -> Iterator[Region]:
    bit, shape, floor = part.bit(given["bit"]), given.get("shape", "round"), part.floor(part.mm(given["depth"]))
    frets = given.get("frets", [f for f in USUAL if f <= part.instrument["frets"]])
    doubles = given.get("doubles", [] if shape == "trapezoid" else [12, 24])
    for n in frets:
        before, after = part.line(n - 1), part.line(n)
        if "row" in given or shape != "round":
            # Somewhere in its space, on the board.
            (a, b), (c, d) = part.ends(before), part.ends(after)
            yield Region("marker_pockets", Polygon([a, c, d, b]).buffer(3.0), floor, floor, bit, exact=False)
            continue
        middle = (before[0] + after[0]) / 2
        aside = part.half(middle) / 2 if "double_spacing" not in given else part.mm(given["double_spacing"]) / 2
        for y in (-aside, aside) if n in doubles else (0.0,):
            x = (before[0] + before[1] * y + after[0] + after[1] * y) / 2
            yield Region("marker_pockets", disc(x, y, part.mm(given["diameter"])), floor, floor, bit)


def _bores(part: Part, given: Given) -> Iterator[Region]:
    bit = part.bit(given["bit"])
    floor = part.floor(part.mm(given["depth"])) if "depth" in given else -FAR
    if part.flipped:
        floor = -FAR if "depth" not in given else floor
    for at in given["at"]:
        x, y, width = (
            (at["x"], at["y"], at.get("diameter", given.get("diameter")))
            if isinstance(at, dict)
            else (*at, given.get("diameter"))
        )
        yield Region("bores", disc(part.mm(x), part.mm(y), part.mm(width)), floor, max(floor, 0.0), bit)
        if "counterbore" in given:
            wide, deep = (part.mm(given["counterbore"][k]) for k in ("diameter", "depth"))
            yield Region("bores", disc(part.mm(x), part.mm(y), wide), part.floor(deep), part.floor(deep), bit)


def _screw_holes(part: Part, given: Given) -> Iterator[Region]:
    """Half a mm wider than the thread, and a mm wider than a sunk head; places are as seen at the machine."""
    bit = part.bit(given["bit"])
    groups = part.hold["screws"]
    for group in [groups] if isinstance(groups, dict) else groups:
        thread, head, sunk = (
            part.mm(group.get(k, v)) for k, v in (("diameter", "4 mm"), ("head", "8 mm"), ("sunk", 0))
        )
        through = part.mm(given["diameter"]) if "diameter" in given else thread + 0.5
        wide = part.mm(given["head"]) if "head" in given else head + 1.0
        for place in group["at"]:
            x, y = (part.mm(v) for v in place)
            yield Region("screw_holes", part.seen(disc(x, y, through)), -FAR, 0.0, bit)
            if sunk:
                floor = part.top - sunk
                yield Region("screw_holes", part.seen(disc(x, y, wide)), floor, floor, bit)


def _nut_slot(part: Part, given: Given) -> Iterator[Region]:
    bit, floor = part.bit(given["bit"]), part.floor(part.mm(given["depth"]))
    x, lean = part.front
    width, edge = part.mm(given["width"]), part.mm(given.get("edge", 0.0))
    half = 80.0
    at = x + edge - width / 2 * math.hypot(1.0, lean)
    yield Region("nut_slot", strip((at, lean), -half, half, width), floor, floor, bit, exact=False)


def _outline(part: Part, given: Given) -> Iterator[Region]:
    bit = part.bit(given["bit"])
    floor = part.floor(part.mm(given["depth"])) if "depth" in given else -FAR
    if part.job["part"] == "board":
        whole = part.outline
        kerf = whole.buffer(2 * bit.radius, quad_segs=64).difference(whole)
        tabs = part.mm(given["tabs"]["height"]) if "tabs" in given else 0.0
        yield Region("outline", everywhere_but(whole), floor, floor, bit, exact=False)
        yield Region("outline", kerf, floor, max(floor, tabs, 0.0), bit)
        return
    yield Region("outline", everywhere_but(_core(part)), floor, floor, bit, exact=False)


def _core(part: Part) -> Polygon:
    """What surely belongs to a neck: the shaft under the board."""
    x0, x1 = max(part.front[0], 0.0) + 1, part.far[0] - 1
    a, b = part.half(x0) - 0.01, part.half(x1) - 0.01
    low = min(a, b) if part.frets.bass != part.frets.treble else None
    a, b = (low, low) if low is not None else (a, b)
    lean = abs(part.far[1]) * b
    return Polygon([(x0 + lean, -a), (x1 - lean, -b), (x1 - lean, b), (x0 + lean, a)])


def _along(part: Part, value: Any) -> float:
    if isinstance(value, str) and value.startswith("fret"):
        return part.line(int(value.split()[1]))[0]
    return part.mm(value)


def _channel(part: Part, given: Given) -> Iterator[Region]:
    bit, width = part.bit(given["bit"]), part.mm(given["width"])
    x0, x1 = _along(part, given["from"]), _along(part, given["to"])
    wide = width if abs(width - 2 * bit.radius) > 0.021 else 2 * bit.radius
    level = "floor" not in given
    deep = part.mm(given["depth"]) if level else part.mm(given["floor"]["middle"])
    low = part.floor(deep)
    squared = given.get("ends") == "squared"
    shape = box(x0, -wide / 2, x1, wide / 2) if squared else capsule(x0, 0.0, x1, 0.0, wide)
    adjuster = given.get("adjuster")
    if adjuster:
        long, across, down = (part.mm(adjuster[k]) for k in ("length", "width", "depth"))
        # The channel's end and the pocket's are one another's: allowed here, judged by the product's own target.
        pocket = box(x1 - across, -across / 2, x1 + long, across / 2)
        yield Region("truss_rod_channel", pocket, part.floor(down), low, bit, exact=False)
        shape = box(x0, -wide / 2, x1 + long, wide / 2) if squared else capsule(x0, 0.0, x1 + long, 0.0, wide)
    yield Region("truss_rod_channel", shape, low, low, bit, exact=level and not adjuster)


def _bars(part: Part, given: Given) -> Iterator[Region]:
    bit, width = part.bit(given["bit"]), part.mm(given["width"])
    wide = width if abs(width - 2 * bit.radius) > 0.021 else 2 * bit.radius
    x0, x1 = _along(part, given["from"]), _along(part, given["to"])
    floor, aside = part.floor(part.mm(given["depth"])), part.mm(given["offset"])
    rise = part.frets.taper * (x1 - x0) if given.get("follow") == "taper" else 0.0
    for side in (-1, 1):
        shape = capsule(x0, side * aside, x1, side * (aside + rise), wide)
        yield Region("reinforcement_slots", shape, floor, floor, bit, exact=rise == 0.0)


def _head(part: Part, given: Given) -> Iterator[Region]:
    bit, wall = part.bit(given["bit"]), part.mm(given["from"])
    floor = part.floor(part.mm(given["drop"]))
    yield Region("headstock_face", box(-FAR, -FAR, wall, FAR), floor, floor, bit, exact=False)


def _head_back(part: Part, given: Given) -> Iterator[Region]:
    """As thick below its own face as it is to be, from 25 mm behind the nut line on."""
    head, bit = part.instrument["neck"]["headstock"], part.bit(given["bit"])
    drops = [f["headstock_face"]["drop"] for s in part.job["setups"] for f in s["features"] if "headstock_face" in f]
    floor = part.floor(part.mm(head["thickness"]) + (part.mm(drops[0]) if drops else 0.0))
    yield Region("headstock_back", box(-FAR, -FAR, -25.0, FAR), floor, floor, bit, exact=False)
    foot = -25.0 - (part.mm(given["ramp"]) if "ramp" in given else 0.0)
    half = part.mm(head["width"]) / 2
    yield Region("headstock_back", box(-part.mm(head["length"]), -half, foot, half), floor, floor, bit)


def _seat(part: Part, given: Given) -> Iterator[Region]:
    """The heel's rectangle, and beside it and past its end the bit's radius and 1 mm."""
    heel, bit = part.instrument["neck"]["heel"], part.bit(given["bit"])
    x0, x1, half = part.mm(heel["from"]), part.mm(heel["to"]), part.mm(heel["width"]) / 2
    floor = part.floor(part.mm(heel["thickness"]) - part.mm(part.instrument["board"]["thickness"]))
    out = bit.radius + 1.0
    yield Region("heel_face", box(x0, -half - out, x1 + out, half + out), floor, floor, bit, exact=False)
    yield Region("heel_face", box(x0, -half, x1, half), floor, floor, bit)


_REGIONS: dict[str, Callable[[Part, Given], Iterator[Region]]] = {
    "score_lines": _lines,
    "fret_slots": _slots,
    "radius": _radius,
    "marker_pockets": _markers,
    "pin_bores": _bores,
    "tuner_bores": _bores,
    "bolt_bores": _bores,
    "screw_holes": _screw_holes,
    "nut_slot": _nut_slot,
    "outline": _outline,
    "truss_rod_channel": _channel,
    "reinforcement_slots": _bars,
    "headstock_face": _head,
    "headstock_back": _head_back,
    "heel_face": _seat,
}


def allowed(found: list[Region], z: float) -> Polygon:
    """Where something may be cut lower than z."""
    return shapely.union_all([r.at(z) for r in found if r.low < z])
