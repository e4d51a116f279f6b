"""The file of measured values beside a job: `board.found.yaml` for `board.yaml`."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.common.whole_files import put
from toolpaths.job.files.document import Document
from toolpaths.job.files.found_model import Found, FoundValue
from toolpaths.job.files.problems import problems_of
from toolpaths.job.files.yaml_text import read_document


@dataclass(frozen=True, slots=True)
class FoundFile:
    """What a file of measured values says, and where each value stands in it."""

    document: Document
    found: Found

    def problem(self, mark: str, problem: str, hint: str = "") -> Problem:
        """A problem with a mark's value, at its place."""
        return self.document.problem(("found", mark), problem, hint)


def found_path(job: Path) -> Path:
    """Where the measured values of a job are kept: beside it."""
    return job.with_name(f"{job.stem}.found.yaml")


def read_found(job: Path, units: Units) -> FoundFile | None:
    """The measured values of a job whose bare numbers are in `units`; None where nothing was measured yet.

    Raises JobError with every problem of the file.
    """
    path = found_path(job)
    if not os.path.lexists(path):
        return None
    document = read_document(path)
    try:
        found = Found.model_validate(document.data, context={"units": units})
    except ValidationError as error:
        raise JobError(problems_of(error, document, model=Found)) from None
    return FoundFile(document, found)


def hash_faults(file: FoundFile, job_hash: str) -> list[Problem]:
    """A problem where the values were measured on wood that another version of the job has cut."""
    if file.found.job == job_hash:
        return []
    words = f"these values were measured for job {file.found.job}, and the job is {job_hash} now"
    hint = (
        f'where the change touches nothing that is cut already, write `job: "{job_hash}"` here; for a new blank, move '
        "this file away"
    )
    return [file.document.problem(("job",), words, hint)]


def write_found(
    job: Path, job_hash: str, values: Mapping[str, FoundValue], words: Mapping[str, str], units: Units
) -> Path:
    """Write the values of a job, whole or not at all. `words`: by mark, what stands behind its value.

    Raises OSError with a plain text.
    """
    path = found_path(job)
    lines = [
        f"# What was measured while {job.name} was cut. `neckpath found {job.name}` asks for the rest.",
        f"# Bare numbers are in {units}. The file may be edited; every command of the job reads it.",
        f'job: "{job_hash}"',
        "found:" if values else "found: {}",
    ]
    for mark, value in sorted(values.items(), key=lambda pair: int(pair[0][1:])):
        number = _number(value.value, units)
        text = f"{{value: {number}, cut: {value.cut}}}" if value.cut else number
        lines.append(f"  {mark}: {text}    # {words[mark]}" if mark in words else f"  {mark}: {text}")
    put(path, ("\n".join(lines) + "\n").encode())
    return path


def _number(mm: float, units: Units) -> str:
    """A length as it is typed: with four digits behind the point at most in mm, with five in inches."""
    return f"{mm / MM_PER_INCH:.5f}" if units == "in" else f"{mm:.4f}".rstrip("0").rstrip(".")
