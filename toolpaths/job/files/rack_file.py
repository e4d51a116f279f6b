"""Read the shipped rack of bits."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from toolpaths.common.errors import JobError
from toolpaths.common.plain_file import Stamp, stamp_of
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.files.bit_file import bits_in
from toolpaths.job.files.machine_file import RACK, machine_folder, units_of, units_problems
from toolpaths.job.files.yaml_text import read_document


def load_rack() -> dict[str, Bit]:
    """The shipped rack of bits by name. Raises JobError with every problem of its file."""
    path = machine_folder() / f"{RACK}.yaml"
    return dict(_rack(path, stamp_of(path)))


@lru_cache(maxsize=4)
def _rack(path: Path, _: Stamp) -> dict[str, Bit]:
    """The rack, cached until its file changes."""
    document = read_document(path)
    problems = units_problems(document)
    bits, faults = bits_in(document, BITS, units_of(document))
    if problems or faults:
        raise JobError(problems + faults)
    return bits
