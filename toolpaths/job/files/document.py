"""A parsed YAML file: plain values and the place of each."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from toolpaths.common.errors import Problem

Key = str | int
KeyPath = tuple[Key, ...]
"""Steps from the top of a file: a whole number is a place in a list; a key is text, the fret 12 too ("12")."""
Place = tuple[int, int]
"""Line and column, both from 1."""

LINE_END = re.compile("\r\n|\n|\r")
"""What ends a line of a YAML 1.2 file."""


@dataclass(frozen=True, slots=True)
class Document:
    """A YAML file as plain dicts, lists and scalars. The data may share parts (aliases): do not change it.

    `values` and `keys` say where each value and the key before it stand; what lies behind an alias is found at
    the alias.
    """

    file: str
    text: str
    data: dict[Key, Any]
    values: dict[KeyPath, Place]
    keys: dict[KeyPath, Place]

    def place(self, path: KeyPath, *, on_key: bool = False) -> Place:
        """Where a value (or its key) stands; of the nearest thing around it where it does not."""
        first = self.keys if on_key else self.values
        if path in first:
            return first[path]
        while path:
            path = path[:-1]
            found = self.keys.get(path) or self.values.get(path)
            if found is not None:
                return found
        return (1, 1)

    def problem(self, path: KeyPath, problem: str, hint: str = "", *, on_key: bool = False) -> Problem:
        """A problem at a key path, with its place and source line."""
        line, column = self.place(path, on_key=on_key)
        return Problem(self.file, line, column, show_path(path), problem, hint, source_line(self.text, line))

    def get(self, path: KeyPath) -> Any:
        """The value at a path, None where there is none."""
        value: Any = self.data
        for step in path:
            if isinstance(value, dict):
                value = next((v for k, v in value.items() if str(k) == step), None)
            elif isinstance(value, list) and isinstance(step, int) and 0 <= step < len(value):
                value = value[step]
            else:
                return None
        return value


def source_line(text: str, line: int) -> str:
    """One line of a text, counted from 1; empty where there is none."""
    lines = LINE_END.split(text)
    return lines[line - 1] if 1 <= line <= len(lines) else ""


def show_path(path: KeyPath) -> str:
    """A key path as a maker reads it: `setups[0].features[1].score_lines.depth`."""
    out = ""
    for step in path:
        if isinstance(step, int):
            out += f"[{step}]"
            continue
        text = step if re.fullmatch(r"[\w <()-]{1,60}", step) else repr(step if len(step) <= 60 else step[:57] + "...")
        out += f".{text}" if out else text
    return out


def describe(value: Any) -> str:
    """What a value is, in a maker's words, short."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, int | float):
        return f"the number {value}"
    if isinstance(value, str):
        flat = " ".join(value.split())
        return f"the text `{flat if len(flat) <= 40 else flat[:37] + '...'}`"
    return "a mapping" if isinstance(value, dict) else "a list"
