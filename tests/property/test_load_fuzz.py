"""Whatever is in a job file, loading it ends in a job or in problems with a place; never in anything else."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from toolpaths.common.errors import JobError, Problem
from toolpaths.job.files.problems import render
from toolpaths.pipeline.load import load_job

JOB = """\
title: Tenor board
units: mm
machine: bench-router
wood: hard maple
instrument:
  scale_length: 584
  frets: 19
  strings: 4
  board:
    width: {nut: 36, 12: 44}
    overhang: 8
    thickness: 6
    radius: {nut: 254, end: 406}
stock: {length: 480, width: 64, thickness: {min: 7.8, max: 8}}
bits:
  mine: {shape: vee, angle: 60, diameter: 6, cutting_length: 6, shank: 6, stickout: 20}
  six: {measured_diameter: 6.1}
setups:
  - name: face
    offset: G54
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 12
    hold: tape
    keep_out: [{name: stop, x: [-60, -40], y: [-25, 25], height: 6}]
    features:
      - plane: {bit: planer, leave: 6}
      - score_lines: {bit: scorer, depth: 0.5, frets: [1, 2]}
      - marker_pockets: {bit: eighth, diameter: 6, depth: 1.8}
      - pin_bores: {bit: eighth, at: [{x: -8, y: 0, diameter: 4}], depth: 5}
      - outline: {bit: quarter, tabs: {count: 4, length: 8, height: 1.5}}
"""

WORDS = re.findall(
    r"\S+",
    """nut 36 -1 0 1e9 1e308 .nan fret 14 1/4 1/0 mm true null ~ [] {} [1, 2] {a: 1} 'x' "\\x00" &a *a !!int
    - : , # % @ ` | > G54 G99 planer scorer shape: flat vee ball bit: frets: round name: title: units: in""",
)


def outcome(raw: bytes, changes: tuple[tuple[str, str], ...] = ()) -> None:
    """Loads the bytes as a job file; fails on anything but a job or problems that can be shown."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_bytes(raw)
        problems: tuple[Problem, ...] = ()
        try:
            load_job(path, changes)
        except JobError as error:
            problems = error.problems
            assert problems
    for problem in problems:
        text = render(problem)
        assert text.encode("utf-8")
        assert problem.problem
        assert "\x1b" not in text
        assert "function-" not in text
        assert problem.line <= len(raw) + 1


def scalar() -> st.SearchStrategy[Any]:
    return st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**14), 10**14),
        st.floats(),
        st.text(max_size=12),
        st.sampled_from(WORDS),
    )


def test_the_job_that_is_bent_below_is_sound() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(JOB, encoding="utf-8")
        assert 5 == len(load_job(path).job.setups[0].features)


@settings(max_examples=100)
@given(st.binary(max_size=200))
@example(b"\x00")
@example(b"%TAG ! x\n---\na: !b c\n")
@example(b'a: "\\')
@example(b"? - a\n: b")
@example(b"\xef\xbb\xbf")
@example(b"a: \xf0\x9f\x8e\xb8\n")
def test_any_bytes(raw: bytes) -> None:
    outcome(raw)


@settings(max_examples=100)
@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    outcome(text.encode("utf-8", "surrogatepass"))


@settings(max_examples=100)
@given(st.lists(st.sampled_from([*WORDS, "\n", "\n  ", " ", ": "]), max_size=40))
def test_any_heap_of_words_that_mean_something(words: list[str]) -> None:
    outcome("".join(words).encode())


@settings(max_examples=70)
@given(st.data())
def test_a_sound_job_with_a_piece_replaced(data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(JOB)))
    end = data.draw(st.integers(start, min(len(JOB), start + 40)))
    piece = data.draw(st.one_of(st.sampled_from(WORDS), st.text(max_size=10)))
    outcome((JOB[:start] + piece + JOB[end:]).encode("utf-8", "surrogatepass"))


@settings(max_examples=70)
@given(st.data())
def test_a_sound_job_with_a_value_replaced(data: st.DataObject) -> None:
    import json

    from toolpaths.job.files.yaml_text import parse_document

    document = parse_document(JOB.encode(), "job.yaml")
    path = data.draw(st.sampled_from(sorted(document.values, key=str)))
    value = data.draw(
        st.recursive(scalar(), lambda v: st.lists(v, max_size=3) | st.dictionaries(st.text(max_size=6), v))
    )

    def put(node: Any, at: tuple[Any, ...]) -> Any:
        if not at:
            return value
        if isinstance(node, list):
            return [put(v, at[1:]) if i == at[0] else v for i, v in enumerate(node)]
        return {k: put(v, at[1:]) if str(k) == at[0] else v for k, v in node.items()}

    # JSON is YAML, but for the numbers that JSON has no words for, which is what is wanted here.
    outcome(json.dumps(put(document.data, path)).encode())


@settings(max_examples=40)
@given(st.text(max_size=12) | st.just("scorer"), st.text(max_size=12) | st.sampled_from(WORDS))
def test_any_change_of_bit(name: str, value: str) -> None:
    outcome(JOB.encode(), ((name, value),))
