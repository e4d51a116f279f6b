"""A loaded and checked job, with its machine and its wood."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood


@dataclass(frozen=True, slots=True)
class LoadedJob:
    """A job that can be used, with what it names. `source` is the job file's text, `job_hash` 12 hex digits."""

    path: Path
    job: Job
    machine: Machine
    wood: Wood
    source: str
    job_hash: str
