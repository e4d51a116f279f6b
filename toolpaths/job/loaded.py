"""A loaded and checked job, with its machine and its wood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from toolpaths.job.files.found_file import FoundFile
from toolpaths.job.jig import Jig, ServedSetup
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import FoundInSetup
from toolpaths.job.wood import Wood


@dataclass(frozen=True, slots=True)
class LoadedJob:
    """A job that can be used, with what it names. `source` is the job file's text, `job_hash` 12 hex digits.

    `served`: of a jig, how the blanks of other jobs lie on it; `jigs`: by setup name, the jig that the blank lies on.
    `found`: what was measured on its wood, as its file says it; `lies`: by setup name, what of that the job itself has
    no key for.
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
    lies: Mapping[str, FoundInSetup] = field(default_factory=dict)
