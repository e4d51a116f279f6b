"""`neckpath explain KEY`: what a key of a job means, its unit, range and default."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.complete import key_names
from toolpaths.cli.screen import complain, say

if TYPE_CHECKING:
    from toolpaths.reports.reference.explain import Key

_FEW = 6


def explain(
    key: Annotated[
        list[str],
        typer.Argument(
            metavar="KEY",
            help="A key, or its path: depth, marker_pockets.depth, zero.z.",
            autocompletion=key_names,
        ),
    ],
) -> None:
    """Say what a key of a job means, what may be given, and what holds where it is absent."""
    from toolpaths.reports.reference.explain import explained

    found, otherwise = explained(".".join(key))
    if not found:
        complain(f"{otherwise[:1].upper()}{otherwise[1:]}{'' if otherwise.endswith('?') else '.'}")
    if len(found) <= _FEW:
        for one in found:
            _say(one)
        return
    say(f"{len(found)} keys have this name:")
    for one in found:
        say(f"  {one.path}: {one.words or one.where}")
    say("Ask for one by its path, such as the first of them:")
    say(f"  neckpath explain {found[0].path}")


def _say(key: Key) -> None:
    say(key.path)
    if key.words:
        say(f"  {key.words}")
    say(f"  place      {key.where}")
    say(f"  given as   {key.kind.replace('`', '')}")
    if key.absent:
        say(f"  if absent  {key.absent.replace('`', '')}")
    if key.below:
        say(f"  its keys   {', '.join(key.below)}")
    say()
