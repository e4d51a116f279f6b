"""The answers for a first job, and what they allow on this machine.

The sizes that nobody was asked for are usual ones (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.features.kinds.locating_pins import IN_NECK
from toolpaths.instrument.boards import sagitta
from toolpaths.instrument.frets import fret_distance
from toolpaths.instrument.rods import RODS, channel_for
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.files.rack_file import load_rack
from toolpaths.job.job import Saw
from toolpaths.job.neck import Rod, RodKind
from toolpaths.operations.bit_choice import CHIPS_OUT

SLOT, LEAST_SLOT, UNDER_SLOT = 2.0, 1.6, 1.5
"""Depth of a sawn slot: as usual, and the least for a tang of 1.5 mm; the wood that should stay under it."""
_LINE = 0.5
"""Depth of the fret lines, mm, where the bit allows it."""
_PAST_EDGE = 2.0
"""How far a fret line runs on past the board's edge, at most, mm."""
OVERHANG, NECK_BLANK = 8.0, 25.0
MARKER, NUT_DEEP, HEAD_DROP, _INTO_BED = 1.8, 2.0, 5.0, 0.2
"""Depths of marker pockets, of the nut's slot and of the headstock's face; how far through cuts go on, mm."""
_BEFORE_END = 40.0
"""From the rod's end to the board's, mm."""
FIRST_POST, POSTS = 55.0, 36.0
"""From the nut to the first post, and from post to post, mm."""
_PAST_POSTS, _HEAD_WIDER = 53.0, 38.0
"""Headstock beyond the last post, and wider than the nut, mm: strings turn by less than 10 degrees to their posts."""
_ASIDE, _WASTE, _SHORT_WASTE = 12.0, {"board": (30.0, 40.0), "neck": (40.0, 40.0)}, (20.0, 20.0)
"""Waste beside a part, and at its ends: as usual, and where the machine's travel has no room for that, mm."""
_KERF, _RUN_OFF = 1.4, 5.0
"""Width of an outline's kerf in bit diameters; how far past the wood planing goes, beyond the bit's width, mm."""
LONG = Flat(shape="flat", diameter=6.35, flutes=2, cutting_length=32.0, shank=6.35, stickout=38.0)
"""The bit that reaches through a whole neck: the rack has none so long. mm."""
PIN = Flat(shape="flat", diameter=2.0, flutes=2, cutting_length=12.0, shank=3.175, stickout=18.0)
"""The bit for the holes of pins between board and neck: none of the rack is so thin and so long. mm."""
_WITHIN = 0.3
"""How far within the edge those pins stand, in half widths."""


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers that a first job is made from. Lengths mm; `radius` 0 is a flat board.

    `rod_length`: 0 is as long as this neck takes. `bars`: width and depth of one.
    `slots`: whether they are sawn before or after the top is radiused. Bits are named; `planer` and `pins` may be
    `none`. `own`: bits that stand beside the rack, by name.
    """

    part: Literal["board", "neck", "both"] = "board"
    units: Units = "mm"
    title: str = "First board"
    machine: str = "bench-router"
    wood: str = "hard maple"
    scale: float = 648.0
    frets: int = 22
    strings: int = 6
    nut: float = 43.0
    octave: float = 52.0
    thickness: float = 6.0
    radius: float = 0.0
    slots: Literal["before", "after"] = "before"
    handed: Literal["right", "left"] = "right"
    rod: RodKind | Literal["none"] = "double acting"
    rod_length: float = 0.0
    bars: tuple[float, float] | None = None
    planer: str = "planer"
    scorer: str = "scorer"
    pocket: str = "eighth"
    outline: str = "quarter"
    long: str = "long"
    pins: str = "pin"
    own: Mapping[str, Bit] = field(default_factory=dict)

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts that are cut, one job each."""
        return ("board", "neck") if self.part == "both" else (self.part,)

    @property
    def bits(self) -> dict[str, Bit]:
        """Every bit that may be named."""
        return {**load_rack(), "long": LONG, "pin": PIN, **self.own}

    @property
    def end(self) -> float:
        """Where the board ends, x in mm."""
        return fret_distance(self.scale, self.frets) + OVERHANG

    def width(self, x: float) -> float:
        """The board's width at x, mm."""
        return self.nut + (self.octave - self.nut) * x / fret_distance(self.scale, 12)

    @property
    def drop(self) -> float:
        """How far the radiused top lies lower at the widest place of its edges than in the middle, mm."""
        return sagitta(self.radius, self.width(self.end)) if self.radius else 0.0

    @property
    def sawn(self) -> float:
        """Depth of the slots, mm: less than usual where a radiused top would leave too little wood under them."""
        left = math.floor(10 * (self.thickness - self.drop - UNDER_SLOT)) / 10
        return left if LEAST_SLOT <= left < SLOT else SLOT

    @property
    def line(self) -> float:
        """Depth of the fret lines, mm: a V-bit's are no wider than a usual saw's kerf."""
        bit = self.bits[self.scorer]
        if bit.shape != "vee":
            return _LINE
        return max(d for d in (0.2, 0.3, 0.4, _LINE) if d == 0.2 or bit.width_at(d) <= Saw().kerf)

    @property
    def deepest_line(self) -> float:
        """How deep a fret line that follows the radiused top goes below the flat face at most, mm: past the edges."""
        return self.line + sagitta(self.radius, min(self.width(self.end) + 2 * _PAST_EDGE, 2 * self.radius))

    def deepest(self, role: str) -> float:
        """How deep the bit for some work must cut in one part or the other, mm; a through cut goes into the bed."""
        board, neck = "board" in self.parts, "neck" in self.parts
        depths = {
            "scorer": (self.deepest_line if self.slots == "after" else self.line, 0.0),
            "pocket": (MARKER, self.deepest_pocket),
            "outline": (self.thickness + _INTO_BED, HEAD_DROP),
            "long": (0.0, NECK_BLANK + _INTO_BED),
            "pins": (self.thickness + _INTO_BED, IN_NECK),
        }
        on_board, on_neck = depths.get(role, (0.0, 0.0))
        return max(on_board if board else 0.0, on_neck if neck else 0.0)

    @property
    def longest_rod(self) -> float:
        """The rod that is offered: in whole tens of millimetres, or half inches, mm."""
        step = MM_PER_INCH / 2 if self.units == "in" else 10.0
        if self.rod == "none":
            return 0.0
        wanted = channel_for(Rod.model_construct(kind=self.rod, length=step, width=None, depth=None, adjuster=None))
        begins = wanted.start - (wanted.pocket[1] if wanted.end == "nut" else 0.0)
        return math.floor((self.end - _BEFORE_END - begins) / step + 1e-9) * step

    @property
    def bought_rod(self) -> Rod | None:
        """The rod as it is bought; its sizes are those of its kind."""
        if self.rod == "none":
            return None
        usual = RODS[self.rod]
        length = self.rod_length or self.longest_rod
        return Rod.model_construct(kind=self.rod, length=length, width=usual.width, depth=usual.depth, adjuster=None)

    @property
    def deepest_pocket(self) -> float:
        """The deepest that a neck's smaller bit goes: the rod's channel and pocket, bars, the nut's slot, mm."""
        rod = self.bought_rod
        return max(NUT_DEEP, channel_for(rod).deepest if rod else 0.0, self.bars[1] if self.bars else 0.0)

    @property
    def rod_bit(self) -> str:
        """The bit for the rod's channel: the outline's, which is soon through, where it fits in; else the pockets'."""
        rod, wide = self.bought_rod, self.bits.get(self.outline)
        if rod is None or wide is None or wide.shape != "flat":
            return self.pocket
        wanted = channel_for(rod)
        fits = wide.cut_diameter <= wanted.width and wide.cutting_length >= wanted.deepest + CHIPS_OUT
        return self.outline if fits and wide.diameter > self.bits[self.pocket].diameter else self.pocket

    @property
    def pinned(self) -> bool:
        """Whether board and neck are bored for pins by which they are glued."""
        return self.part == "both" and self.pins != "none"

    @property
    def pin_frets(self) -> tuple[int, int]:
        """The frets under which the pins' holes lie in the board."""
        return 1, min(13, self.frets - 1)

    @property
    def pin_side(self) -> float:
        """From the board's edge in to a pin's hole, mm: far enough for the wall under it, which a round back thins."""
        return max(6.0, math.ceil(_WITHIN * self.width(fret_distance(self.scale, 1))) / 2)

    @property
    def head(self) -> tuple[float, float]:
        """Length and width of the headstock, mm."""
        return FIRST_POST + ((self.strings + 1) // 2 - 1) * POSTS + _PAST_POSTS, self.nut + _HEAD_WIDER


@dataclass(frozen=True, slots=True)
class Way:
    """How a part is cut on this machine: length and width of its blank, where the nut lies in it, mm; and why it is
    not planed, or not cut free, empty where it is."""

    blank: tuple[float, float]
    nut_at: float
    unplaned: str
    unfreed: str


def usual_widths(strings: int, scale: float) -> tuple[float, float]:
    """Widths at the nut and at fret 12 that are offered, mm. Common practice, no source."""
    bass = scale > 720
    known = {3: (32.0, 40.0), 4: (36.0, 44.0), 5: (40.0, 48.0), 6: (43.0, 52.0), 7: (48.0, 58.0), 8: (54.0, 65.0)}
    of_bass = {4: (40.0, 55.0), 5: (46.0, 64.0), 6: (54.0, 75.0)}
    near = min(known, key=lambda n: abs(n - strings))
    return of_bass.get(strings, known[near]) if bass else known[near]


def way_of(a: Answers, part: str) -> Way:
    """How a part can be cut with the machine's travel along the neck and its spindle. Raises JobError for a machine."""
    n, machine, bits = Numbers(a.units), load_machine(a.machine), a.bits
    travel, head = machine.travel.x, a.head[0] if part == "neck" else 0.0
    wide = max(a.width(a.end), a.nut)
    wide = n.at_least((max(wide + 10, a.head[1]) if part == "neck" else wide) + 2 * _ASIDE)
    planer = bits.get(a.planer)
    turning = 0.0 if planer is None else planer.diameter + _RUN_OFF
    left, right = _WASTE[part]
    if n.at_least(head + a.end + left + right) + turning > travel:
        left, right = _SHORT_WASTE
    long = n.at_least(head + a.end + left + right)
    slowest = min(machine.spindle.dial.values(), default=machine.spindle.min_rpm)
    why = ""
    if planer is None:
        why = "no bit planes it"
    elif long + turning > travel:
        why = f"planing takes {n.show(long + turning)} along x, and the machine travels {n.show(travel)}"
    elif planer.max_rpm is not None and slowest > planer.max_rpm:
        why = f"{a.planer} may turn at {planer.max_rpm} rpm, and the spindle's slowest is {slowest}"
    thick = a.thickness if part == "board" else NECK_BLANK
    unplaned = f"Plane the {part}'s blank to {n.show(thick)} by hand before this job: {why}." if why else ""
    free = head + a.end + 2 * _KERF * bits[a.outline if part == "board" else a.long].diameter
    unfreed = ""
    if free > travel:
        why = f"cutting it out takes {n.show(free)} along x, and the machine travels {n.show(travel)}"
        face = "" if part == "board" else f" Lower the headstock's face by {n.show(HEAD_DROP)} by hand too."
        saw = f"Saw and trim the {part}'s outline by hand from a template (`neckpath draw`)"
        unfreed = f"{saw}: {why}.{face} Or move the blank along on pins: docs/long-blanks.md."
    return Way((long, wide), head + left, unplaned, unfreed)


def choices(a: Answers) -> list[str]:
    """What was chosen for these numbers, and why: a sentence each."""
    ways = [way_of(a, part) for part in a.parts]
    said = [of_slots(a) if "board" in a.parts else "", *(words for w in ways for words in (w.unplaned, w.unfreed))]
    return [words for words in said if words]


class Numbers:
    """Lengths as numbers of the job's units."""

    def __init__(self, units: Units) -> None:
        self.units = units
        self.mm = MM_PER_INCH if units == "in" else 1.0

    def __call__(self, mm: float) -> str:
        if self.units == "in":
            return f"{mm / MM_PER_INCH:.3f}".rstrip("0").rstrip(".")
        return f"{round(mm, 2):g}"

    def exact(self, mm: float) -> str:
        """To a micrometre or two: a scale, or a bit."""
        return f"{mm / self.mm:.4f}".rstrip("0").rstrip(".")

    def show(self, mm: float) -> str:
        """With its unit, for people."""
        return show(mm, self.units, 1 if self.units == "mm" else 2)

    def about(self, mm: float) -> str:
        """To a whole millimetre, or a sixteenth of an inch."""
        step = MM_PER_INCH / 16 if self.units == "in" else 1.0
        return self(round(mm / step) * step)

    def at_least(self, mm: float) -> float:
        """Up to five millimetres, or a quarter of an inch; mm."""
        step = MM_PER_INCH / 4 if self.units == "in" else 5.0
        return math.ceil(mm / step - 1e-9) * step


def of_slots(a: Answers) -> str:
    """What a radius made by hand means for the fret lines; empty for a flat board."""
    if not a.radius:
        return ""
    n = Numbers(a.units)
    takes = f"A radius of {n.show(a.radius)} takes up to {n.show(a.drop)} off the edges"
    if a.slots == "before":
        return f"{takes}, and the fret lines with it: saw the slots to depth before you radius the top."
    return f"{takes}: the fret lines follow the later top, up to {n.show(a.deepest_line)} below the flat face."
