"""Run the jobs of one instrument, and plan the work on all of them in one order.

load -> belong together -> make, job by job -> plan
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from toolpaths.common.errors import JobError, Problem
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.pipeline import run
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.prove import Progress
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument
from toolpaths.workshop.together import must_belong


def plan_instrument(
    paths: Sequence[Path], changes: Changes | None = None, progress: Progress | None = None
) -> InstrumentPlan:
    """The plan of the jobs in some files: a board, a neck, a jig, or some of them. Writes nothing.

    A job with a stop finding is planned too; the plan says so. Raises JobError with every problem of every job, and
    for jobs that are not of one instrument; MemoryError as `make` does.
    """
    must_belong(_loaded(paths))
    outcomes = []
    for k, path in enumerate(paths):

        def told(what: str, fraction: float, done: int = k, name: str = path.name) -> None:
            if progress:
                progress(f"{name}: {what}", (done + fraction) / len(paths))

        outcomes.append(run.make(path, changes, told))
    return plan_of_instrument(outcomes)


def _loaded(paths: Sequence[Path]) -> list[LoadedJob]:
    """Every job. Raises JobError with the problems of all, each once."""
    found: list[LoadedJob] = []
    problems: dict[Problem, None] = {}
    for path in paths:
        try:
            found.append(load_job(path))
        except JobError as error:
            problems.update(dict.fromkeys(error.problems))
    if problems:
        raise JobError(list(problems))
    return found
