"""What the command line changes, given back as the options that ask for it."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from toolpaths.cli.options import changes_of
from toolpaths.job.changes import Changes

BOARD = Path(__file__).parents[3] / "demo_jobs" / "tenor_board.yaml"


@pytest.mark.parametrize(
    "changes",
    [
        Changes(),
        Changes(bits=(("scorer", "0.8"), ("eighth", "1/8 in"))),
        Changes(only="score_lines"),
        Changes(start="outline: level 3"),
        Changes(accept=(("uncut", "it's mine"),), session=45.0),
        Changes(bits=(("small ball", "vee60"),), only="outline 2", session=90.5),
    ],
    ids=lambda c: c.options or "none",
)
def test_its_options_ask_for_the_same_again(changes: Changes) -> None:
    words = shlex.split(changes.options)
    given: dict[str, list[str]] = {}
    for option, value in zip(words[::2], words[1::2], strict=True):
        given.setdefault(option, []).append(value)
    assert changes == changes_of(
        BOARD,
        given.get("--bit"),
        *(given.get(option, [None])[0] for option in ("--only", "--from")),
        given.get("--accept"),
        session=float(given["--session"][0]) if "--session" in given else None,
    )


def test_the_height_of_an_air_run_is_no_part_of_them() -> None:
    assert "--only outline" == Changes(only="outline", air=20.0).options
