"""Random words of a job in the comments of programs: no controller is commanded by them, and no reader misled."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.outside.interpreter import FOLDER, canonical, needed
from tests.security.strangers import board
from tests.support.setup_builder import CUTTING, context
from toolpaths.features.kinds.plane import Plane
from toolpaths.gcode.program import BookedSession, Heading, TouchOff
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.write import write
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.machine import Machine
from toolpaths.job.stock import KeepOut
from toolpaths.operations.operation import Lines, ProgramPlan
from toolpaths.pipeline.run import make
from toolpaths.toolpath.toolpath import Feed, Rapid, Section, Toolpath

MACHINES = [
    machine.model_copy(update=changes)
    for machine in map(load_machine, ("bench-router", "hand-dial", "small-frame", "shop-gantry"))
    for changes in ({}, {"line_length": 40}, {"line_length": 252}, {"comments": False}, {"line_numbers": True})
]
"""252 characters are the most that the interpreter takes a line, though the standard has 256."""
AT_ONCE = 500
"""Texts in one program of comments."""
PARTS = (
    *(chr(c) for c in range(128)), *"½²ÅßﬁⅣ（）﹙⁽［％；～！？＃\u2028\u2029\u0085\u200b\u202e\u0301\ufeff木",
    *("MSG,", "msg ,", "M S G,", "DEBUG,", "PRINT,", "LOG,", "LOGOPEN,", "LOGOPEN,/some/file", "LOGCLOSE"),
    *("PROBEOPEN f", "PROBECLOSE", "PY,1", "PYRELOAD", "ABORT, x", "AXIS,hide", "word,", "STOP,", "ab cd,"),
    *(") G0 Z-50 (", ")G1 X9 F9", "(MSG, x)", ";py,1", "M30", "%", "\nM0\n", "\r\nG0 Z-9\r\n", "#<x>=1", "o100 call"),
    *("neckpath 9.9.9, job ffffffffffff", "Program 9 of 9, setup other", "Bit 2: other, flat", "Feature x: y"),
    *("Touch off: bed, Z -9.000 mm", "Lifted: 20.000 mm", "+ ", "+ MSG, x", "dial 9, 9999 rpm. Then go on."),
    *("oak", "maple ", "a", " ", "  ", "a" * 37, "b" * 77, "cherry ~7% dry", "My first board!", "go~ !", "a~!b?$"),
)  # fmt: skip


def any_text(rng: random.Random) -> str:
    """Words at all lengths about those of a line, what commands somewhere among them."""
    lead = "oak " * rng.randrange(25) + "a" * rng.randrange(5) if rng.random() < 0.5 else ""
    return lead + rng.choice(("", " ")).join(rng.choice(PARTS) for _ in range(rng.randrange(1, 12)))


# Texts as they become comments, many in one program


def all_comments(form: GcodeFormat, text: str) -> list[str]:
    """Each way in which a text gets into a program's comments, at its beginning too."""
    return [
        *form.comments(text),
        *form.comments(f"Blank: {text}, 9 mm"),
        *form.comments(f"Title: {text}"),
        *form.comments(f"Feature outline: {text}, level 1 of 2"),
    ]


def comments_command_nothing(count: int) -> None:
    rng = random.Random(2107)
    forms = [GcodeFormat(machine) for machine in MACHINES if machine.comments]
    bare = "G21 G17 G90 G94 G54\nG0 X1 Y2 Z3\n{}G1 X4 F500\n{}M30\n"
    wanted = canonical(bare.format("", "")) if FOLDER else None
    for first in range(0, count, AT_ONCE):
        texts = [any_text(rng) for _ in range(AT_ONCE)]
        form = forms[first // AT_ONCE % len(forms)]
        lines = [f"{line}\n" for text in texts for line in all_comments(form, text)]
        assert max(map(len, lines)) <= form.machine.line_length + 1
        middle = len(lines) // 2
        text = bare.format("".join(lines[:middle]), "".join(lines[middle:]))
        if wanted is not None:
            assert wanted == canonical(text)
    # Our reader refuses each comment that commands, and takes none of these for a line of a header that begins so.
    for text in (any_text(rng) for _ in range(count)):
        form = rng.choice(forms)
        said = "\n".join((*form.comments(f"Blank: {text}"), *form.comments(f"Title: {text}")))
        assert read("G21\nM30\n").header == read(f"{said}\nG21\nM30\n").header, text


@needed
def test_the_comments_of_a_thousand_texts_command_nothing() -> None:
    comments_command_nothing(1000)


@needed
@pytest.mark.slow
def test_the_comments_of_8000_texts_command_nothing() -> None:
    comments_command_nothing(8_000)


@needed
@pytest.mark.parametrize("comment", ["LOGOPEN,f", "MSG,x", "PRINT, x"])
def test_the_interpreter_tells_what_a_comment_makes_it_do(comment: str) -> None:
    # A judge that sees nothing would pass all of the above.
    assert canonical(f"G21\n({comment})\nM30\n").said
    assert [] == canonical("G21\n(aa LOGOPEN,f)\nM30\n").said


# Whole programs


def program(machine: Machine, name: Callable[[], str]) -> tuple[str, str]:
    """A program that scores a line and changes its bit, and the file beside it; every word of a job that gets into
    either is `name()`.
    """
    setup = {"keep_out": [{"name": "x", "x": [-60, -45], "y": [-25, 25], "height": 6}]}
    plain = context(Plane(bit="planer", leave=6), machine=machine, setup=setup)
    keep = plain.setup.keep_out[0].model_copy(update={"name": name()})
    assert isinstance(keep, KeepOut)
    mine = replace(
        plain,
        job=plain.job.model_copy(update={"title": name()}),
        wood=replace(plain.wood, name=name(), sensitises=True),
        setup=plain.setup.model_copy(update={"keep_out": (keep,)}),
        machine=machine.model_copy(update={"name": name()}),
    )
    steps = (Rapid(10, 5, 13), Rapid(10, 5, 8.5), Feed(10, 5, 5.5, 200), Feed(10, 20, 5.5, 500), Rapid(10, 20, 13))
    sections = tuple(Section("engraving", bit, name(), steps, 18000) for bit in ("scorer", "quarter"))
    reasons = {"feed": f"chip load of a 0.6 mm bit in {name()}"}
    scored = [
        Lines("engraving", 30, bit, replace(CUTTING, reasons=reasons), name(), 6.0, 5.5, [], ())  # type: ignore[arg-type]
        for bit in ("scorer", "quarter")
    ]
    heading = Heading(
        version="0.1.0", job_hash="3f2a9c1b7d20", name="01-face.nc", number=1, count=2,
        bit_numbers={"planer": 1, "quarter": 2, "scorer": 3}, touch_off=TouchOff("bed", 0.0),
        altered=(name(),), accepted=(f"uncut@{name()}",), booked=BookedSession(1, 2, 30.0),
    )  # fmt: skip
    written = write(Toolpath(ProgramPlan("face", tuple(scored)), sections), mine, heading)
    return written.text, written.beside


def programs_command_alike(count: int) -> None:
    rng = random.Random(2108)
    for machine in MACHINES:
        meant, beside = program(machine, lambda: "A")
        wanted = canonical(meant) if FOLDER else None
        header = read(meant, beside).header
        for _ in range(count):
            said, words = program(machine, lambda: any_text(rng))
            assert code(meant) == code(said)
            assert max(map(len, said.splitlines())) <= machine.line_length
            assert re.fullmatch(r"[A-Za-z0-9 .,:+\-/='_()%\n]*", said)
            assert header == read(said, words).header
            assert bool(words) == (not machine.comments)
            for line in words.splitlines():
                assert re.fullmatch(
                    r"(# The comments of 01-face.nc|# Keep this|[0-9]+: [A-Za-z0-9 .,:+\-/='_]*).*", line
                )
            if wanted is not None:
                assert wanted == canonical(said)


@pytest.mark.parametrize("machine", MACHINES, ids=range(len(MACHINES)))
def test_what_a_hand_goes_by_is_read_whatever_the_names_around_it(machine: Machine) -> None:
    rng = random.Random(2109)
    wanted = {"zero", "stock", "nut line", "centreline", "bit 2", "bit 3", "place to keep clear of 1"}
    wanted |= {"dial"} if machine.spindle.dialled else set()
    wanted |= {"Z on the bed"} if machine.tool_change == "automatic" else set()
    plain = read(*program(machine, lambda: "A")).told
    assert wanted == {told.what for told in plain}
    for _ in range(5):
        said = read(*program(machine, lambda: any_text(rng))).told
        assert [(t.what, t.values, t.before) for t in plain] == [(t.what, t.values, t.before) for t in said]


def code(text: str) -> list[str]:
    """The lines of a program that command, without the numbers before them."""
    return [re.sub(r"^N\d+ ", "", line) for line in text.splitlines() if not line.startswith("(")]


@pytest.mark.slow
def test_whole_programs_with_random_names_command_what_they_command_without() -> None:
    programs_command_alike(2)


@pytest.mark.slow
def test_many_whole_programs_with_random_names_command_what_they_command_without() -> None:
    programs_command_alike(10)


DRAWN = """\
title: "{word} board"
units: mm
machine: {machine}
wood: {{name: "{word}", janka: 3220, density: 955}}
instrument:
  scale_length: 344
  frets: 12
  strings: 4
  board: {{width: {{nut: 31.3, end: 38.7}}, overhang: 9.1, thickness: 4.9}}
stock: {{length: 239, width: 62, thickness: 4.9}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 17.2
    hold: tape
    keep_out: [{{name: "{word}", x: [215, 220], y: [-5, 5], height: 6}}]
    features:
      - pocket: {{bit: sixteenth, drawing: d.svg, depth: 1.1, place: [90, 0]}}
      - engraving: {{bit: vee60, drawing: d.svg, depth: 0.3, place: [150, 0]}}
"""
SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="-10 -10 20 20">
<g id="{word}"><rect id="{word} b" x="-4" y="-3" width="8" height="6"/></g></svg>
"""


def drawn(folder: Path, machine: str, word: str) -> list[str]:
    """The programs of a job whose every name is that word, its drawing's too."""
    folder.mkdir()
    (folder / "d.svg").write_text(SVG.format(word=word), encoding="utf-8")
    (folder / "job.yaml").write_text(DRAWN.format(machine=machine, word=word), encoding="utf-8")
    return [p.text for p in make(folder / "job.yaml", Changes(pitch=0.5)).programs]


@pytest.mark.parametrize("machine", ["small-frame", pytest.param("bench-router", marks=pytest.mark.slow)])
@pytest.mark.parametrize("word", ["go~ ! 7% a~!b?$", pytest.param("aa oak MSG,x " * 4, marks=pytest.mark.slow)])
def test_names_of_a_drawing_and_its_group_command_nothing(tmp_path: Path, machine: str, word: str) -> None:
    meant, said = drawn(tmp_path / "a", machine, "word"), drawn(tmp_path / "b", machine, word)
    for plain, text in zip(meant, said, strict=True):
        assert code(plain) == code(text)
        assert re.fullmatch(r"[A-Za-z0-9 .,:+\-/='_()\n]*", text)
        if FOLDER:
            assert canonical(plain) == canonical(text)
    assert any(word.split(maxsplit=1)[0].strip("~") in line for line in "".join(said).splitlines() if "Feature" in line)


@pytest.mark.parametrize("name", ["the  face of the board", "a" * 40, "in 38 signs the name is cut", "a -_b" * 8])
def test_a_name_of_any_length_stands_in_the_shortest_lines_and_is_found_again(tmp_path: Path, name: str) -> None:
    # A job that is sound is not stopped for the length of a comment's line.
    narrow = load_machine("bench-router").model_dump(mode="json") | {"line_length": 40}
    (tmp_path / "narrow.yaml").write_text(json.dumps(narrow), encoding="utf-8")
    bit = f'bits:\n  "{name}": {{shape: flat, diameter: 3, cutting_length: 12, shank: 6, stickout: 25}}\n'
    text = board().replace("bench-router", "narrow.yaml").replace("name: face", f'name: "{name}"')
    text = text.replace("{bit: eighth", f'{{bit: "{name}"').replace("setups:", f"{bit}setups:")
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    assert () == make(tmp_path / "job.yaml", Changes(pitch=0.5)).findings
