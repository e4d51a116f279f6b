"""A program without comments, and the file of words beside it: read as one program with its comments."""

from __future__ import annotations

import numpy as np
import pytest

from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import Trace

CODE = """\
G21
G17 G90 G94
G54
G0 Z25
S18000 M3
G4 P3
G0 X36.482 Y-24
G1 Z5.87 F120
G1 Y24 F280
G0 Z25
G0 X40 Y24
G1 Z5 F120
G0 Z25
M5
M30
"""
BESIDE = """\
# What a.nc has to say.

1: Title: Tenor board
1: neckpath 0.1.0, job 3f2a9c1b7d20
1: Program 2 of 4, setup face
1: Bit 2: scorer, flat 0.60 mm
1: Touch off: planed face, Z 6.000 mm
7: Feature score_lines: fret 1, pass 1 of 4
11: Feature marker_pockets: fret 3
14: Done.
"""


def with_comments() -> str:
    """The same program as a controller with comments would have it."""
    words: dict[int, list[str]] = {}
    for line in BESIDE.splitlines():
        if line and line[0] != "#":
            at, _, text = line.partition(": ")
            words.setdefault(int(at), []).append(f"({text})")
    return "".join("\n".join([*words.get(i, []), line]) + "\n" for i, line in enumerate(CODE.splitlines(), 1))


def same(a: Trace, b: Trace) -> bool:
    """Whether two traces tell the same but for their lines."""
    arrays = ("kind", "start", "end", "centre", "feed", "rpm", "bit", "section")
    return (
        a.header == b.header
        and a.sections == b.sections
        and [(e.word, e.before, e.value) for e in a.events] == [(e.word, e.before, e.value) for e in b.events]
        and all(np.array_equal(getattr(a, n), getattr(b, n), equal_nan=True) for n in arrays)
    )


def test_words_beside_a_program_count_as_its_comments() -> None:
    found = read(CODE, BESIDE)
    assert same(read(with_comments()), found)
    assert ("3f2a9c1b7d20", 2, 4, "face", ((2, "scorer"),)) == (
        found.header.job_hash,
        found.header.number,
        found.header.count,
        found.header.setup,
        found.header.bits,
    )
    assert ("planed face", 6.0) == (found.header.touch_surface, found.header.touch_z)
    assert (("score_lines", "fret 1, pass 1 of 4"), ("marker_pockets", "fret 3")) == found.sections
    assert [-1, 0, 0, 0, 0, 1, 1, 1] == found.section.tolist()
    assert {2} == set(found.bit.tolist())


def test_without_it_the_program_says_nothing_of_itself() -> None:
    assert read(CODE).header.job_hash is None
    assert read(CODE, "").sections == ()


def test_words_after_the_first_move_are_no_header() -> None:
    late = BESIDE.replace("1: Title", "# 1: Title").replace("1: neckpath 0.1.0, job 3f2a9c1b7d20\n", "")
    assert read(CODE, late + "14: neckpath 0.1.0, job 3f2a9c1b7d20\n").header.job_hash is None


def test_a_comment_and_a_word_beside_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(ReadError, match="does not agree"):
        read("(Program 3 of 4, setup face)\n" + CODE, BESIDE)


@pytest.mark.parametrize(
    ("beside", "says"),
    [
        ("G0 Z-50\n", "line 1 of the file beside the program is not a line number, a colon and words"),
        ("1: a\n-2: b\n", "line 2 of the file beside the program is not a line number"),
        ("5: a\n1: b\n", "line 2 of the file beside the program goes back to line 1"),
        ("1: ü\n", "line 1 of the file beside the program is not"),
        ("1 a\n", "line 1 of the file beside the program is not"),
        ("123456789: a\n", "line 1 of the file beside the program is not"),
        ("1: x\n" * 4_000_000, "larger than 16 MiB"),
    ],
)
def test_a_file_of_another_kind_is_refused(beside: str, says: str) -> None:
    with pytest.raises(ReadError) as caught:
        read(CODE, beside)
    assert 0 == caught.value.line
    assert says in caught.value.problem


def test_nothing_beside_a_program_is_a_command() -> None:
    # G0 Z-50 as words stays words.
    assert same(read(CODE), read(CODE, "8: G0 Z-50\n8: M5\n"))
