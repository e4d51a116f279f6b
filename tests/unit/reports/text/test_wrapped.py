"""Sentences are broken between words, never within one, and a figure stays beside its unit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.reports.text.wrapped import longest_word, wrapped, wrapped_line

WORDS = st.lists(st.from_regex(r"\A[!-~]{1,25}\Z"), max_size=40)


@given(WORDS, st.integers(20, 120), st.integers(0, 12))
def test_no_word_is_lost_or_torn_and_no_line_is_too_long(words: list[str], width: int, indent: int) -> None:
    lines = wrapped_line(" ".join(words), width, indent)
    assert words == [word for line in lines for word in line.split()]
    assert all(len(line) <= width or longest_word(line) + indent > width for line in lines)


@pytest.mark.parametrize(
    "figure", ["0.25 mm", "-0.125 in", "18000 rpm", "320 mm/min", "9 min", "45 s", "4.80 %", "60 degrees", "0.3 cents"]
)
@pytest.mark.parametrize("width", range(20, 60, 7))
def test_a_figure_stays_beside_its_unit(figure: str, width: int) -> None:
    text = " ".join(f"a pass of {figure}, then" for _ in range(8))
    assert 8 == sum(line.count(figure) for line in wrapped(text, width))


@pytest.mark.parametrize(
    ("text", "indent"),
    [
        ("  place      in a bit of the job, or in the rack that every job has", 13),
        ("Programs  in the folder of the job, in their own order and no other", 10),
        ("- a point of a list that goes on and on until the line is full of it", 2),
        ("12. a step of a list that goes on and on until the line is full of it", 4),
        ("    a line that is set in and goes on until the line is full of it all", 4),
        ("a sentence that begins at the margin and goes on until the line is full", 0),
    ],
)
def test_further_lines_begin_where_the_text_of_the_first_does(text: str, indent: int) -> None:
    first, *rest = wrapped(text, 40)
    assert rest
    assert {indent} == {len(line) - len(line.lstrip()) for line in rest}
    assert text.split() == " ".join([first, *rest]).split()


def test_a_text_of_several_lines_keeps_them_and_its_empty_ones() -> None:
    assert ["one", "", "two"] == wrapped("one\n\ntwo", 40)
