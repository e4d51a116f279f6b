"""Limit repeated findings: show the first few of a kind and count the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

from toolpaths.common.arrays import Array, Ints
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.wording.message import Message

MOST = 4


def shortened(findings: Sequence[Finding], most: int = MOST) -> list[Finding]:
    """The first `most` findings; then one for each kind among the others, with their number.

    A kind: the same code, feature and severity, and all of them may be accepted, or none.
    """
    kept, rest = list(findings[:most]), findings[most:]
    for kind, count in Counter(map(_kind, rest)).items():
        first = next(f for f in rest if _kind(f) == kind)
        more = "one more of this kind" if count == 1 else f"{count} more of this kind"
        where = f" in {first.feature}" if first.feature else ""
        line = f", the next in line {first.program_line}" if first.program_line else ""
        kept.append(replace(first, said=Message(f"and {more}{where}{line}"), x=None, y=None, remedies=()))
    return kept


def _kind(finding: Finding) -> tuple[str, str, Severity, bool]:
    return finding.code, finding.feature, finding.severity, finding.never_accepted


def worst_of_each(owner: Iterable[int] | Ints, amount: Array) -> list[int]:
    """For each owner the index of its greatest amount, owners in order of first appearance."""
    best: dict[int, int] = {}
    for i, own in enumerate(owner):
        seen = best.get(int(own))
        if seen is None or amount[i] > amount[seen]:
            best[int(own)] = i
    return list(best.values())
