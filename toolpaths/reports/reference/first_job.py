"""A first job from a few answers: commented text that a beginner can read, change and cut.

The sizes that nobody was asked for are usual ones (common practice, no source), and each says what it is.
What the machine cannot do is left to the hands, and the job says so.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator

from toolpaths.instrument.boards import sagitta
from toolpaths.instrument.frets import fret_distance, spacing
from toolpaths.instrument.markers import USUAL
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.job import SAWN_FIRST
from toolpaths.reports.reference.first_answers import (
    ADJUSTER,
    FIRST_POST,
    HEAD_DROP,
    LONG,
    MARKER,
    NECK_BLANK,
    OVERHANG,
    POSTS,
    SLOT,
    UNDER_SLOT,
    Answers,
    Numbers,
    Way,
    of_slots,
    way_of,
)

_TO_PLANE = 1.5
"""What the blank is thicker than the board, mm."""
_MARKER, _LEFT_OF_MARKER = 6.0, 0.6
_ROOM = 9.0
"""A space between frets that a marker needs, mm."""
_POST_EDGE, _HEAD_THICK, _HEEL = 20.0, 15.0, 70.0
_UNDER_BOARD = 14.5
"""Wood of the neck under the board at fret 1, mm: the rod's channel, 9.5 deep, and a wall under it."""
_BESIDE = 48
"""Column at which comments stand beside short lines."""
_LENGTHS = ("diameter", "cutting_length", "shank", "stickout", "tip", "corner", "measured_diameter", "runout")


def files_of(answers: Answers, stem: str) -> dict[str, str]:
    """The files of a first job, by name: one, or an instrument that the jobs of board and neck share.

    Raises JobError for a machine that cannot be used.
    """
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
            out.append(text.rstrip())
        elif not text.strip():
            out += [f"{text}# {line}" for line in textwrap.wrap(words, 100)]
        elif len(text) < _BESIDE:
            out.append(f"{text.ljust(_BESIDE)}# {words}")
        else:
            out += [f"{indent}# {words}", text]
    return "\n".join(out) + "\n"


def _text(value: str) -> str:
    """A word as YAML takes it: quoted, unless it can be read in one way only."""
    return value if re.fullmatch(r"[A-Za-z][A-Za-z_./-]*[a-z]", value) else json.dumps(value, ensure_ascii=False)


def _head(a: Answers, file: str, part: str, shared: str, way: Way) -> Iterator[tuple[str, str]]:
    yield "", f"A first {part}, written by `neckpath start`. Change what is different on your bench."
    yield "", f"Check it:  neckpath check {file}"
    yield "", f"Write it:  neckpath write {file}"
    yield "", "What any word here means:  neckpath explain nut_at"
    title = a.title if part == "board" or a.part != "both" else f"{a.title}, neck"
    yield f'title: "{title}"', ""
    yield f"units: {a.units}", "bare numbers below are in these; text carries its own, such as 1/4 in"
    if part == "neck":
        yield "part: neck", ""
    yield f"machine: {_text(a.machine)}", "`neckpath machines` lists them; a path names a file of your own"
    yield f"wood: {a.wood}", "`neckpath woods` lists them"
    if a.handed == "left":
        yield "handed: left", "mirrors the instrument about its centreline"
    yield "", ""
    if shared:
        yield f"instrument: {_text(shared)}", "the numbers that board and neck share"
    else:
        yield "instrument:", ""
        for text, words in _instrument(a, part == "neck"):
            yield f"  {text}", words
    yield "", ""
    if part == "board" and of_slots(a):
        yield "", of_slots(a)
        if a.slots == "before":
            yield f"by_hand: {SAWN_FIRST}", ""
        yield "", ""
    n = Numbers(a.units)
    if part == "board" and a.sawn < SLOT:
        words = f"less than usual, so that {n.show(UNDER_SLOT)} of wood stays under them at the edges"
        yield f"saw: {{depth: {n(a.sawn)}}}", words
        yield "", ""
    length, width = way.blank
    yield f"stock: {{length: {n(length)}, width: {n(width)},", "the blank: measure yours, and write that here"
    finished, more = (a.thickness, (_TO_PLANE, _TO_PLANE + 0.3)) if part == "board" else (NECK_BLANK, (0.3, 0.8))
    if way.unplaned:
        yield f"        thickness: {n(finished)}}}", "planed by hand before this job"
    else:
        thick = f"min: {n(finished + more[0])}, max: {n(finished + more[1])}"
        yield f"        thickness: {{{thick}}}}}", "at its thinnest and thickest place"
    yield "", ""
    yield from _bits(a, part, n)
    yield "setups:", ""
    yield "  - name: face", ""
    offsets = tuple(load_machine(a.machine).offsets)
    if "G54" not in offsets:
        yield f"    offset: {offsets[0]}", "the work offset; this machine has no G54"
    yield "    zero: {x: nut, y: centreline, z: bed}", "where the program's zero lies; the setup sheet shows it"
    yield f"    nut_at: {n(way.nut_at)}", "from the blank's left end to the nut"


def _bits(a: Answers, part: str, n: Numbers) -> Iterator[tuple[str, str]]:
    """The bits that the rack does not hold."""
    named = (a.planer, a.outline, a.pocket, a.scorer if part == "board" else a.long)
    own = {name: bit for name, bit in {"long": LONG, **a.own}.items() if name in named}
    if not own:
        return
    yield "bits:", "beside the rack, which `neckpath bits` shows"
    for name, bit in own.items():
        given = bit.model_dump(exclude_unset=True)
        values = [f"{k}: {n.exact(v) if k in _LENGTHS else json.dumps(v)}" for k, v in given.items()]
        yield f"  {name}: {{{', '.join(values[:4])},", ""
        yield f"    {', '.join(values[4:])}}}", "measure yours, and write that here"
    yield "", ""


def _instrument_file(a: Answers) -> Iterator[tuple[str, str]]:
    yield "", "The instrument: shared by the jobs of its board and its neck, so that both fit."
    yield f"units: {a.units}", ""
    yield from _instrument(a, True)


def _instrument(a: Answers, neck: bool) -> Iterator[tuple[str, str]]:
    n = Numbers(a.units)
    yield f"scale_length: {n.exact(a.scale)}", "from the nut to where the strings would end without compensation"
    yield f"frets: {a.frets}", ""
    yield f"strings: {a.strings}", ""
    yield "board:", ""
    yield f"  width: {{nut: {n(a.nut)}, 12: {n(a.octave)}}}", "at the nut and at fret 12; straight between and beyond"
    yield f"  overhang: {n(OVERHANG)}", "wood past the last fret"
    yield f"  thickness: {n(a.thickness)}", "finished"
    if a.radius:
        yield f"  radius: {n(a.radius)}", "of the top, which is sanded by hand later"
    if neck:
        first = max(20.5, a.thickness + _UNDER_BOARD)
        yield "neck:", ""
        yield f"  thickness: {{1: {n(first)}, 12: {n(first + 2)}}}", "finished, board included, at frets 1 and 12"
        yield "  back: round", ""
        yield f"  margin: {n(0.5)}", "wider than the board until it is trimmed"
        heel = a.end - _HEEL
        wide = a.width(a.end) + 4
        block = f"from: {n.about(heel)}, to: {n.about(a.end + 3)}, width: {n.about(wide)}"
        yield f"  heel: {{{block}, thickness: {n(max(NECK_BLANK, first + 4.5))}}}", "at the body; thickness with board"
        length, width = a.head
        sizes = f"length: {n(length)}, width: {n(width)}, thickness: {n(_HEAD_THICK)}"
        yield f"  headstock: {{{sizes}}}", "or a drawing of yours: {drawing: head.dxf, ...}"


def _board(a: Answers, file: str, shared: str) -> Iterator[tuple[str, str]]:
    n, way = Numbers(a.units), way_of(a, "board")
    yield from _head(a, file, "board", shared, way)
    yield "    hold: tape", "tape, vacuum, waste screws, lugs or clamps"
    yield "    features:", ""
    if way.unplaned:
        yield "      ", way.unplaned
    else:
        yield f"      - plane: {{bit: {a.planer}, leave: {n(a.thickness)}}}", "down to the finished thickness"
    below = ", below: radius" if a.radius and a.slots == "after" else ""
    words = "a line for each slot; the saw does the rest"
    yield f"      - score_lines: {{bit: {a.scorer}, depth: {n(a.line)}{below}}}", words
    yield from _markers(a, n)
    if way.unfreed:
        yield "      ", way.unfreed
        return
    tabs = f"tabs: {{count: 4, length: {n(8)}, height: {n(1.5)}}}"
    yield f"      - outline: {{bit: {a.outline}, {tabs}}}", "cut free, but for four tabs"


def _markers(a: Answers, n: Numbers) -> Iterator[tuple[str, str]]:
    spaces = spacing(a.scale, a.frets)
    frets = [f for f in USUAL if f <= a.frets and spaces[f - 1] >= _ROOM]
    if not frets:
        return
    places = ", ".join(str(f) for f in frets)
    # The top comes down most over the outer side of a double, halfway out.
    depth = MARKER
    if a.radius:
        far = max(a.width(fret_distance(a.scale, f)) for f in frets) / 2 + _MARKER
        depth = max(MARKER, _LEFT_OF_MARKER + sagitta(a.radius, far))
    size = f"shape: round, diameter: {n(_MARKER)}, depth: {n(round(depth + 0.05, 1))}"
    yield f"      - marker_pockets: {{bit: {a.pocket}, {size},", "filled by hand"
    yield f"                         frets: [{places}]}}", ""


def _neck(a: Answers, file: str, shared: str) -> Iterator[tuple[str, str]]:
    n, way = Numbers(a.units), way_of(a, "neck")
    yield from _head(a, file, "neck", shared, way)
    yield "    hold: waste screws", "screws where the outline does not go: name them in keep_out"
    yield "    features:", ""
    if way.unplaned:
        yield "      ", way.unplaned
    else:
        yield f"      - plane: {{bit: {a.planer}, leave: {n(NECK_BLANK)}}}", "the glue face"
    if way.unfreed:
        yield "      ", way.unfreed
    else:
        face = f"drop: {n(HEAD_DROP)}, from: {n(-8)}, ramp: {n(14)}"
        yield f"      - headstock_face: {{bit: {a.outline}, {face}}}", "lower than the glue face"
    heel = a.end - _HEEL
    rod = f"width: {n(6.4)}, depth: {n(9.5)}, from: {n(4)}, to: {n.about(heel + 10)}"
    adjuster = f"adjuster: {{end: heel, width: {n(12)}, length: {n(20)}, depth: {n(ADJUSTER)}}}"
    yield f"      - truss_rod_channel: {{bit: {a.pocket}, {rod},", "measure your rod, and write that here"
    yield f"                            {adjuster}}}", ""
    yield f"      - nut_slot: {{bit: {a.pocket}, width: {n(3.3)}, depth: {n(2)}, edge: 0}}", ""
    sides = [(a.strings + 1) // 2, a.strings // 2]
    row = f"per_side: [{sides[1]}, {sides[0]}], first: {n(-FIRST_POST)}, spacing: {n(POSTS)}, edge: {n(_POST_EDGE)}"
    yield f"      - tuner_bores: {{bit: {a.long}, diameter: {n(10)},", "measure your tuners"
    yield f"                      layout: {{{row}}}}}", ""
    if way.unfreed:
        return
    tabs = f"tabs: {{count: 6, length: {n(8)}, height: {n(2.5)}}}"
    yield f"      - outline: {{bit: {a.long}, {tabs}}}", "cut free, but for six tabs; carve the back by hand"
