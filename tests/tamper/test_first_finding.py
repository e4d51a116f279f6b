"""Whatever header word is wrong in a program, the first thing told is that word; and no place is one that is not."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest

from tests.support.judging import judged_outcome
from tests.support.made import made as made_of
from tests.tamper.kinds import KINDS, spoilt
from toolpaths.common.errors import ReadError
from toolpaths.job.changes import Changes
from toolpaths.reports.output.report_json import report_json
from toolpaths.reports.text.words import places
from toolpaths.verification.finding import Cause, Finding
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

CASES = Path(__file__).parents[1] / "cases"
JOBS = ("short_board", "inch_board")
ON = r"; [G0-9, ]*{}[G0-9, ]* (has|have) been on since"
"""A mode of an earlier line that a refusal names."""
FIRST = {
    "the other units": r"G2[01] sets (inches|millimetres), so|" + ON.format("G20"),
    "units lost": r"no units are set",
    "another plane": r"G18 (selects an upright plane|.*been on since line)|" + ON.format("G18"),
    "plane lost": r"no plane is set",
    "steps for places": r"G91 makes every coordinate|" + ON.format("G91"),
    "places or steps unsaid": r"G90 is missing",
    "another offset": r"not the offset in which.* G57;|no offset is set",
    "offset lost": r"no offset is set",
    "another bit": r"bit \d|cuts with|no bit|does not agree",
    "programs in another order": r"another place in the set|cuts with",
    "another job's program": r"the program is from another job",
    "an unknown word": r"is not allowed",
    "spindle start lost": r"with the spindle off",
    "spindle off before a cut": r"spindle",
    "spindle the other way": r"M4 is not allowed",
    "dwell or stop lost": r"spindle is at speed|a pause",
}
"""What the first finding's words must hold, for each kind of fault in a header word."""


COARSE = Changes(pitch=0.5)


def made(job: str) -> Outcome:
    return made_of(CASES / f"{job}.yaml", COARSE)


def judged(job: str, index: int, text: str) -> Outcome:
    return judged_outcome(CASES / f"{job}.yaml", index, text, COARSE)


@pytest.mark.parametrize("kind", FIRST)
@pytest.mark.parametrize(
    ("job", "programs"),
    [(JOBS[0], [2]), *(pytest.param(job, [0, 1, 2, 3], marks=pytest.mark.slow) for job in JOBS)],
    ids=range(3),
)
def test_the_first_finding_names_the_word_that_is_wrong(job: str, programs: list[int], kind: str) -> None:
    rng = random.Random(1304)
    for index in programs[: len(made(job).programs)]:
        text = spoilt(made(job).programs[index].text, kind, rng)
        if text is None or (kind == "spindle off before a cut" and made(job).machine.spindle.set_by == "hand"):
            # Where a hand switches the spindle no M5 does.
            continue
        outcome = judged(job, index, text)
        assert re.search(FIRST[kind], outcome.findings[0].message), [f.message for f in outcome.findings]
        no_place_is_nought(outcome)


@pytest.mark.slow
@pytest.mark.parametrize(("job", "kind"), [(JOBS[k % 2], kind) for k, kind in enumerate(KINDS)])
def test_no_fault_is_told_at_a_line_that_is_not(job: str, kind: str) -> None:
    rng = random.Random(1305)
    for index in range(len(made(job).programs)):
        text = spoilt(made(job).programs[index].text, kind, rng)
        if text is not None:
            no_place_is_nought(judged(job, index, text))


def no_place_is_nought(outcome: Outcome) -> None:
    """Every line that is told is one of the program or the job, in words and in the report."""
    lengths = {p.name: len(p.text.splitlines()) for p in outcome.programs}
    for finding in outcome.findings:
        assert (
            0
            <= finding.program_line
            <= max(lengths[finding.program] if finding.program else 0, finding.program_line and 1)
        )
        assert not re.search(r"\bline 0\b|:0\b", f"{finding.message} {places(finding, outcome)}")
    for finding in json.loads(report_json(outcome))["findings"]:
        assert 0 not in (finding["program_line"], finding["job_line"])


def test_the_causes_are_told_in_their_order_whatever_their_lines() -> None:
    found = [
        Finding.of("unreadable", Message("x"), program="a", program_line=n, cause=cause)
        for n, cause in enumerate(reversed(Cause))
    ]
    from toolpaths.pipeline.judge import settled

    assert list(Cause) == [f.cause for f in settled(found, ())[0]]


@pytest.mark.parametrize(("line", "said"), [(0, "it is so"), (3, "line 3: it is so")])
def test_an_error_without_a_line_names_none(line: int, said: str) -> None:
    assert said == str(ReadError(line, "it is so"))
