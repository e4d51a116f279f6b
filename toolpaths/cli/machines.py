"""`neckpath machines`: the machine files that are there, and what one of them means."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.complete import machine_names
from toolpaths.cli.screen import complain, say, say_whole, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.job.machine import Machine


def machines(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME]",
            help="One machine: what its file means, and its text.",
            autocompletion=machine_names,
        ),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option(
            "--check",
            metavar="FILE",
            help="Your own file: faults, unlikely figures, what it leaves open.",
        ),
    ] = None,
) -> None:
    """List the machines that a job can name, or show what one means and the text that it gets."""
    with usable(makes=False):
        from toolpaths.job.files.machine_file import machine_hint, machine_paths, read_machine

        paths = machine_paths()
        if name is not None and check is not None:
            complain("Give a name, or --check and a file; not both.")
        if check is not None:
            machine = _readable(check)
            _show(check.stem, machine, str(check))
            _show_doubts(check, machine)
            _show_unknowns(machine, str(check))
        elif name is not None:
            if name not in paths:
                complain(f"No machine is called `{name[:60]}`; {machine_hint(name)} with --check")
            _show(name, read_machine(paths[name]), name)
        else:
            from toolpaths.reports.text.tables import machines_table

            show_tables([machines_table({key: read_machine(path) for key, path in paths.items()})])
            say("A job may also name a machine file of your own by its path.")
            say("`neckpath machines NAME` says what one means; `neckpath machines --check FILE` looks one over.")


def _readable(path: Path) -> Machine:
    """The machine in a file; ends with all faults of it where it cannot be used."""
    from toolpaths.common.errors import JobError
    from toolpaths.job.files.machine_file import read_machine
    from toolpaths.job.files.problems import render
    from toolpaths.reports.text.words import count

    try:
        return read_machine(path)
    except JobError as error:
        faults = [render(problem) for problem in error.problems]
        complain("\n".join([*faults, f"{count(len(faults), 'problem')}: the file cannot be used yet."]))
        raise


def _show(name: str, machine: Machine, given: str) -> None:
    """`given`: how a command names the machine."""
    from toolpaths.reports.reference.machine_words import machine_table, sample, sample_words
    from toolpaths.reports.text.trueness import machine_trueness

    show_tables([machine_table(name, machine)])
    for sentence in machine_trueness(machine, given):
        say(sentence)
    say()
    say("A few moves become:")
    for line in (*sample(machine), *sample_words(machine)):
        say_whole(f"    {line}".rstrip())
    say()


def _show_doubts(path: Path, machine: Machine) -> None:
    """Figures that are unlikely, each with its place in the file."""
    from toolpaths.job.files.problems import render
    from toolpaths.job.files.yaml_text import read_document
    from toolpaths.job.machine_warnings import doubts
    from toolpaths.reports.text.words import count

    document, found = read_document(path), doubts(machine)
    for key, words in found:
        say(f"warn {render(document.problem(key, words))}")
    unlikely = f"Unlikely: {count(len(found), 'figure')}; look again." if found else "No figure in it is unlikely."
    say(f"The file can be used. {unlikely}")


def _show_unknowns(machine: Machine, given: str) -> None:
    """What the file leaves open, and what follows from that."""
    from toolpaths.reports.reference.machine_unknowns import unknowns

    found = unknowns(machine, given)
    say()
    if found:
        say("Not known of this machine:")
        for one in found:
            say(f"- {one.text}")
    else:
        say("Nothing is left open.")
    say("Measure before you trust a figure. The machine's own manual comes first.")
