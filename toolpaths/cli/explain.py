"""`neckpath explain WORD`: what a key, a finding's code or a word of the trade means."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.complete import names_to_explain
from toolpaths.cli.screen import complain, say

if TYPE_CHECKING:
    from toolpaths.reports.reference.explain import Key

_FEW = 6


def explain(
    word: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD]",
            help="A key or its path, a finding's code, or a word: marker_pockets.depth, spindle.dial, gouge, kerf.",
            autocompletion=names_to_explain,
        ),
    ] = None,
) -> None:
    """Say what a key of a job or a machine file, a finding or a word of the trade means."""
    if not word:
        _offer()
        return
    from toolpaths.reports.reference.explain import explained

    asked = " ".join(word)
    found = explained(asked)
    if not found.found:
        near = f"Did you mean {_either(found.near)}?" if found.near else "`neckpath explain` lists what can be asked."
        complain(f"No key, finding or word is called `{asked.strip()[:60]}`. {near}")
    for term in found.words:
        say(f"{', '.join(term.names)} (a word)")
        say(f"  {term.meaning}")
        say()
    for code, lines in found.codes:
        say(f"{code} (a finding)")
        for line in lines:
            say(f"  {line}".rstrip())
        say()
    for key, values in found.values[:_FEW]:
        for value, means in values:
            say(f"{value} (a value of {_path(key)})")
            say(f"  {means or key.words or key.where}")
            say()
        say(f"  More about this key: neckpath explain {_path(key)}")
        say()
    if len(found.keys) <= _FEW:
        for key in found.keys:
            _say(key)
        return
    say(f"{len(found.keys)} keys have this name:")
    for key in found.keys:
        say(f"  {_path(key)}: {key.words or key.where}")
    say("Ask for one of them by its path, such as:")
    say(f"  neckpath explain {_path(found.keys[0])}")


def _offer() -> None:
    """What can be asked."""
    from toolpaths.features.kinds import FEATURES
    from toolpaths.job.job import Job
    from toolpaths.job.machine import Machine
    from toolpaths.reports.reference.keys import typed_name
    from toolpaths.reports.reference.pages import code_texts, glossary

    say("Write a word behind it, such as `neckpath explain kerf`. You can ask for:")
    for what, names in (
        ("Keys of a job", [typed_name(name, field) for name, field in Job.model_fields.items()]),
        ("Features", list(FEATURES)),
        ("Keys of a machine file", list(Machine.model_fields)),
        ("Findings", list(code_texts())),
        ("Words", [name for word in glossary() for name in word.names]),
    ):
        say()
        say(f"{what}: {', '.join(names)}.")
    say()
    say("A key below another is asked for by its path: spindle.dial, zero.z, marker_pockets.depth.")


def _say(key: Key) -> None:
    say(f"{key.path} (a key of {'a job' if key.file == 'job' else 'a machine file'})")
    if key.words:
        say(f"  {key.words}")
    say(f"  place      {key.where}")
    say(f"  given as   {key.kind.replace('`', '')}")
    for value, means in key.values:
        if means:
            say(f"    {value}: {means}")
    if key.absent:
        say(f"  if absent  {key.absent.replace('`', '')}")
    if key.below:
        say(f"  its keys   {', '.join(key.below)}")
    say()


def _path(key: Key) -> str:
    """The path by which a key alone is asked for."""
    return key.path if key.file == "job" else f"machine.{key.path}"


def _either(names: tuple[str, ...]) -> str:
    """`a`, `b` or `c`."""
    quoted = [f"`{name}`" for name in names]
    return " or ".join(part for part in (", ".join(quoted[:-1]), quoted[-1]) if part)
