"""What an instrument's jobs use up, with sizes: from the wood that they take and the shapes that they ask for.

Allowances are common practice, no source.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, unique

import numpy as np
import shapely
from shapely import Polygon

from toolpaths.instrument.boards import board_end, corners, crossings, half_width, radius_at
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.rods import GLUE, body_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.target_shape.demand import Demand, Region
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.ready import Ready, blanks_of
from toolpaths.workshop.step import Piece

ROUGH = (25.0, 6.0, 3.0)
"""How much longer, wider and thicker wood is bought than its blank, to be planed and squared, mm."""
WIRE_OVER = 3.0
"""How far fret wire stands over at each end before it is cut off, mm."""
STRIP_OVER = 20.0
"""How much longer a strip of binding, or a rod for dots, is bought than what stays, mm."""


@unique
class Goods(Enum):
    """What is bought."""

    wood = "wood"
    wire = "wire"
    rod = "rod"
    bar = "bar"
    binding = "binding"
    filler = "filler"
    dots = "dots"
    nut = "nut"
    tuner = "tuner"
    bolt = "bolt"
    locating = "locating pin"
    """Between board and neck."""
    screw = "screw"
    pin = "pin"
    """In bed or jig, and the dowels of a jig."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the list. `count` pieces, each of these sizes, mm, as far as they are known.

    `length`, `width` (from, to) and `height`: of a blank its finished size, of a rod the room in its channel, of wire
    and dots all of it together; `rough`: length, width and height as bought; `volume`: mm3 in all; `setup`: of a
    sheet for inlays; `of`: the wood's name, or the kind of a rod; `as_sold`: of rod and bars, whether the sizes are
    those that the instrument has.
    """

    goods: Goods
    piece: Piece
    count: int
    length: float | None = None
    width: tuple[float, float] | None = None
    height: tuple[float, float] | None = None
    diameter: float | None = None
    rough: tuple[float, float, float] | None = None
    volume: float | None = None
    setup: str = ""
    of: str = ""
    as_sold: bool = False


def to_buy(outcomes: Mapping[Piece, Outcome], ready: Ready) -> tuple[Item, ...]:
    """The list, piece by piece: only what the jobs ask for. `ready`: what they are held by."""
    out: list[Item] = []
    for piece, outcome in outcomes.items():
        out += _wood(piece, outcome)
        if piece == "board":
            out += _of_board(outcome)
        if piece == "neck":
            out += _of_neck(outcome)
    out += _locating(outcomes)
    out += _holders(outcomes, ready)
    return tuple(out)


def wire_lengths(instrument: Instrument) -> list[float]:
    """Length of each fret over the finished board, mm, from the nut on, measured along the radiused top.

    On a radiused top the arc across, 2 R asin(w / 2 R), and a slanted fret's way along the neck square to it:
    elementary geometry, of a cylinder unrolled.
    """
    out: list[float] = []
    for n in range(0 if instrument.zero_fret else 1, instrument.frets + 1):
        line = fret_line(instrument, n)
        (x0, y0), (x1, y1) = crossings(instrument, line)
        radius, across = radius_at(instrument.board, instrument, line.x), abs(y1 - y0)
        if radius is not None:
            across = 2 * radius * math.asin(min(1.0, across / (2 * radius)))
        out.append(math.hypot(across, x1 - x0))
    return out


# Private


def _wood(piece: Piece, outcome: Outcome) -> Iterator[Item]:
    for blank in blanks_of(piece, outcome):
        rough = (blank.length + ROUGH[0], blank.width + ROUGH[1], blank.thickest + ROUGH[2])
        yield Item(
            Goods.wood,
            piece,
            1,
            length=blank.length,
            width=(blank.width, blank.width),
            height=(blank.thinnest, blank.thickest),
            rough=rough,
            setup=blank.setup,
            of=blank.wood,
        )


def _of_board(outcome: Outcome) -> Iterator[Item]:
    instrument = outcome.job.instrument
    wire = wire_lengths(instrument)
    total = sum(wire) + 2 * WIRE_OVER * len(wire)
    yield Item(Goods.wire, "board", len(wire), length=total, width=(min(wire), max(wire)))
    if instrument.board.binding:
        x0, x1 = 0.0, board_end(instrument)
        edge = math.hypot(x1 - x0, float(half_width(instrument, x1)) - float(half_width(instrument, x0)))
        thick = instrument.board.thickness
        yield Item(
            Goods.binding,
            "board",
            2,
            length=edge + STRIP_OVER,
            width=(instrument.board.binding, instrument.board.binding),
            height=(thick, thick),
        )
    yield from _inlays("board", outcome)


def _of_neck(outcome: Outcome) -> Iterator[Item]:
    yield from _rod(outcome)
    yield from _bars(outcome)
    yield from _nut(outcome)
    yield from _inlays("neck", outcome)
    tuners = _wanted(outcome, CutKind.tuner_hole)
    holes = sorted({round(d.across, 3) for _, d in tuners})
    one = holes[0] if len(holes) == 1 else None
    yield Item(Goods.tuner, "neck", outcome.job.instrument.strings, diameter=one)
    yield from _bolts(outcome)


def _rod(outcome: Outcome) -> Iterator[Item]:
    """The rod as the instrument has it; else the room that its channel and its adjuster's pocket give it."""
    channel, neck = _wanted(outcome, CutKind.rod_channel), outcome.job.instrument.neck
    if neck is not None and neck.rod is not None:
        (wide, deep), long = body_of(neck.rod), neck.rod.length
        yield Item(Goods.rod, "neck", 1, long, (wide, wide), (deep, deep), of=neck.rod.kind, as_sold=True)
        return
    if not channel:
        return
    whole = [*channel, *_wanted(outcome, CutKind.adjuster_pocket)]
    x0, _, x1, _ = shapely.union_all([d.asked for _, d in whole]).bounds
    width = min(d.across for _, d in channel)
    height = _span(_depth(s, d) for s, d in channel)
    yield Item(Goods.rod, "neck", 1, x1 - x0, (width, width), height)


def _bars(outcome: Outcome) -> Iterator[Item]:
    """The bars as the instrument has them; else as long as their slots over the rounded ends, with room for glue."""
    neck, count = outcome.job.instrument.neck, len(_wanted(outcome, CutKind.bar_slot))
    if neck is not None and neck.bars is not None and count:
        bars = neck.bars
        wide, deep = (bars.width, bars.width), (bars.depth, bars.depth)
        yield Item(Goods.bar, "neck", count, bars.length, wide, deep, as_sold=True)
        return
    slots = ((*_box(d.asked), _depth(s, d)[0]) for s, d in _wanted(outcome, CutKind.bar_slot))
    alike = Counter((round(length, 2), round(width, 3), round(low, 3)) for length, width, low in slots)
    for (length, width, low), number in alike.items():
        yield Item(Goods.bar, "neck", number, length, (width - GLUE[1], width - GLUE[0]), (low, low))


def _nut(outcome: Outcome) -> Iterator[Item]:
    for _, demand in _wanted(outcome, CutKind.nut_slot)[:1]:
        _, thick = _box(demand.asked)
        long = 2 * float(half_width(outcome.job.instrument, 0.0))
        yield Item(Goods.nut, "neck", 1, length=long, width=(thick, thick))


def _bolts(outcome: Outcome) -> Iterator[Item]:
    sizes = Counter(round(d.across, 3) for _, d in _wanted(outcome, CutKind.bolt_hole))
    for size, count in sorted(sizes.items()):
        yield Item(Goods.bolt, "neck", count, diameter=size)


def _locating(outcomes: Mapping[Piece, Outcome]) -> Iterator[Item]:
    """Pins between board and neck: their holes lie in the glue face, within the finished board."""
    piece: Piece = "neck" if "neck" in outcomes else "board"
    outcome = outcomes.get(piece)
    if outcome is None:
        return
    board = Polygon(corners(outcome.job.instrument))
    inside = [
        d
        for s, d in _wanted(outcome, CutKind.pin_hole)
        if not (s.context.flipped or s.context.apart) and board.contains(d.asked)
    ]
    for size, count in sorted(Counter(round(d.across, 3) for d in inside).items()):
        yield Item(Goods.locating, piece, count, diameter=size)


def _holders(outcomes: Mapping[Piece, Outcome], ready: Ready) -> Iterator[Item]:
    """Waste screws; pins, each diameter as many as one setup takes; the dowels of a jig."""
    for screws in ready.screws:
        yield Item(Goods.screw, screws.piece, screws.count, length=screws.longest, diameter=screws.diameter)
    most: dict[tuple[Piece, float, float | None], int] = {}
    for pin in ready.pins:
        key = (pin.piece, pin.diameter, pin.length)
        most[key] = max(most.get(key, 0), pin.count)
    for (piece, diameter, length), count in most.items():
        yield Item(Goods.pin, piece, count, length=length, diameter=diameter)
    jig = outcomes.get("jig")
    dowels = [] if jig is None else [round(d.across, 3) for _, d in _wanted(jig, CutKind.stop_pin)]
    for diameter, count in sorted(Counter(dowels).items()):
        yield Item(Goods.pin, "jig", count, diameter=diameter)


def _inlays(piece: Piece, outcome: Outcome) -> Iterator[Item]:
    """What goes into markers and dots; pieces of a sheet of their own are cut from it."""
    from_sheet = bool(_wanted(outcome, CutKind.inlay_piece))
    markers = _wanted(outcome, CutKind.marker)
    if markers and not from_sheet:
        sizes = {round(d.across, 3) for _, d in markers}
        yield Item(
            Goods.filler,
            piece,
            len(markers),
            width=(min(sizes), max(sizes)),
            height=_span(_depth(s, d) for s, d in markers),
            volume=sum(d.asked.area * _depth(s, d)[1] for s, d in markers),
        )
    dots = _wanted(outcome, CutKind.side_dot)
    if dots:
        length = sum(_depth(s, d)[1] for s, d in dots) + STRIP_OVER
        yield Item(Goods.dots, piece, len(dots), length=length, diameter=round(dots[0][1].across, 3))


def _wanted(outcome: Outcome, kind: CutKind) -> list[tuple[SetupReport, Demand]]:
    """The demands of a kind, each with its setup."""
    return [(s, d) for s in outcome.setups for d in s.demands if d.kind is kind]


def _depth(setup: SetupReport, demand: Demand) -> tuple[float, float]:
    """How deep a floor lies under the face that its setup begins at, mm: least and most, at its ends and its middle."""
    context = setup.context
    top = context.face if context.apart or context.flipped else context.glue
    x0, y0, x1, y1 = demand.asked.bounds
    xs = np.array([x0, (x0 + x1) / 2, x1])
    heights = demand.floor.height(xs, np.full(3, (y0 + y1) / 2))
    return float(top - heights.max()), float(top - heights.min())


def _box(region: Region) -> tuple[float, float]:
    """Length and width of the least box around a region, however it lies, mm."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    sides = sorted((math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])))
    return sides[1], sides[0]


def _span(spans: Iterable[tuple[float, float]]) -> tuple[float, float]:
    least, most = zip(*spans, strict=True)
    return min(least), max(most)
