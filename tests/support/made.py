"""What the pipeline makes of job files that stay as they are, made once a run and shared by all who look at it.

`made` stands in for `pipeline.run.make`: the same arguments, the same outcome. Whoever proves something of the making
itself (the same bytes twice, progress, memory) calls `make`. Workers of one run hand outcomes to one another in the
folder that NECKPATH_MADE names (`tests/conftest.py`).
"""

from __future__ import annotations

import hashlib
import os
import pickle
from functools import cache
from pathlib import Path

from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import ProgramSet, lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.verification.outcome import Outcome

VARIABLE = "NECKPATH_MADE"
_ROOT = Path(__file__).parents[2]


def made(path: Path, changes: Changes | None = None) -> Outcome:
    """The outcome of a job of this repository. Nobody may change it. Raises what `make` raises."""
    return _made(_whole(path), changes or Changes())


def laid_out(path: Path, changes: Changes | None = None) -> ProgramSet:
    """The same before it is proven."""
    return _laid_out(_whole(path), changes or Changes())


def _whole(path: Path) -> Path:
    whole = path.resolve()
    assert whole.is_relative_to(_ROOT), "only files that no test writes stay as they are"
    return whole


@cache
def _laid_out(path: Path, changes: Changes) -> ProgramSet:
    return lay_out(path, changes)


@cache
def _made(path: Path, changes: Changes) -> Outcome:
    folder = os.environ.get(VARIABLE)
    if not folder:
        return prove(_laid_out(path, changes))
    file = Path(folder) / hashlib.sha256(repr((path, changes)).encode()).hexdigest()
    if not file.is_file():
        outcome = prove(_laid_out(path, changes))
        # Whole or not at all: another worker may look at any time.
        own = file.with_suffix(f".{os.getpid()}")
        own.write_bytes(pickle.dumps(outcome))
        own.replace(file)
        return outcome
    kept: Outcome = pickle.loads(file.read_bytes())
    return kept
