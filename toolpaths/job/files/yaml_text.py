"""Read YAML files safely: plain values, and the line and column of every one of them.

The file is read as a stream of events and built here, so that limits hold while it is read: on size, depth,
number of values and aliases. Tags, keys given twice, numbers that are not finite and a second document are
refused. Words follow YAML 1.2: `no`, `on` and `12:30` are text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.plain_file import plain_bytes
from toolpaths.common.units import decimal_comma
from toolpaths.job.files.document import LINE_END, Document, Key, KeyPath, Place, describe, show_path, source_line

MAX_BYTES = 1_048_576
MAX_DEPTH = 40
MAX_VALUES = 20_000
MAX_ALIASES = 100
MAX_MAGNITUDE = 1e12

_INTEGER = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")
_BEFORE_COMMA = re.compile(r"[-+]?[0-9]+,\Z")
_WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")


def read_document(path: Path, file: str | None = None) -> Document:
    """The YAML file at `path`, called `file` in messages. Raises JobError with every problem found."""
    name = str(path) if file is None else file
    try:
        raw = plain_bytes(path, MAX_BYTES + 1)
    except FileNotFoundError:
        problem, hint = "there is no such file", "check the name and the folder"
    except IsADirectoryError:
        problem, hint = "this is a folder, not a file", "name the YAML file in it"
    except PermissionError:
        problem, hint = "this file may not be read", "check its permissions"
    except (OSError, ValueError) as error:
        problem, hint = f"this file cannot be read ({getattr(error, 'strerror', None) or error})", ""
    else:
        return parse_document(raw, name)
    raise JobError([Problem(name, 0, 0, "", problem, hint)])


def parse_document(raw: bytes, file: str) -> Document:
    """The YAML text `raw`, called `file` in messages. Raises JobError with every problem found."""
    if len(raw) > MAX_BYTES:
        raise JobError([Problem(file, 0, 0, "", "larger than 1 MiB", "a file that people write is far smaller")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line, column = before.count(b"\n") + 1, error.start - (before.rfind(b"\n") + 1) + 1
        problem = f"not UTF-8 text (byte 0x{raw[error.start]:02x})"
        raise JobError([Problem(file, line, column, "", problem, "save the file as UTF-8")]) from None
    odd = _UNPRINTABLE.search(text)
    if odd is not None:
        line = len(LINE_END.findall(text, 0, odd.start())) + 1
        column = odd.start() - max(text.rfind("\n", 0, odd.start()), text.rfind("\r", 0, odd.start()))
        problem = f"a character that cannot be printed (U+{ord(odd.group()):04X})"
        hint = "save the file as plain UTF-8 text"
        raise JobError([Problem(file, line, column, "", problem, hint, source_line(text, line))])
    return _Builder(file, text).document()


# Private


class _Builder:
    """Builds one document from the events of the YAML parser."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.text = file, text
        self.problems: list[Problem] = []
        self.values: dict[KeyPath, Place] = {}
        self.keys: dict[KeyPath, Place] = {}
        self.anchors: dict[str, tuple[Any, int] | None] = {}
        self.count = 0
        self.aliases = 0

    def document(self) -> Document:
        """The whole document, or every problem at once."""
        from ruamel.yaml import YAML
        from ruamel.yaml.error import MarkedYAMLError, YAMLError

        try:
            data = self._root(iter(YAML(typ="safe", pure=True).parse(self.text)))
        except MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            at = _place(mark) if mark else (1, 1)
            self._stop(at, (), *_in_our_words(error.problem or "", error.context or ""))
        except (YAMLError, ValueError, IndexError, AttributeError, TypeError):
            # The reader itself stumbles over a few malformed escapes and directives.
            self._stop((1, 1), (), "not readable as YAML")
        if self.problems:
            raise JobError(self.problems)
        return Document(self.file, self.text, data, self.values, self.keys)

    def _root(self, events: Iterator[Any]) -> dict[Key, Any]:
        from ruamel.yaml import events as kind

        data: Any = None
        documents = 0
        for event in events:
            if isinstance(event, kind.DocumentStartEvent):
                documents += 1
                at = _place(event.start_mark)
                if documents > 1:
                    self._stop(at, (), "a second document begins here", "a file has one document: take the `---` out")
                if event.tags or (event.version and tuple(event.version) != (1, 2)):
                    self._stop((1, 1), (), "a line that begins with % is not allowed", "take it out")
            elif isinstance(event, kind.ScalarEvent | kind.AliasEvent | kind.NodeEvent):
                data = self._value(event, events, (), 1)
                if data is not None and not isinstance(data, dict):
                    held = f"the file is {describe(data)}, not keys and values"
                    self._stop(self.values[()], (), held, "write `key: value` lines")
        if data is None:
            self._stop((1, 1), (), "the file is empty", "`neckpath start` writes a first job")
        found: dict[Key, Any] = data
        return found

    def _value(self, event: Any, events: Iterator[Any], path: KeyPath, depth: int) -> Any:
        from ruamel.yaml import events as kind

        at = _place(event.start_mark)
        self.values[path] = at
        self._counted(1, at, path)
        if isinstance(event, kind.AliasEvent):
            return self._alias(event, at, path)
        if event.tag is not None:
            self._no_tag(event, at, path)
        anchor = event.anchor
        if anchor is not None:
            self.anchors[anchor] = None
        before = self.count
        value: Any
        if isinstance(event, kind.ScalarEvent):
            value = self._scalar(event, at, path)
        elif depth >= MAX_DEPTH:
            self._stop(at, path[:3], f"nested deeper than {MAX_DEPTH} levels", "a job needs fewer than ten")
        elif isinstance(event, kind.SequenceStartEvent):
            value = []
            for item in events:
                if isinstance(item, kind.SequenceEndEvent):
                    break
                value.append(self._value(item, events, (*path, len(value)), depth + 1))
        else:
            value = self._mapping(events, path, depth)
        if anchor is not None:
            self.anchors[anchor] = (value, self.count - before + 1)
        return value

    def _mapping(self, events: Iterator[Any], path: KeyPath, depth: int) -> dict[Key, Any]:
        from ruamel.yaml import events as kind

        value: dict[Key, Any] = {}
        for event in events:
            if isinstance(event, kind.MappingEndEvent):
                break
            at = _place(event.start_mark)
            if not isinstance(event, kind.ScalarEvent):
                self._stop(at, path, "a key must be a plain word or number", "write `key: value`")
            self._counted(1, at, path)
            if event.tag is not None:
                self._no_tag(event, at, path)
            following = next(events)
            if isinstance(following, kind.ScalarEvent) and not (following.value or following.style):
                comma = self._split_number(event)
                if comma and value:
                    whole = (*path, str(next(reversed(value))))
                    self._add(
                        self.values.get(whole, at), whole, f"a number with a comma (`{comma}`)", decimal_comma(comma)
                    )
                    continue
            raw = self._scalar(event, at, path)
            key: Key = raw if isinstance(raw, int) and not isinstance(raw, bool) else event.value
            if raw is None and not event.style:
                self._add(at, path, "a key is missing before the colon", "write `key: value`")
            here: KeyPath = (*path, str(key))
            if key in value:
                first = self.keys[here][0]
                self._add(at, here, f"this key is given twice, first on line {first}", "keep one of the two")
                here = (*path, f"{key} (second)")
            self.keys[here] = at
            item = self._value(following, events, here, depth + 1)
            value.setdefault(key, item)
        return value

    def _split_number(self, event: Any) -> str:
        """The number that a key without a value is the end of: the `0,6` of `{a: 0,6, b: 2}`; else empty."""
        before = _BEFORE_COMMA.search(self.text, max(0, event.start_mark.index - 40), event.start_mark.index)
        number = f"{before.group()}{event.value}" if before is not None and not event.style else ""
        return number if decimal_comma(number) else ""

    def _alias(self, event: Any, at: Place, path: KeyPath) -> Any:
        self.aliases += 1
        if self.aliases > MAX_ALIASES:
            self._stop(at, path, f"more than {MAX_ALIASES} aliases", "write the values out")
        found = self.anchors.get(event.anchor, ())
        if found == ():
            self._stop(at, path, f"there is no `&{event.anchor}` above for `*{event.anchor}`", "write the value out")
        if not found:
            self._stop(at, path, f"`*{event.anchor}` would contain itself", "write the value out")
        value, size = found
        self._counted(size - 1, at, path)
        return value

    def _scalar(self, event: Any, at: Place, path: KeyPath) -> Any:
        text: str = event.value
        if _UNPRINTABLE.search(text):
            self._add(at, path, "text with a character that cannot be printed", "leave the backslash escape out")
        if event.style or not event.implicit[0]:
            return text
        if text in _WORDS:
            return _WORDS[text]
        if _NOT_FINITE.fullmatch(text):
            self._add(at, path, f"`{text}` is not a number", "write a number with digits")
            return 0
        number: int | float | None = None
        if len(text) > 40:
            if _INTEGER.fullmatch(text) or _FLOAT.fullmatch(text):
                self._add(at, path, f"a number of {len(text)} characters", "write it with fewer digits")
                return 0
        elif _INTEGER.fullmatch(text):
            number = int(text)
        elif _BASED.fullmatch(text):
            number = int(text, 0)
        elif _FLOAT.fullmatch(text):
            number = float(text)
        if number is None:
            return text
        if abs(number) > MAX_MAGNITUDE:
            self._add(at, path, f"`{text}` is too large", "no quantity may be above 1e12")
            return 0
        return number

    def _no_tag(self, event: Any, at: Place, path: KeyPath) -> None:
        tag = str(event.tag).replace("tag:yaml.org,2002:", "!!")
        self._add(at, path, f"a tag ({tag[:40]}) is not allowed here", "take the tag out")

    def _counted(self, more: int, at: Place, path: KeyPath) -> None:
        self.count += more
        if self.count > MAX_VALUES:
            hint = "an alias counts as all its values" if self.aliases else "a job needs only a few hundred"
            self._stop(at, path, f"more than {MAX_VALUES} values", hint)

    def _add(self, at: Place, path: KeyPath, problem: str, hint: str = "") -> None:
        source = source_line(self.text, at[0])
        self.problems.append(Problem(self.file, *at, show_path(path), problem, hint, source))
        if len(self.problems) >= 50:
            raise JobError(self.problems)

    def _stop(self, at: Place, path: KeyPath, problem: str, hint: str = "") -> NoReturn:
        self._add(at, path, problem, hint)
        raise JobError(self.problems) from None


def _place(mark: Any) -> Place:
    return mark.line + 1, mark.column + 1


_YAML_FAULTS: tuple[tuple[str, str, str], ...] = (
    ("'\\t'", "a tab where spaces must be", "indent with spaces"),
    (
        "mapping values are not allowed",
        "a second colon on this line, or wrong spaces at its beginning",
        "put text with `: ` in it into quotes",
    ),
    ("could not find expected ':'", "a colon is missing", "write `key: value`"),
    ("expected ',' or ']'", "a list in [ ] is not closed, or a comma is missing", "check the brackets"),
    ("expected ',' or '}'", "keys in { } are not closed, or a comma is missing", "check the braces"),
    ("found unexpected end of stream", "a quote or bracket is never closed", "close it"),
    (
        "expected <block end>",
        "the spaces at the beginning of this line fit no line above",
        "begin it at the same place as the lines that belong together",
    ),
    ("block sequence entries are not allowed", "a list cannot begin here", "put `- ` on a line of its own, indented"),
    ("found unknown escape character", "an unknown backslash escape", "use single quotes around text with a backslash"),
    ("found undefined tag handle", "a tag is not allowed here", "take the tag out"),
    ("found character '%'", "text cannot begin with %", "put it in quotes"),
    ("found character", "text cannot begin with this character", "put it in quotes"),
)


def _in_our_words(problem: str, context: str) -> tuple[str, str]:
    for found, words, hint in _YAML_FAULTS:
        if found in problem:
            return words, hint
    doing = f" ({context})" if context else ""
    return f"not readable as YAML: {problem or 'unknown fault'}{doing}", "check the line, and the one above it"
