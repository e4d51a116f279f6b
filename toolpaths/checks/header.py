"""Does the program say which job it belongs to, and where it stands in the set?

A program cut from an older job, or out of its turn, looks like any other: its header is what tells.
"""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding
from toolpaths.core.program import BESIDE
from toolpaths.core.reading import at_line, line_of

_CODE = "header"


def check(evidence: Evidence) -> list[Finding]:
    """Findings `header`."""
    return list(_wrong(evidence))


def _beside(evidence: Evidence) -> str:
    """Where the words would be looked for, on a machine that takes no comments."""
    if evidence.machine.comments:
        return ""
    return f", and keep {evidence.program.name}{BESIDE} beside the program: its words stand there"


def _wrong(evidence: Evidence) -> Iterator[Finding]:
    header, program = evidence.trace.header, evidence.program
    if header.job_hash is None:
        yield at_line(
            evidence,
            _CODE,
            f"the header does not say which job the program was written from; job {evidence.job_hash} was expected: "
            f"write the set again{_beside(evidence)}",
            1,
        )
    elif header.job_hash != evidence.job_hash:
        yield at_line(
            evidence,
            _CODE,
            f"the program was written from job {header.job_hash}, and the job now is {evidence.job_hash}: "
            "the job has been changed since, or this is another's program; write the set again",
            line_of(evidence, f"job {header.job_hash}"),
        )
    if header.number is None or header.count is None:
        yield at_line(
            evidence,
            _CODE,
            f"the header does not say which program of the set this is; program {program.number} of {program.count} "
            "was expected",
            1,
        )
    elif (header.number, header.count) != (program.number, program.count):
        yield at_line(
            evidence,
            _CODE,
            f"the header says program {header.number} of {header.count}, and program {program.number} of "
            f"{program.count} was expected; cut out of its turn it would meet other wood",
            line_of(evidence, f"rogram {header.number} of {header.count}"),
        )
    if header.setup is None:
        yield at_line(
            evidence, _CODE, f"the header does not say which setup this is for; setup {program.setup} was expected", 1
        )
    elif header.setup != program.setup:
        yield at_line(
            evidence,
            _CODE,
            f"the header says setup {header.setup}, and setup {program.setup} was expected; the work would lie "
            "otherwise",
            line_of(evidence, f"setup {header.setup}"),
        )
