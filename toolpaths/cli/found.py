"""`neckpath found`: what was measured on the wood, kept beside the job, so that the programs to come follow it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import complain, say, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.cli.found_answers import Answers


def found(
    job: options.JobFile,
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="MARK=VALUE", help="A measured value, such as M3=5.94. May be given several times."
        ),
    ] = None,
    forget: Annotated[
        list[str] | None, typer.Option("--forget", metavar="MARK", help="Take a value out again. Several may be given.")
    ] = None,
    cut: Annotated[
        int | None,
        typer.Option("--cut", min=0, max=999, metavar="N", help="Programs 1 to N are cut, and stay as they are."),
    ] = None,
    every: Annotated[bool, typer.Option("--list", help="Show every mark of the job, and ask nothing.")] = False,
) -> None:
    """Keep what was measured at the marks of the sheet; later programs are corrected by it and proven anew.

    On a terminal it asks for the marks in order. Each value is kept at once, in <job>.found.yaml beside the job.
    """
    with usable():
        from toolpaths.cli.found_answers import Answers

        answers = Answers.of(job, cut)
        if every:
            from toolpaths.reports.text.measuring import whole_list

            show_tables([whole_list(answers.loaded.job, answers.marks.values(), answers.values.value)])
            return
        for name in forget or ():
            answers.forget(name.strip())
        for text in values or ():
            answers.take(*options.pair(text, "=", "--set", "MARK=VALUE, such as M3=5.94"))
        if not values and not forget:
            if not sys.stdin.isatty():
                complain("Give values with --set M3=5.94, or run it on a terminal; --list shows the marks.")
            _ask(answers)
        _close(answers, job)


def _ask(answers: Answers) -> None:
    """Ask for every mark that is due, in order; Enter passes one over, `q` ends."""
    waiting = answers.due()
    if not waiting:
        say("Nothing is due to be measured. --cut N says that more programs are cut; --list shows every mark.")
        return
    say("Type what you measured, and Enter. Enter alone leaves a mark for later, q ends. Each value is kept at once.")
    say()
    for mark in waiting:
        while True:
            typed = typer.prompt(answers.question(mark), default="", show_default=False).strip()
            if typed.lower() == "q":
                return
            if not typed:
                break
            refused = answers.refusal(mark.name, typed)
            if refused is None:
                answers.take(mark.name, typed)
                break
            say(refused)


def _close(answers: Answers, job: Path) -> None:
    """What was found so far, what follows, the next step. A value stays kept where no more can be cut with it."""
    from toolpaths.found.corrections import said
    from toolpaths.pipeline.as_found import history_of
    from toolpaths.pipeline.load import load_job
    from toolpaths.reports.text.found_words import uneven_faces
    from toolpaths.reports.text.measuring import found_table

    loaded = load_job(job)
    show_tables([found_table(loaded.job, answers.marks.values(), answers.values.value)])
    say(f"Kept in {answers.path}.")
    for words in uneven_faces(answers.marks.values(), answers.values.value, loaded.job.units):
        say(words)
    for words in dict.fromkeys(said(c, loaded.job) for c in history_of(loaded).followed):
        say(f"{words}.")
    say(f"Next: neckpath write {job} makes the programs to come anew, and proves them.")
