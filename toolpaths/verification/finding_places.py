"""Findings at features of the job, and the places where a body on a move meets wood."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import Low, overlap
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.finding_limit import worst_of_each
from toolpaths.verification.trace_queries import job_line_of
from toolpaths.verification.wording.message import Message


def at_feature(
    inputs: CheckInput,
    code: str,
    message: Message,
    of: Demand | str,
    place: tuple[float, float] | None = None,
    *,
    severity: Severity | None = None,
    remedies: tuple[Remedy, ...] = (),
) -> Finding:
    """A finding in this program at a feature, given by its name or by one of its demands. `place`: x, y, mm."""
    feature, line = (of, job_line_of(inputs, of)) if isinstance(of, str) else (of.feature, of.job_line)
    return Finding.of(
        code,
        message,
        feature=feature,
        job_line=line,
        program=inputs.program.name,
        place=place,
        severity=severity,
        remedies=remedies,
    )


def contacts(
    inputs: CheckInput, chosen: Ints, radius: float, low: Low, least: float
) -> Iterator[tuple[int, float, Array]]:
    """Where a body of that radius is more than `least` mm deep in wood on the chosen moves (K,).

    One for each of the trace's moves: (its index, greatest depth in mm, place (2,) of it in mm).
    """
    wood = overlap(inputs, chosen, radius, low, least)
    hit = np.nonzero(wood.depth > least)[0]
    parent, depth = inputs.moves.parent[chosen[hit]], wood.depth[hit]
    for i in worst_of_each(parent, depth):
        yield int(parent[i]), float(depth[i]), wood.place[hit[i]]
