"""Tables as lines of a given width: nothing is cut, no word is torn; a table that is too wide becomes several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import plain
from toolpaths.reports.text.wrapped import longest_word, wrapped, wrapped_line

_GAP = 2
_READABLE = 22
"""The narrowest column of sentences that is read with ease, in characters. Common practice, no source."""
_HIGH = 6
"""Lines of a row up to which narrow columns beside each other are easier to read than two tables."""
_LONGEST = 2000
_MORE = "The same rows, more columns:"
_BOLD, _END = "\x1b[1m", "\x1b[0m"


@dataclass(frozen=True, slots=True)
class _Column:
    """Widths of a column in characters. `whole`: no line of it is broken; `least`: it is read with ease; `word`: no
    word of it is torn.
    """

    whole: int
    least: int
    word: int


def printed(table: Table, width: int, *, bold: bool = False) -> str:
    """The table in lines of at most `width` characters, under its title; a word that is longer stays whole.

    Cells are broken between words, figures never. Where the columns do not fit beside each other, the others follow
    below, in as many further tables as it takes, each with the first columns of the table before them
    (`Table.keys`), so that every row is named in each.
    """
    cells = [tuple(_harmless(cell) for cell in row) for row in (table.headers, *table.rows)]
    table = replace(table, title=plain(table.title, _LONGEST), headers=cells[0], rows=tuple(cells[1:]))
    columns = [_column(table, i) for i in range(len(table.headers))]
    out: list[str] = []
    for k, part in enumerate(_divided(table, columns, width)):
        title = wrapped(table.title if k == 0 else _MORE, width)
        out += [""] if k else []
        out += [f"{_BOLD}{line}{_END}" if bold else line for line in title]
        out += _drawn(table.only(part), _widths([columns[i] for i in part], width))
    return "\n".join(out)


# Private


def _harmless(cell: str) -> str:
    return "\n".join(plain(line, _LONGEST) for line in cell.split("\n"))


def _column(table: Table, i: int) -> _Column:
    cells = [line for row in table.rows for line in row[i].split("\n")]
    headers = table.headers[i].split("\n")
    head, longest = max(map(longest_word, headers)), max(map(len, [*cells, *headers]))
    if i in table.numbers:
        word = max([head, *map(len, cells)])
        return _Column(max(longest, word), word, word)
    word = max([head, *map(longest_word, cells)])
    return _Column(longest, max(word, min(longest, _READABLE)), word)


def _divided(table: Table, columns: Sequence[_Column], width: int) -> list[list[int]]:
    """The columns of each table to print: all in one where they fit, else the keys before some of the others."""
    every, keys = list(range(len(columns))), min(table.keys, len(columns) - 1)
    widths = [column.least + _GAP for column in columns]
    if sum(widths) - _GAP <= width:
        return [every]
    if sum(column.word + _GAP for column in columns) - _GAP <= width:
        narrow = _widths(columns, width)
        if all(sum(1 for _ in _row(table, row, narrow)) <= _HIGH for row in table.rows):
            return [every]
    room, rest, parts = width + _GAP - sum(widths[:keys]), every[keys:], list[list[int]]()
    while rest:
        fits = sum(1 for wide in accumulate(widths[i] for i in rest) if wide <= room)
        parts.append([*every[:keys], *rest[: max(fits, 1)]])
        rest = rest[max(fits, 1) :]
    return parts


def _widths(columns: Sequence[_Column], width: int) -> list[int]:
    """A width for each column: room is given first to what is read with ease, then to lines that stay unbroken."""
    out = [max(column.word, 1) for column in columns]
    for wanted in ([column.least for column in columns], [column.whole for column in columns]):
        room = width - sum(out) - _GAP * (len(out) - 1)
        while room > 0 and (open_ := [i for i in range(len(out)) if out[i] < wanted[i]]):
            narrowest = min(open_, key=lambda i: out[i])
            out[narrowest] += 1
            room -= 1
    return out


def _drawn(table: Table, widths: Sequence[int]) -> Iterator[str]:
    """Headers, a rule and the rows."""
    yield from _row(table, table.headers, widths, bottom=True)
    yield "─" * (sum(widths) + _GAP * (len(widths) - 1))
    for row in table.rows:
        yield from _row(table, row, widths)


def _row(table: Table, row: Sequence[str], widths: Sequence[int], bottom: bool = False) -> Iterator[str]:
    """One row in as many lines as its highest cell has; figures set to the right."""
    cells = [
        [line for text in cell.split("\n") for line in wrapped_line(text, width)]
        for cell, width in zip(row, widths, strict=True)
    ]
    high = max(map(len, cells))
    for k in range(high):
        parts = []
        for i, (cell, width) in enumerate(zip(cells, widths, strict=True)):
            line = k - (high - len(cell)) if bottom else k
            text = cell[line] if 0 <= line < len(cell) else ""
            parts.append(text.rjust(width) if i in table.numbers else text.ljust(width))
        yield (" " * _GAP).join(parts).rstrip()
