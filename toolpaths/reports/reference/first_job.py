"""A first job from a few answers: commented text that a beginner can read, change and cut.

The sizes that nobody was asked for are usual ones (common practice, no source), and each says what it is.
What the machine cannot do is left for work by hand, and the job says so. The text is `first_job.yaml` beside this.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from toolpaths.features.kinds.locating_pins import DIAMETER
from toolpaths.instrument.boards import sagitta
from toolpaths.instrument.frets import fret_distance, spacing
from toolpaths.instrument.markers import USUAL
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.job import SAWN_FIRST
from toolpaths.reports.reference.cautions import first_job
from toolpaths.reports.reference.first_answers import (
    FIRST_POST,
    HEAD_DROP,
    LONG,
    MARKER,
    NECK_BLANK,
    OVERHANG,
    PIN,
    POSTS,
    SLOT,
    UNDER_SLOT,
    Answers,
    Numbers,
    of_slots,
    way_of,
)
from toolpaths.reports.reference.first_neck import bars_of, under_board

if TYPE_CHECKING:
    from jinja2 import Template

    from toolpaths.common.units import Units
    from toolpaths.job.bit import Bit

_TO_PLANE = 1.5
"""What the blank is thicker than the board, mm."""
_MARKER, _LEFT_OF_MARKER = 6.0, 0.6
_ROOM = 9.0
"""A space between frets that a marker needs, mm."""
_HEEL = 70.0
_BESIDE = 48
"""Column at which comments stand beside short lines."""
_LENGTHS = ("diameter", "cutting_length", "shank", "stickout", "tip", "corner", "measured_diameter", "runout")


def files_of(answers: Answers, stem: str, screws: Sequence[str] = (), machine: str = "") -> dict[str, str]:
    """The files of a first job, by name: one, or an instrument that the jobs of board and neck share.

    `screws`: groups of them that hold the neck's blank, as a job file takes them; tape where there are none.
    `machine`: how the jobs name it, where that is not as the answers do.
    Raises JobError for a machine that cannot be used.
    """
    if answers.part != "both":
        return {f"{stem}.yaml": _job(answers, answers.part, f"{stem}.yaml", "", screws, machine)}
    shared = f"{stem}-instrument.yaml"
    instrument = _text(part="instrument", **_sizes(answers))
    return {shared: instrument} | {
        f"{stem}-{part}.yaml": _job(answers, part, f"{stem}-{part}.yaml", shared, screws, machine)
        for part in answers.parts
    }


def filled(template: str, **values: Any) -> str:
    """The text of a template with comments where they can be read."""
    lines = _template(template).render(values).split("\n")
    return "\n".join(placed for line in lines for placed in _placed(line.rstrip()))


def bit_keys(bit: Bit, units: Units) -> list[str]:
    """Keys and values of a bit as a job of those units has them, each as it was given."""
    n, given = Numbers(units), bit.model_dump(exclude_unset=True)
    return [f"{k}: {n.exact(v) if k in _LENGTHS else json.dumps(v)}" for k, v in given.items()]


# Private


def _job(a: Answers, part: str, file: str, shared: str, screws: Sequence[str], machine: str) -> str:
    """The job of a part. `shared`: the file of its instrument; empty where the job holds it."""
    board, offsets = part == "board", tuple(load_machine(a.machine).offsets)
    return _text(
        part=part,
        file=file,
        machine=machine or a.machine,
        cautions=first_job(a.units, file),
        shared=shared,
        screws=() if board else screws,
        way=way_of(a, part),
        slots=of_slots(a),
        sawn_first=SAWN_FIRST,
        usual_slot=SLOT,
        under_slot=UNDER_SLOT,
        finished=a.thickness if board else NECK_BLANK,
        more=(_TO_PLANE, _TO_PLANE + 0.3) if board else (0.3, 0.8),
        offset="" if "G54" in offsets else offsets[0],
        bits=_bits(a, a.scorer if board else a.long),
        head_drop=HEAD_DROP,
        first_post=FIRST_POST,
        posts=POSTS,
        pin=DIAMETER,
        **_sizes(a),
        **_markers(a),
    )


def _sizes(a: Answers) -> dict[str, Any]:
    """Sizes of the instrument, mm; at fret 1 the neck's thickness holds board, rod and a wall."""
    shaft, heel = max(20.5, a.thickness + under_board(a)), a.end - _HEEL
    thick = max(NECK_BLANK, shaft + 4.5)
    return {
        "a": a, "n": Numbers(a.units), "overhang": OVERHANG, "shaft": shaft, "heel": heel, "heel_thick": thick,
        "rod": a.bought_rod, "bars": bars_of(a, heel),
    }  # fmt: skip


def _bits(a: Answers, last: str) -> dict[str, list[str]]:
    """Keys and values of the bits that the rack does not hold, by name. `last`: the bit of this part alone."""
    named = (a.planer, a.outline, a.pocket, last, *([a.pins] if a.pinned else []))
    beside = {"long": LONG, "pin": PIN, **a.own}
    return {name: bit_keys(bit, a.units) for name, bit in beside.items() if name in named}


def _markers(a: Answers) -> dict[str, Any]:
    """Frets with a marker, its diameter and its depth: the top comes down most over the outer side of a double."""
    spaces = spacing(a.scale, a.frets)
    frets = [f for f in USUAL if f <= a.frets and spaces[f - 1] >= _ROOM]
    depth = MARKER
    if a.radius and frets:
        far = max(a.width(fret_distance(a.scale, f)) for f in frets) / 2 + _MARKER
        depth = max(MARKER, _LEFT_OF_MARKER + sagitta(a.radius, far))
    return {"markers": frets, "marker": _MARKER, "marker_depth": round(depth + 0.05, 1)}


def _text(**values: Any) -> str:
    """The text of a first job."""
    return filled("first_job.yaml", **values)


def _placed(line: str) -> Iterator[str]:
    """A line with its comment beside it, or above it where the line is long; a long comment alone on lines."""
    text, comment, words = line.partition("\t# ")
    indent = " " * (len(text) - len(text.lstrip()))
    if not comment:
        own = text.startswith(f"{indent}# ")
        yield from textwrap.wrap(text, 102 + len(indent), subsequent_indent=f"{indent}# ") if own else [text]
    elif len(text) < _BESIDE:
        yield f"{text.ljust(_BESIDE)}# {words}"
    else:
        yield from (f"{indent}# {words}", text)


@cache
def _template(name: str) -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    loader = PackageLoader("toolpaths.reports.reference", ".")
    made = Environment(loader=loader, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.keep_trailing_newline = True
    made.filters["word"] = _word
    return made.get_template(name)


def _word(value: str) -> str:
    """A word as YAML takes it: quoted, unless it can be read in one way only."""
    return value if re.fullmatch(r"[A-Za-z][A-Za-z_./-]*[a-z]", value) else json.dumps(value, ensure_ascii=False)
