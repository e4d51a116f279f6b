"""A loaded and checked job, with its machine and its wood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from toolpaths.job.blank_top import BlankTop
from toolpaths.job.files.found_file import FoundFile
from toolpaths.job.jig import Jig, ServedSetup
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood


@dataclass(frozen=True, slots=True)
class LoadedJob:
    """A job that can be used, with what it names. `source` is the job file's text, `job_hash` 12 hex digits.

    `served`: of a jig, how the blanks of other jobs lie on it; `jigs`: by setup name, the jig that the blank lies on.
    `found`: what was measured on its wood, as its file says it; `measured_tops`, `asides` by setup name, and
    `thinner`: what of that the job itself has no key for (`SetupContext`).
    """

    path: Path
    job: Job
    machine: Machine
    wood: Wood
    source: str
    job_hash: str
    served: tuple[ServedSetup, ...] = ()
    jigs: Mapping[str, Jig] = field(default_factory=dict)
    found: FoundFile | None = None
    measured_tops: Mapping[str, BlankTop] = field(default_factory=dict)
    asides: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    thinner: float = 0.0
