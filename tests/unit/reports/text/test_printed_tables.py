"""Printed tables lose nothing at any width: every word whole, every figure whole, every row named."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.reports.text.printed_tables import printed
from toolpaths.reports.text.tables import Table

CELL = st.lists(st.from_regex(r"\A[a-z]{1,12}\Z"), max_size=12).map(" ".join)
FIGURE = st.floats(-999, 999).map("{:.2f}".format)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """Tables of a named row, sentences and figures."""
    kinds = draw(st.lists(st.booleans(), min_size=1, max_size=9))
    headers = ["row", *(draw(CELL) for _ in kinds)]
    count = draw(st.integers(1, 5))
    rows = [(f"row{k}", *(draw(FIGURE if kind else CELL) for kind in kinds)) for k in range(count)]
    return Table("a title", tuple(headers), tuple(rows), [i for i, kind in enumerate(kinds, 1) if kind])


@given(tables(), st.integers(40, 200))
def test_nothing_is_lost_torn_or_too_long(table: Table, width: int) -> None:
    out = printed(table, width)
    assert all(len(line) <= width for line in out.splitlines())
    said = out.split()
    for row in (table.headers, *table.rows):
        for cell in row:
            for word in cell.split():
                assert said.count(word) >= 1, (word, out)
    for i in table.numbers:
        assert {row[i] for row in table.rows} <= set(said)


@given(tables(), st.integers(40, 200))
def test_each_part_names_every_row(table: Table, width: int) -> None:
    out = printed(table, width)
    parts = out.count("The same rows, more columns:") + 1
    for row in table.rows:
        assert parts == sum(line.split()[:1] == [row[0]] for line in out.splitlines())


def test_what_fits_is_one_table_and_its_figures_are_set_to_the_right() -> None:
    table = Table("Frets", ("fret", "x\nmm"), (("1", "32.78"), ("12", "292.00")), {0, 1})
    assert ["Frets", "           x", "fret      mm", "────────────", "   1   32.78", "  12  292.00"] == printed(
        table, 80
    ).splitlines()


def test_a_word_longer_than_the_line_is_kept_whole() -> None:
    path = "/a/very/long/path/" + "folder/" * 12 + "job.yaml"
    assert path in printed(Table("Written", ("job", "folder"), (("1", path),)), 60)


@pytest.mark.parametrize("hostile", ["\x1b[31mred", "a\u202eb", "a\tb\rc", "[red]x[/red]"])
def test_a_cell_can_do_nothing_to_a_terminal(hostile: str) -> None:
    out = printed(Table(hostile, (hostile,), ((hostile,),)), 80)
    assert not re.search("[\x1b\u202e\t\r]", out)


def test_the_title_alone_is_bold() -> None:
    lines = printed(Table("Frets", ("fret",), (("1",),)), 80, bold=True).splitlines()
    assert "\x1b[1mFrets\x1b[0m" == lines[0]
    assert not any("\x1b" in line for line in lines[1:])
