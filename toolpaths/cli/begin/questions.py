"""Ask questions with defaults, on a terminal or from options, and parse the answers."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from toolpaths.cli.options import short
from toolpaths.cli.screen import complain, say, width
from toolpaths.common.whole_files import free

if TYPE_CHECKING:
    from toolpaths.common.errors import Problem
    from toolpaths.common.units import Units
    from toolpaths.job.bit import Bit
    from toolpaths.reports.reference.first_answers import Numbers


_ROOM_TO_TYPE = 12
"""Characters that stay free behind a prompt, at least, for an answer."""
_ROUNDED = 0.0127
"""Limits and offers are shown to a thousandth of an inch: half of it, mm."""


class Questions:
    """Ask, keep every answer as it was typed, and ask again until one can be parsed."""

    def __init__(self, given: dict[str, str | None], talk: bool) -> None:
        self.given = given
        self.talk = talk
        self.typed: dict[str, str] = {}

    def ask(self, key: str, question: str, offered: str, read: Callable[[str], Any]) -> Any:
        """An answer: the option's, else the person's, else the one offered. `read` raises ValueError with words.

        Raises typer.BadParameter where nobody can be asked again.
        """
        while True:
            text = self.given.pop(key, None)
            if text is None:
                text = prompted(question, offered) if self.talk else offered
            try:
                answer = read(text.strip())
            except ValueError as error:
                if not self.talk:
                    raise typer.BadParameter(str(error), param_hint=f"--{key}") from None
                tell(f"  {error}")
            else:
                self.typed[key] = text.strip()
                return answer

    def command(self, file: Path | None) -> str:
        """The command line that gives all answers so far."""
        words = ["neckpath", "start", *([str(file)] if file else [])]
        for key, text in {**self.given, **self.typed}.items():
            words += [f"--{key}", text] if text is not None else []
        return command_line(*words)


def command_line(*words: str) -> str:
    """The words of a command as they can be pasted, on one line."""
    line = subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
    return "".join(c if c.isprintable() else " " for c in line)


def prompted(question: str, offered: str) -> str:
    """What is typed, or what is offered. A long question is wrapped, so that the line of the prompt has room."""
    from toolpaths.reports.text.wrapped import wrapped

    *lines, last = wrapped(f"{question} [{offered}]", width() - _ROOM_TO_TYPE)
    for line in lines:
        say(line)
    answer: str = typer.prompt(last, default=offered, show_default=False)
    return answer


def tell(words: str) -> None:
    """Print a sentence, wrapped to the terminal's width."""
    wide = shutil.get_terminal_size().columns if sys.stdout.isatty() else len(words) + 1
    say(textwrap.fill(words, wide, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False))


def between(n: Numbers, low: float, high: float, before: str = "", zero: bool = False) -> Callable[[str], float]:
    """A reader of lengths within limits, mm, and of 0 where `zero`. `before`: what is said before the limits."""

    def read(text: str) -> float:
        from toolpaths.common.units import length

        mm = length(text, n.units)
        if not low - _ROUNDED <= mm <= high + _ROUNDED and not (zero and mm == 0):
            raise ValueError(f"{before}from {n(low)} to {n(high)} {n.units}")
        return mm

    return read


def one_of(names: Iterable[str]) -> Callable[[str], str]:
    """A reader of one of some words."""
    known = {name.casefold(): name for name in names}

    def read(text: str) -> str:
        from toolpaths.job.files.likely_words import did_you_mean

        found = known.get(text.casefold())
        if found is None:
            raise ValueError(f"`{short(text)}` is none of the answers; {did_you_mean(text, known.values(), 'answers')}")
        return found

    return read


def whole(low: int, high: int) -> Callable[[str], int]:
    """A reader of whole numbers within limits."""

    def read(text: str) -> int:
        if re.fullmatch(r"[0-9]{1,9}", text) is None or not low <= int(text) <= high:
            raise ValueError(f"write a whole number from {low} to {high}, not `{short(text)}`")
        return int(text)

    return read


def title(text: str) -> str:
    """A title without what would end the text of a job."""
    kept = "".join(c for c in text if c.isprintable() and c not in '"\\')
    if not 1 <= len(kept) <= 80:
        raise ValueError("write a title of 1 to 80 characters")
    return kept


def machine(text: str) -> str:
    """A shipped machine's name, or the path of a file, as it is typed; a path counts from the folder at hand."""
    from toolpaths.common.errors import JobError
    from toolpaths.job.files.machine_file import machine_hint, machine_path, machine_paths, read_machine

    path = machine_path(os.path.expanduser(text), Path())
    if path is None or not path.is_file():
        raise ValueError(f"no machine is called `{short(text)}`; {machine_hint(text)}")
    try:
        read_machine(path)
    except JobError as error:
        raise ValueError(f"its file cannot be used: {in_words(error.problems)}") from None
    return text if text in machine_paths() else str(path)


def place(q: Questions, part: str, file: Path | None, force: bool) -> Path:
    """Where the job goes, without its ending: a place that is free, or may be written over."""
    offered = f"first-{'job' if part == 'both' else part}.yaml" if file is None else str(file)

    def read(text: str) -> Path:
        found = _stem(text)
        endings = ("-instrument", "-board", "-neck") if part == "both" else ("",)
        for path in (found.with_name(f"{found.name}{ending}.yaml") for ending in endings):
            free(path)
            if path.exists() and not force:
                raise ValueError(f"{path} exists already: give another name (--force overwrites it)")
        return found

    try:
        return read(offered)
    except ValueError as error:
        if not q.talk:
            complain(f"{error}. Nothing was written.")
        tell(f"  {error}.")
    found: Path = q.ask("", "Name of the job's file", f"second-{Path(offered).name}", read)
    return found


def own_bit(text: str, name: str, units: Units) -> Bit:
    """A bit from its keys and values, as a job has them; flat where no shape is given. Raises ValueError."""
    from toolpaths.common.errors import JobError
    from toolpaths.job.bits import BITS
    from toolpaths.job.files.bit_file import bits_in
    from toolpaths.job.files.yaml_text import parse_document

    keys = text.strip().removeprefix("{").removesuffix("}")
    if re.search(r"[{}\n]", keys):
        raise ValueError("write keys and values, such as diameter: 3, cutting_length: 12, shank: 3, stickout: 20")
    shape = "" if re.search(r"\bshape\s*:", keys) else "shape: flat, "
    try:
        bits, problems = bits_in(parse_document(f"bits: {{{name}: {{{shape}{keys}}}}}".encode(), ""), BITS, units)
    except JobError as error:
        raise ValueError(f"not a bit: {in_words(error.problems)}") from None
    if problems:
        raise ValueError(in_words(problems))
    return bits[name]


def in_words(problems: Sequence[Problem]) -> str:
    """The first problem in a sentence, and how many more there are."""
    first, more = problems[0], len(problems) - 1
    place = f"line {first.line}: " if first.file and first.line else ""
    key = first.key.split(".", 2)[-1] if first.key.startswith("bits.") else first.key
    words = ": ".join(part for part in (key, first.problem) if part)
    return f"{place}{words}{f'; {first.hint}' if first.hint else ''}{f' (and {more} more)' if more else ''}"


def _stem(text: str) -> Path:
    """The path of a job to write, without its ending."""
    path = Path(os.path.expanduser(text))
    if not path.name or path.is_dir() or not text.isprintable():
        raise ValueError(f"`{short(text)}` is not a file name, such as my-board.yaml")
    return path.with_suffix("") if path.suffix in (".yaml", ".yml") else path
