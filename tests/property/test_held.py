"""What is said of holders and of the part's hold, against a second judge by brute force, on jobs drawn at random."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest

from tests.property.any_job import Job, text_of
from tests.property.held_jobs import KINDS, held_job
from tests.support.plain_held import Verdict, judged_plainly
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

PITCH = 0.4
MANY = 2 * int(os.environ.get("NECKPATH_JOBS", "48"))
CHUNKS = 4


def outcome_of(job: Job, folder: Path) -> Outcome | None:
    """What the product makes of it; None where it refuses the job."""
    path = folder / "job.yaml"
    path.write_text(text_of(job), encoding="utf-8")
    try:
        return make(path, Changes(pitch=PITCH))
    except JobError:
        return None


def said(outcome: Outcome, code: str) -> tuple[set[str], set[str]]:
    """(programs, setups) that a code stops: a setup where no program is named."""
    found = [f for f in outcome.findings if f.code == code and f.severity is Severity.stop]
    setups = {p.setup for p in outcome.programs for f in found if not f.program and f"setup {p.setup}:" in f.message}
    return {f.program for f in found if f.program}, setups


def different(job: Job, outcome: Outcome, tally: Counter[str]) -> list[str]:
    """Where the two judges are not of one mind, in words."""
    programs = [(p.setup, p.name, p.text) for p in outcome.programs]
    plain = judged_plainly(job, programs, PITCH)
    out: list[str] = []

    def compared(code: str, where: str, own: Verdict, told: bool) -> None:
        kind = "unsure" if own is None else "stops" if own else "passes"
        tally[f"{code} {kind}"] += 1
        if own is not None and own != told:
            out.append(f"{code} of {where}: {'a fault' if own else 'none'} by brute force, told: {told}")

    for code, found in (("part-loose", plain.loose), ("keep-out", plain.near)):
        named, whole = said(outcome, code)
        for setup in {s for s, _, _ in programs}:
            mine = {name: v for name, v in found.items() if (setup, name) in {(s, n) for s, n, _ in programs}}
            if setup in whole:
                # It names no program: nothing holds the part from one of them on.
                own = None if None in mine.values() and True not in mine.values() else True in mine.values()
                compared(code, setup, own, True)
                continue
            for name, own in mine.items():
                compared(code, name, own, name in named)
    for code, by_setup in (("holder-place", plain.placed), ("holder-unplaced", plain.unplaced)):
        for setup, own in by_setup.items():
            compared(code, setup, own, setup in said(outcome, code)[1])
    return out


def judged(numbers: range, folder: Path, kind: str | None = None) -> Counter[str]:
    """Jobs by number; raises AssertionError with the first of which the two judges differ."""
    tally: Counter[str] = Counter()
    for number in numbers:
        name, job = held_job(f"held {number}", kind or list(KINDS)[number % len(KINDS)])
        outcome = outcome_of(job, folder)
        tally["drawn"] += 1
        if outcome is None:
            tally["refused"] += 1
            continue
        wrong = different(job, outcome, tally)
        assert not wrong, "\n".join([f"{name}, {number}:", *wrong, text_of(job)])
    return tally


@pytest.mark.parametrize("kind", KINDS)
def test_one_of_each_kind(kind: str, tmp_path: Path) -> None:
    tally = judged(range(5000, 5002), tmp_path, kind)
    assert tally["drawn"] > tally["refused"]


@pytest.mark.slow
@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_many_jobs(chunk: int, tmp_path: Path) -> None:
    tally = judged(range(chunk, MANY, CHUNKS), tmp_path)
    print(dict(tally))
    assert tally["refused"] < tally["drawn"] / 3
    for code in ("part-loose", "keep-out", "holder-place"):
        assert tally[f"{code} unsure"] < (tally[f"{code} stops"] + tally[f"{code} passes"]) / 2
