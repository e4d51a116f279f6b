"""The last lines of `write` and `check`: the verdict, what to look at, how long it takes, where the files are, next."""

from __future__ import annotations

import math
from collections.abc import Collection
from pathlib import Path

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.reports.text.sessions import total_words
from toolpaths.reports.text.words import count, verdict
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

_ABOVE: dict[Units, tuple[float, float]] = {"mm": (5.0, 5.0), "in": (0.2, 0.25)}
"""How far above the blank a run in the air passes at least, and to which step its lift is rounded up, in units."""


def ending(outcome: Outcome, folder: Path) -> list[str]:
    """Lines with a label each, of a set that was written into a folder."""
    names = [p.name for p in outcome.programs]
    programs = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"
    job = outcome.path
    options = f" {outcome.changes.options}" if outcome.changes.options else ""
    air = f"first in the air: neckpath write {job}{options} --air {air_lift(outcome)}"
    lines = [
        *_verdict(outcome),
        ("Look at", f"{folder / 'preview.html'}, before you cut"),
        ("Time", f"{total_words(outcome)} (estimates)"),
        ("Programs", f"{folder}: {programs}"),
        ("Print", f"{folder / 'sheet.html'}: the setup sheet, for the machine"),
        ("By hand", f"{count(len(outcome.handwork), 'step')}: {folder / 'handwork.html'}")
        if outcome.handwork
        else None,
        ("Next", "run it in the air, look, and write it again without --air" if outcome.changes.air else air),
        ("Caution", "the machine's manual, the shop's rules and local law come first"),
    ]
    return _labelled(lines)


def air_lift(outcome: Outcome) -> str:
    """A round lift for a run in the air that clears every blank of a job, as `--air` takes it: `15mm`, `1.25in`."""
    units = outcome.job.units
    top = max((s.context.top for s in outcome.setups), default=10.0) / (MM_PER_INCH if units == "in" else 1.0)
    above, step = _ABOVE[units]
    return f"{math.ceil((top + above) / step) * step:g}{units}"


def check_ending(outcome: Outcome) -> list[str]:
    """Lines with a label each, of a job that was made and proven; nothing was written."""
    options = f" {outcome.changes.options}" if outcome.changes.options else ""
    time = ("Time", f"{total_words(outcome)} (estimates)")
    after = ("Next", f"neckpath write {outcome.path}{options}")
    if outcome.stopped:
        after = ("Next", "put right what stops it, and check again; nothing can be written before")
    return _labelled([*_verdict(outcome), time, after])


def verify_ending(outcome: Outcome, given: Collection[str]) -> list[str]:
    """What was found in each program of these file names, one a line, and the verdict."""
    lines: list[tuple[str, str] | None] = []
    for program in (p for p in outcome.programs if p.name in given):
        own = [f for f in outcome.findings if f.program == program.name]
        said = [count(sum(f.severity is weight for f in own), _WEIGHTS[weight]) for weight in Severity]
        lines.append(("Checked", f"{program.name}: {', '.join(said)}"))
    return _labelled([*lines, *_verdict(outcome)])


# Private

_WEIGHTS = {Severity.stop: "stop", Severity.warn: "warning", Severity.note: "note"}


def _verdict(outcome: Outcome) -> list[tuple[str, str] | None]:
    codes = list(dict.fromkeys(f.code for f in outcome.findings if f.severity is not Severity.note))
    more = ("Read", f"the findings above; more of each: neckpath explain {codes[0]}") if codes else None
    return [("Verdict", verdict(outcome)), more]


def _labelled(lines: list[tuple[str, str] | None]) -> list[str]:
    return [f"{line[0]:<8}  {line[1]}" for line in lines if line is not None]
