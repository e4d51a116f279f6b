"""Faults of a typed model are told with their place, in a maker's words; and how a problem is shown."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from pydantic import Field, ValidationError

from toolpaths.common.errors import Problem
from toolpaths.common.input_model import AsTuple, InputModel, Number, Positive
from toolpaths.common.units import Depth, Length, Size
from toolpaths.job.files.problems import problems_of, render
from toolpaths.job.files.yaml_text import parse_document


class Curve(InputModel):
    nut: Size
    end: Size


class Thing(InputModel):
    length: Size = Field(description="From end to end.")
    frets: int = Field(default=1, ge=1, le=60)
    side: Literal["bass", "treble"] = "bass"
    on: bool = True
    angle: Positive = 1.0
    share: Number = 0.0
    deep: Depth = 0.0
    curve: Size | Curve | None = None
    span: Annotated[tuple[Length, Length], AsTuple] = (0.0, 1.0)
    list: Annotated[tuple[int, ...], AsTuple] | Literal["all"] = "all"
    name: str = Field(default="x", min_length=1, max_length=5, pattern="^[a-z]*$")
    inner: Curve | None = None


def told(text: str) -> list[str]:
    document = parse_document(text.encode(), "job.yaml")
    with pytest.raises(ValidationError) as caught:
        Thing.model_validate(document.data, context={"units": "mm"})
    found = problems_of(caught.value, document, (), Thing)
    return [f"{p.line}:{p.column}: {p.key}: {p.problem}" + (f" [{p.hint}]" if p.hint else "") for p in found]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("frets: 2", "1:1: length: is missing [add it: from end to end]"),
        ("length: 0", "1:9: length: must be more than 0"),
        ("length: long", "1:9: length: not a length; write a number, or text such as 6.35 mm or 1/4 in"),
        ("length: 1/0 in", "1:9: length: a fraction over 0 is not a length"),
        ("length: [1]", "1:9: length: write a length, such as 6.35, 6.35 mm or 1/4 in"),
        ("{length: 1, deep: -1}", "1:19: deep: must not be less than 0"),
        ("{length: 1, fret: 2}", "1:13: fret: this key is not known here [did you mean `frets`?]"),
        ("{length: 1, frets: 1.5}", "1:20: frets: write a whole number, not the number 1.5"),
        ("{length: 1, frets: many}", "1:20: frets: write a whole number, not the text `many`"),
        ("{length: 1, frets: 0}", "1:20: frets: must be at least 1"),
        ("{length: 1, frets: 61}", "1:20: frets: must be at most 60"),
        ("{length: 1, angle: 0}", "1:20: angle: must be more than 0"),
        ("{length: 1, share: x}", "1:20: share: write a number"),
        ("length: 0,5", "1:9: length: write 0.5 with a point: a comma separates entries"),
        ("length: 1\nfrets: 1,5", "2:8: frets: write 1.5 with a point: a comma separates entries"),
        (
            "length: 1\nangle: 1,000",
            "2:8: angle: write 1.000 with a point, or 1000 without one: a comma separates entries",
        ),
        ("length: 1\nshare: 0,5", "2:8: share: write 0.5 with a point: a comma separates entries"),
        ("{length: 1, on: yes}", "1:17: on: write true or false, not the text `yes`"),
        ("{length: 1, name: 5}", "1:19: name: write text, not the number 5"),
        ("{length: 1, name: ''}", "1:19: name: must not be empty"),
        ("{length: 1, name: abcdef}", "1:19: name: must not be longer than 5 characters"),
        ("{length: 1, name: A}", "1:19: name: the text `A` has characters that cannot be used here"),
        (
            "{length: 1, side: trebel}",
            "1:19: side: the text `trebel` is not one of the choices [did you mean `treble`?]",
        ),
        ("{length: 1, side: 7}", "1:19: side: the number 7 is not one of the choices [choose from: bass, treble]"),
        ("{length: 1, inner: 7}", "1:20: inner: write keys and values here, not the number 7"),
        ("{length: 1, span: 7}", "1:19: span: write a list, not the number 7"),
        ("{length: 1, span: [7]}", "1:19: span: this list has too few entries"),
        ("{length: 1, span: [1, 2, 3]}", "1:19: span: must hold at most 2"),
        ("{length: 1, span: [1, x]}", "1:23: span[1]: not a length; write a number, or text such as 6.35 mm or 1/4 in"),
    ],
)
def test_each_kind_of_fault_has_its_place_and_words(text: str, said: str) -> None:
    assert [said] == told(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{length: 1, curve: -2}", "1:20: curve: must be more than 0"),
        ("{length: 1, curve: {nut: 2}}", "1:13: curve.end: is missing [add it]"),
        (
            "{length: 1, curve: {nut: 2, end: x}}",
            "1:34: curve.end: " + "not a length; write a number, or text such as 6.35 mm or 1/4 in",
        ),
        ("{length: 1, list: [1, b]}", "1:23: list[1]: write a whole number, not the text `b`"),
        ("{length: 1, list: some}", "1:19: list: the text `some` is not one of the choices [choose from: all]"),
    ],
)
def test_where_a_value_may_be_of_several_kinds_only_the_kind_it_looks_like_is_told(text: str, said: str) -> None:
    assert [said] == told(text)


def test_all_faults_are_told_at_once() -> None:
    assert [
        "1:1: length: is missing [add it: from end to end]",
        "1:8: frets: must be at least 1",
        "2:1: sid: this key is not known here [did you mean `side`?]",
    ] == told("frets: 0\nsid: bass")


def test_a_key_far_from_all_known_ones_is_answered_with_the_list() -> None:
    (said,) = told("{length: 1, qqq: 2}")
    assert said.endswith(
        "[keys known here: length, frets, side, on, angle, share, deep, curve, span, list, name, inner]"
    )


# How a problem is shown


def shown(**changes: Any) -> str:
    given = {"file": "j.yaml", "line": 3, "column": 5, "key": "a.b", "problem": "is wrong", "source": "  b: x"}
    return render(Problem(**{**given, **changes}))


def test_a_problem_is_shown_with_its_line_a_mark_under_the_fault_and_a_hint() -> None:
    assert "j.yaml:3:5: a.b: is wrong\n      b: x\n        ^\n    write y" == shown(hint="write y")


def test_a_problem_without_a_place_or_key_is_one_line() -> None:
    assert "j.yaml: there is no such file" == shown(line=0, column=0, key="", problem="there is no such file")


def test_the_first_line_is_never_wrapped() -> None:
    assert "j.yaml:3:5: a.b: " + "word " * 60 == shown(problem="word " * 60).splitlines()[0]


def test_a_very_long_line_is_shown_around_its_fault() -> None:
    text = "x" * 500 + "HERE" + "y" * 500
    _, source, mark = shown(source=text, column=501).splitlines()
    assert 164 == len(source)
    assert "HERE" == source[mark.index("^") :][:4]


def test_tabs_and_control_characters_of_a_line_reach_no_terminal() -> None:
    _, source, mark = shown(source="\ta\x1b[31m: x", column=2).splitlines()
    assert "     a [31m: x" == source
    assert 5 == mark.index("^")


def test_of_thousands_of_faults_a_few_hundred_are_told() -> None:
    assert 200 == len(told("".join(f"k{i}: 1\n" for i in range(1000))))
