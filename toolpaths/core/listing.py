"""So many findings of a kind, and then a count: a fault that repeats on every line must not bury another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from toolpaths.core.finding import Finding

MOST = 4


def shortened(findings: Sequence[Finding], most: int = MOST) -> list[Finding]:
    """The first `most` findings; then one for each code, feature and severity among the others, with their number."""
    kept, rest = list(findings[:most]), findings[most:]
    for (code, feature, severity), count in Counter((f.code, f.feature, f.severity) for f in rest).items():
        first = next(f for f in rest if (f.code, f.feature, f.severity) == (code, feature, severity))
        more = "one more of this kind" if count == 1 else f"{count} more of this kind"
        kept.append(
            Finding.of(
                code,
                f"and {more}{f' in {feature}' if feature else ''}"
                + (f", the next in line {first.program_line}" if first.program_line else ""),
                feature=feature,
                job_line=first.job_line,
                program=first.program,
                program_line=first.program_line,
                severity=severity,
                cause=first.cause,
            )
        )
    return kept


def worst_of_each(owner: Iterable[int] | NDArray[np.int64], amount: NDArray[np.float64]) -> list[int]:
    """For each owner the index of its greatest amount, owners in order of first appearance."""
    best: dict[int, int] = {}
    for i, own in enumerate(owner):
        seen = best.get(int(own))
        if seen is None or amount[i] > amount[seen]:
            best[int(own)] = i
    return list(best.values())
