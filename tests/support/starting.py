"""`neckpath start` run in this process, and the jobs that it leaves."""

from __future__ import annotations

from pathlib import Path

from typer.testing import Result

from tests.support.commands import typed
from toolpaths.reports.reference.first_answers import Answers


def run(*arguments: str | Path) -> Result:
    """The command with some options; nothing but an exit may end it."""
    return typed("start", *arguments)


def started(a: Answers, *more: str, says: str = "It passes `neckpath check`") -> list[Path]:
    """The jobs that `start` leaves, on the default machine; it must pass them itself."""
    n = 25.4 if a.units == "in" else 1
    sizes = {key: f"{getattr(a, key) / n:.4f}" for key in ("scale", "nut", "octave", "thickness", "radius")}
    words = {"part": a.part, "units": a.units, "frets": str(a.frets), "strings": str(a.strings), **sizes}
    result = run("job.yaml", *(w for key, value in words.items() for w in (f"--{key}", value)), *more)
    assert 0 == result.exit_code, result.stdout + result.stderr
    assert says in result.stdout
    return [Path("job-board.yaml"), Path("job-neck.yaml")] if a.part == "both" else [Path("job.yaml")]
