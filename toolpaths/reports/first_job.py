"""A first job from a few answers: commented text that a beginner can read, change and cut.

The sizes that nobody was asked for are usual ones (common practice, no source), and each says what it is.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from toolpaths.core.units import MM_PER_INCH, Units
from toolpaths.trade.frets import fret_distance, spacing
from toolpaths.trade.markers import USUAL
from toolpaths.trade.radius import sagitta

Part = Literal["board", "neck", "both"]

_OVERHANG, _WASTE_LEFT, _WASTE_RIGHT, _WASTE_ASIDE = 8.0, 30.0, 40.0, 12.0
_TO_PLANE = 1.5
"""What the blank is thicker than the board, mm."""
_MARKER, _DEEP, _LEFT_OF_MARKER = 6.0, 1.8, 0.6
_ROOM = 9.0
"""A space between frets that a marker needs, mm."""
_HEAD, _HEAD_WIDE, _HEAD_THICK, _DROP = 180.0, 84.0, 15.0, 5.0
_NECK_BLANK = 25.0
_HEEL = 70.0
_BESIDE = 48
"""Column at which comments stand beside short lines."""


@dataclass(frozen=True, slots=True)
class Answers:
    """What a first job rests on. Lengths mm; `radius` 0 is a flat board."""

    part: Part = "board"
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
    handed: Literal["right", "left"] = "right"
    scorer: str = "scorer"
    pocket: str = "eighth"
    outline: str = "quarter"

    @property
    def end(self) -> float:
        """Where the board ends, x in mm."""
        return fret_distance(self.scale, self.frets) + _OVERHANG

    def width(self, x: float) -> float:
        """The board's width at x, mm."""
        return self.nut + (self.octave - self.nut) * x / fret_distance(self.scale, 12)

    @property
    def blank(self) -> tuple[float, float]:
        """Length and width that the blank wants, mm: of the longest part."""
        wide = max(self.width(self.end), self.nut)
        length = self.end + _WASTE_LEFT + _WASTE_RIGHT
        if self.part == "board":
            return length, wide + 2 * _WASTE_ASIDE
        return self.end + _HEAD + 2 * _WASTE_RIGHT, max(wide + 10, _HEAD_WIDE) + 2 * _WASTE_ASIDE


def usual_widths(strings: int, scale: float) -> tuple[float, float]:
    """Widths at the nut and at fret 12 that are offered, mm. Common practice, no source."""
    bass = scale > 720
    known = {3: (32.0, 40.0), 4: (36.0, 44.0), 5: (40.0, 48.0), 6: (43.0, 52.0), 7: (48.0, 58.0), 8: (54.0, 65.0)}
    of_bass = {4: (40.0, 55.0), 5: (46.0, 64.0), 6: (54.0, 75.0)}
    near = min(known, key=lambda n: abs(n - strings))
    return of_bass.get(strings, known[near]) if bass else known[near]


def files_of(answers: Answers, stem: str) -> dict[str, str]:
    """The files of a first job, by name: one, or an instrument that the jobs of board and neck share."""
    if answers.part == "both":
        shared = f"{stem}-instrument.yaml"
        return {
            shared: _lines(_instrument_file(answers)),
            f"{stem}-board.yaml": _lines(_board(answers, f"{stem}-board.yaml", shared)),
            f"{stem}-neck.yaml": _lines(_neck(answers, f"{stem}-neck.yaml", shared)),
        }
    write = _board if answers.part == "board" else _neck
    return {f"{stem}.yaml": _lines(write(answers, f"{stem}.yaml", ""))}


# Private


def _lines(rows: Iterator[tuple[str, str]]) -> str:
    """Text and what is said of it: beside it, or above it where the line is long."""
    out = []
    for text, words in rows:
        indent = " " * (len(text) - len(text.lstrip()))
        if not words:
            out.append(text)
        elif not text:
            out.append(f"# {words}")
        elif len(text) < _BESIDE:
            out.append(f"{text.ljust(_BESIDE)}# {words}")
        else:
            out += [f"{indent}# {words}", text]
    return "\n".join(out) + "\n"


class _In:
    """Lengths as numbers of the job's units."""

    def __init__(self, units: Units) -> None:
        self.units = units

    def __call__(self, mm: float) -> str:
        if self.units == "in":
            return f"{mm / MM_PER_INCH:.3f}".rstrip("0").rstrip(".")
        return f"{round(mm, 2):g}"

    def about(self, mm: float) -> str:
        """To a whole millimetre, or a sixteenth of an inch."""
        step = MM_PER_INCH / 16 if self.units == "in" else 1.0
        return self(round(mm / step) * step)

    def at_least(self, mm: float) -> str:
        """Up to five millimetres, or a quarter of an inch."""
        step = MM_PER_INCH / 4 if self.units == "in" else 5.0
        return self(math.ceil(mm / step) * step)


def _head(a: Answers, file: str, part: str, shared: str) -> Iterator[tuple[str, str]]:
    yield "", f"A first {part}, written by `neckpath start`. Change what is different on your bench."
    yield "", f"Check it:  neckpath check {file}"
    yield "", f"Write it:  neckpath write {file}"
    yield "", "What any word here means:  neckpath explain nut_at"
    title = a.title if part == "board" or a.part != "both" else f"{a.title}, neck"
    yield f'title: "{title}"', ""
    yield f"units: {a.units}", "bare numbers below are in these; text carries its own, such as 1/4 in"
    if part == "neck":
        yield "part: neck", ""
    named = a.machine if a.machine.replace("-", "").isalnum() else json.dumps(a.machine)
    yield f"machine: {named}", "`neckpath machines` lists them; a path names a file of your own"
    yield f"wood: {a.wood}", "`neckpath woods` lists them"
    if a.handed == "left":
        yield "handed: left", "mirrors the instrument about its centreline"
    yield "", ""
    if shared:
        yield f"instrument: {shared}", "the numbers that board and neck share"
    else:
        yield "instrument:", ""
        for text, words in _instrument(a, part == "neck"):
            yield f"  {text}", words
    yield "", ""


def _instrument_file(a: Answers) -> Iterator[tuple[str, str]]:
    yield "", "The instrument: shared by the jobs of its board and its neck, so that both fit."
    yield f"units: {a.units}", ""
    yield from _instrument(a, True)


def _instrument(a: Answers, neck: bool) -> Iterator[tuple[str, str]]:
    n = _In(a.units)
    yield f"scale_length: {n(a.scale)}", "from the nut to where the strings would end without compensation"
    yield f"frets: {a.frets}", ""
    yield f"strings: {a.strings}", ""
    yield "board:", ""
    yield f"  width: {{nut: {n(a.nut)}, 12: {n(a.octave)}}}", "at the nut and at fret 12; straight between and beyond"
    yield f"  overhang: {n(_OVERHANG)}", "wood past the last fret"
    yield f"  thickness: {n(a.thickness)}", "finished"
    if a.radius:
        yield f"  radius: {n(a.radius)}", "of the top, which is sanded by hand later"
    if neck:
        yield "neck:", ""
        yield f"  thickness: {{1: {n(20.5)}, 12: {n(22.5)}}}", "finished, board included, at frets 1 and 12"
        yield "  back: round", ""
        yield f"  margin: {n(0.5)}", "wider than the board until it is trimmed"
        heel = a.end - _HEEL
        wide = a.width(a.end) + 4
        block = f"from: {n.about(heel)}, to: {n.about(a.end + 3)}, width: {n.about(wide)}"
        yield f"  heel: {{{block}, thickness: {n(_NECK_BLANK)}}}", "at the body; thickness with the board"
        sizes = f"length: {n(_HEAD)}, width: {n(_HEAD_WIDE)}, thickness: {n(_HEAD_THICK)}"
        yield f"  headstock: {{{sizes}}}", "or a drawing of yours: {drawing: head.dxf, ...}"


def _board(a: Answers, file: str, shared: str) -> Iterator[tuple[str, str]]:
    n = _In(a.units)
    yield from _head(a, file, "board", shared)
    own = replace(a, part="board")
    length, width = own.blank
    thick = a.thickness + _TO_PLANE
    yield (
        f"stock: {{length: {n.at_least(length)}, width: {n.at_least(width)},",
        "the blank: measure yours, and write that here",
    )
    yield f"        thickness: {{min: {n(thick)}, max: {n(thick + 0.3)}}}}}", "at its thinnest and thickest place"
    yield "", ""
    yield "setups:", ""
    yield "  - name: face", ""
    yield "    zero: {x: nut, y: centreline, z: bed}", "where the program's zero lies; the setup sheet shows it"
    yield f"    nut_at: {n(_WASTE_LEFT)}", "from the blank's left end to the nut"
    yield "    hold: tape", "tape, vacuum, waste screws, lugs or clamps"
    yield "    features:", ""
    yield f"      - plane: {{bit: planer, leave: {n(a.thickness)}}}", "down to the finished thickness"
    below = ", below: radius" if a.radius else ""
    words = "a line for each slot; the saw does the rest"
    yield f"      - score_lines: {{bit: {a.scorer}, depth: {n(0.5)}{below}}}", words
    yield from _markers(a, n)
    tabs = f"tabs: {{count: 4, length: {n(8)}, height: {n(1.5)}}}"
    yield f"      - outline: {{bit: {a.outline}, {tabs}}}", "cut free, but for four tabs"


def _markers(a: Answers, n: _In) -> Iterator[tuple[str, str]]:
    spaces = spacing(a.scale, a.frets)
    frets = [f for f in USUAL if f <= a.frets and spaces[f - 1] >= _ROOM]
    if not frets:
        return
    places = ", ".join(str(f) for f in frets)
    # The top comes down most over the outer side of a double, halfway out.
    depth = _DEEP
    if a.radius:
        far = max(a.width(fret_distance(a.scale, f)) for f in frets) / 2 + _MARKER
        depth = max(_DEEP, _LEFT_OF_MARKER + sagitta(a.radius, far))
    size = f"shape: round, diameter: {n(_MARKER)}, depth: {n(round(depth + 0.05, 1))}"
    yield f"      - marker_pockets: {{bit: {a.pocket}, {size},", "filled by hand"
    yield f"                         frets: [{places}]}}", ""


def _neck(a: Answers, file: str, shared: str) -> Iterator[tuple[str, str]]:
    n = _In(a.units)
    yield from _head(a, file, "neck", shared)
    own = replace(a, part="neck")
    length, width = own.blank
    yield (
        f"stock: {{length: {n.at_least(length)}, width: {n.at_least(width)},",
        "the blank: measure yours, and write that here",
    )
    thick = f"min: {n(_NECK_BLANK + 0.3)}, max: {n(_NECK_BLANK + 0.8)}"
    yield f"        thickness: {{{thick}}}}}", "at its thinnest and thickest place"
    yield "", ""
    yield "bits:", "beside the rack, which `neckpath bits` shows"
    sizes = f"diameter: {n(6.35)}, cutting_length: {n(32)}, shank: {n(6.35)}, stickout: {n(38)}"
    yield f"  long: {{shape: flat, {sizes}, flutes: 2}}", "long enough for the whole neck"
    yield "", ""
    yield "setups:", ""
    yield "  - name: face", ""
    yield "    zero: {x: nut, y: centreline, z: bed}", "where the program's zero lies; the setup sheet shows it"
    yield f"    nut_at: {n(_HEAD + _WASTE_RIGHT)}", "from the blank's left end to the nut"
    yield "    hold: waste screws", "screws where the outline does not go: name them in keep_out"
    yield "    features:", ""
    yield f"      - plane: {{bit: planer, leave: {n(_NECK_BLANK)}}}", "the glue face"
    face = f"drop: {n(_DROP)}, from: {n(-8)}, ramp: {n(14)}"
    yield f"      - headstock_face: {{bit: quarter, {face}}}", "lower than the glue face"
    heel = a.end - _HEEL
    rod = f"width: {n(6.4)}, depth: {n(9.5)}, from: {n(4)}, to: {n.about(heel + 10)}"
    adjuster = f"adjuster: {{end: heel, width: {n(12)}, length: {n(20)}, depth: {n(11)}}}"
    yield f"      - truss_rod_channel: {{bit: {a.pocket}, {rod},", "measure your rod, and write that here"
    yield f"                            {adjuster}}}", ""
    yield f"      - nut_slot: {{bit: {a.pocket}, width: {n(3.3)}, depth: {n(2)}, edge: 0}}", ""
    sides = [(a.strings + 1) // 2, a.strings // 2]
    row = f"per_side: [{sides[1]}, {sides[0]}], first: {n(-55)}, spacing: {n(36)}, edge: {n(20)}"
    yield f"      - tuner_bores: {{bit: long, diameter: {n(10)},", "measure your tuners"
    yield f"                      layout: {{{row}}}}}", ""
    tabs = f"tabs: {{count: 6, length: {n(8)}, height: {n(2.5)}}}"
    yield f"      - outline: {{bit: long, {tabs}}}", "cut free, but for six tabs; carve the back by hand"
