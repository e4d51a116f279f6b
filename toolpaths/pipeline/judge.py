"""Run every check on a `CheckInput`; findings that were accepted by name are weakened, not hidden."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks import CHECKS, OF_INSTRUMENT
from toolpaths.verification.finding import Finding, Severity

_WEIGHT = {Severity.stop: 0, Severity.warn: 1, Severity.note: 2}


def judge(inputs: CheckInput) -> list[Finding]:
    """The findings of all checks in one program."""
    no_instrument = inputs.context.apart or inputs.job.part == "jig"
    asked = [check for name, check in CHECKS.items() if not no_instrument or name not in OF_INSTRUMENT]
    return [finding for check in asked for finding in check(inputs)]


def settled(
    findings: Iterable[Finding], accept: Sequence[tuple[str, str]]
) -> tuple[tuple[Finding, ...], tuple[str, ...]]:
    """(findings, accepted): each once, worst first, and in a program what explains others before them; stops named in
    `accept` (code, feature) become warnings.

    What is never accepted stays a stop. `accepted` lists what was accepted, as `code@feature`.
    """
    allowed = set(accept)
    out: dict[Finding, Finding] = {}
    accepted: dict[str, None] = {}
    for finding in findings:
        named = (finding.code, finding.feature) in allowed and not finding.never_accepted
        if named and finding.severity is Severity.stop:
            accepted[f"{finding.code}@{finding.feature}"] = None
            # What to do gives way: the maker has decided, and its section of docs/checks.md still says it.
            finding = replace(finding, severity=Severity.warn, said=replace(finding.said, todo="accepted"))
        # What is said of a whole feature is said once, though two programs cut it.
        out.setdefault(finding if finding.program_line else replace(finding, program=""), finding)
    ranked = sorted(
        out.values(), key=lambda f: (_WEIGHT[f.severity], f.cause, f.program, f.program_line, f.job_line, f.code)
    )
    return _pasted_once(ranked), tuple(accepted)


def _pasted_once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings, the same entry to paste with the first of them alone."""
    shown: set[str] = set()
    out: list[Finding] = []
    for finding in findings:
        if finding.said.paste in shown:
            finding = replace(finding, said=replace(finding.said, paste=""))
        elif finding.said.paste:
            shown.add(finding.said.paste)
        out.append(finding)
    return tuple(out)
