"""A finding as a terminal of 80 columns prints it, and the longest places that it may have."""

from __future__ import annotations

from toolpaths.reports.text.wrapped import wrapped_line
from toolpaths.verification.finding import SEVERITY, Finding, Severity
from toolpaths.verification.wording.message import Message

JOB = "tenor_neck.yaml"
"""As long a name of a job as findings must have room for."""
FEATURE = "marker_pockets_front"
"""A name of 20 characters."""


def lines_on_80(finding: Finding, job_name: str) -> list[str]:
    """The lines of a finding, wrapped at words: weight, code and feature first, the next lines indented by 4."""
    of = f" of {finding.feature}" if finding.feature else ""
    places = [f"{job_name}:{finding.job_line}"] if finding.job_line else []
    if finding.program:
        places.append(f"{finding.program}:{finding.program_line}" if finding.program_line else finding.program)
    if finding.x is not None and finding.y is not None:
        places.append(f"x {finding.x:.2f}, y {finding.y:.2f} mm")
    head = f"{1:2d} {finding.severity} {finding.code}{of}: "
    return wrapped_line(f"{head}{finding.said.with_places(', '.join(places))}.", 80, 4)


def longest(
    code: str,
    said: Message,
    *,
    feature: str = FEATURE,
    severity: Severity | None = None,
    in_job: bool = True,
    program: str = "12-back-quarter.ngc",
    in_program: bool = True,
    place: bool = True,
) -> Finding:
    """A finding with the longest places that one of its code may have; what it never has is switched off.

    `in_job`: it has a line of the job. `program`: a program, `in_program`: and a line of it. `place`: an x and a y.
    """
    return Finding(
        code,
        said,
        feature=feature,
        job_line=140 if in_job else 0,
        program=program,
        program_line=1453 if program and in_program else 0,
        x=389.36 if place else None,
        y=-23.33 if place else None,
        severity=SEVERITY[code] if severity is None else severity,
    )
