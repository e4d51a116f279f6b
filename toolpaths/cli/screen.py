"""Printing: results to the output, errors to the error stream, a progress bar where it takes long.

Sentences and tables are as wide as the terminal at most, or as COLUMNS says, or 100 where the output goes into a file;
they are broken between words only. File names, titles and messages come from other people's files: none is ever read
as markup.
"""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from rich.progress import Progress

    from toolpaths.reports.text.tables import Table
    from toolpaths.verification.outcome import Outcome

UNUSABLE = 2
STOPPED = 1
_PATIENCE = 1.0
_WIDEST, _NARROWEST = 100, 40
"""Widths in characters: of what goes into a file where COLUMNS says nothing, and of any line at least."""
_MOST_LINES = 3
"""Of a finding, on 80 columns."""
_NONE = "Nothing was made."
_INDENT = 4
"""Of the lines that follow the first of a finding, in characters."""
_COLOURS = {"stop": typer.colors.RED, "warn": typer.colors.YELLOW, "note": typer.colors.BLUE}


@contextmanager
def usable(*, makes: bool = True) -> Iterator[None]:
    """Turns everything that makes a job or a command line unusable into words and exit code 2.

    `makes`: the command makes files, so that the words end by saying that there are none.
    """
    try:
        yield
    except BrokenPipeError:
        raise
    except Exception as error:
        said = unusable(error, makes=makes)
        if said is None:
            raise
        complain("\n".join(said))


def unusable(error: Exception, *, makes: bool = True) -> list[str] | None:
    """Why a job or a command line cannot be used, in words for the error stream; None for any other error."""
    from toolpaths.common.errors import JobError, NeckpathError
    from toolpaths.job.files.problems import render

    if isinstance(error, JobError):
        many = f"{len(error.problems)} problems." if len(error.problems) > 1 else ""
        last = " ".join(filter(None, (many, _NONE if makes else "")))
        return [*(render(problem) for problem in error.problems), *([last] if last else [])]
    if isinstance(error, NeckpathError):
        return [_one_line(f"{error}. {_NONE}" if makes else f"{error}.")]
    if isinstance(error, MemoryError):
        fits = f" The finest that fits is --pitch {error}." if str(error) else " Give a coarser --pitch."
        return [f"The depth map is too large for the memory.{fits}"]
    if isinstance(error, UnicodeDecodeError):
        return ["A program is plain text; this file is not."]
    return [_one_line(os_words(error))] if isinstance(error, OSError) else None


def os_words(error: OSError) -> str:
    """The text of a system error, with the file first."""
    if error.filename is None:
        return str(error)
    return f"{error.filename}: {(error.strerror or str(error)).lower()}"


def complain(text: str) -> None:
    """Print why nothing can be done, and end with exit code 2."""
    from toolpaths.reports.text.wrapped import wrapped

    lines = [*_harmless(text).split("\n"), ""]
    for line, below in pairwise(lines):
        # A line of a file and the mark below it stay as they are.
        shown = "^" in (line.strip(), below.strip())
        typer.echo("\n".join([line] if shown else wrapped(line, width())), err=True)
    raise typer.Exit(UNUSABLE)


def width() -> int:
    """Characters in a line: of the terminal, or as COLUMNS says; in a file at most 100 where it says nothing."""
    columns = shutil.get_terminal_size((_WIDEST, 24)).columns
    piped = not os.environ.get("COLUMNS", "").isdecimal() and not sys.stdout.isatty()
    return max(min(columns, _WIDEST) if piped else columns, _NARROWEST)


def say(text: str = "") -> None:
    """One line of result, or several, broken between words."""
    from toolpaths.reports.text.wrapped import wrapped

    typer.echo("\n".join(wrapped(_harmless(text), width())))


def say_whole(text: str) -> None:
    """Lines that stay as they are, however long: what a person copies, or a program reads."""
    typer.echo(_harmless(text))


def show_tables(tables: Sequence[Table]) -> None:
    """Tables for people, each with an empty line after it; none of a table without rows."""
    from toolpaths.reports.text.printed_tables import printed

    for table in tables:
        if table.rows:
            typer.echo(f"{printed(table, width(), bold=_has_colour())}\n")


def show_outcome(outcome: Outcome) -> None:
    """The summary, the findings, and how each feature is cut."""
    from toolpaths.reports.text.tables import features_table

    show_summary(outcome)
    show_findings(outcome)
    show_tables([features_table(outcome, setup) for setup in outcome.setups])


def end_of_run(outcome: Outcome, *words: str) -> None:
    """Ends a run that a finding stops with exit code 1, after some lines of result; else nothing."""
    if outcome.stopped:
        for line in words:
            say(line)
        raise typer.Exit(STOPPED)


def show_findings(outcome: Outcome) -> None:
    """Each finding in a few lines: its weight and code, what is wrong, where, what to do, the value and its limit."""
    from toolpaths.reports.text.words import finding_line, plain
    from toolpaths.reports.text.wrapped import wrapped_line

    for number, finding in enumerate(outcome.findings, start=1):
        weight = str(finding.severity)
        # With the job's path as it was given, which editors find; with its name alone where that makes it too long.
        for job in (plain(outcome.path), ""):
            lines = wrapped_line(f"{number:2d} {weight} {finding_line(finding, outcome, job)}", width(), _INDENT)
            if len(lines) <= _MOST_LINES:
                break
        if finding.said.paste:
            indent = " " * _INDENT
            lines.append("")
            for entry in finding.said.paste.split("\n"):
                lines += wrapped_line(_one_line(indent + entry), width(), _INDENT + 2)
            lines.append("")
        lines[0] = lines[0].replace(weight, typer.style(weight, fg=_COLOURS[weight], bold=True), 1)
        typer.echo("\n".join(lines))
    if outcome.findings:
        say()
        say("More about a finding, and all that ends it: neckpath explain CODE")
        say()


def show_summary(outcome: Outcome) -> None:
    """Whose job, which machine, and the verdict."""
    from toolpaths.reports.text.found_words import found_lines
    from toolpaths.reports.text.words import plain, verdict

    altered = f", changed: {', '.join(outcome.changes.words)}" if outcome.changes.words else ""
    say(f"{plain(outcome.job.title)} ({plain(outcome.machine.name)}, {plain(outcome.wood.name)}{plain(altered)})")
    colour = _COLOURS["stop"] if outcome.stopped else None
    typer.echo(typer.style(verdict(outcome), bold=True, fg=colour))
    for line in found_lines(outcome):
        say(plain(line, 1000))
    for accepted in outcome.accepted:
        say(f"Accepted despite a stop: {plain(accepted)}")
    say()


def show_map(outcome: Outcome) -> None:
    """The depth map of every setup: in colour where the terminal shows it, else in characters."""
    from toolpaths.reports.pictures.terminal_map import terminal_map

    for line in terminal_map(outcome, width(), _has_colour()):
        typer.echo(line)


def _has_colour() -> bool:
    """Whether the output is a terminal that shows colours and blocks, and NO_COLOR is not set."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM", "dumb") == "dumb" or not sys.stdout.isatty():
        return False
    try:
        "▀".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


class Waiting:
    """A progress bar on the error stream, from the moment a run has taken a second, if that is a terminal."""

    def __init__(self) -> None:
        self._since = time.monotonic()
        self._bar: Progress | None = None

    def __enter__(self) -> Waiting:
        return self

    def __call__(self, what: str, fraction: float) -> None:
        """Show the current step, and how much of the whole is done (0 to 1)."""
        if self._bar is None and time.monotonic() - self._since > _PATIENCE and sys.stderr.isatty():
            self._bar = _bar()
            self._bar.add_task(what, total=1.0)
            self._bar.start()
        if self._bar is not None:
            self._bar.update(self._bar.task_ids[0], description=_one_line(what), completed=fraction, refresh=True)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()


def _bar() -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    console = Console(stderr=True, markup=False)
    what = TextColumn("{task.description}", markup=False)
    # Drawn when it is told, not by a thread: work is done aside in forks, which no thread may run beside.
    return Progress(what, BarColumn(), TaskProgressColumn(), console=console, transient=True, auto_refresh=False)


def _harmless(text: str) -> str:
    """Lines that can do nothing to a terminal: no escape sequences, no marks that turn the direction of writing."""
    return "\n".join(_one_line(line) for line in text.split("\n"))


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
