"""What the pipeline makes of a job, made once a run and shared by all who look at it.

`made` stands in for `pipeline.run.make`: the same arguments, the same outcome. Whoever proves something of the making
itself (the same bytes twice, progress, memory) calls `make`. Workers of one run hand outcomes of jobs of the
repository to one another in the folder that NECKPATH_MADE names (`tests/conftest.py`).
"""

from __future__ import annotations

import hashlib
import os
import pickle
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from toolpaths.job.changes import Changes
from toolpaths.pipeline import run
from toolpaths.pipeline.build import ProgramSet, lay_out
from toolpaths.pipeline.prove import Progress, prove
from toolpaths.verification.outcome import Outcome

VARIABLE = "NECKPATH_MADE"
_ROOT = Path(__file__).parents[2]
_READ = ("*.yaml", "*.svg", "*.dxf")
"""What a job may lie in, or name."""
_make = run.make
_of_tests: dict[str, Outcome] = {}


def made(
    path: Path,
    changes: Changes | None = None,
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Outcome:
    """The outcome of a job. Nobody may change it. Raises what `make` raises. `progress` is told nothing."""
    if meanwhile:
        meanwhile()
    changes, whole = changes or Changes(), path.absolute()
    return _of_repository(path, whole, changes) if whole.is_relative_to(_ROOT) else _of_test(path, whole, changes)


def laid_out(path: Path, changes: Changes | None = None) -> ProgramSet:
    """The same of a job of this repository before it is proven."""
    assert path.absolute().is_relative_to(_ROOT), "only files that no test writes stay as they are"
    return _laid_out(path.absolute(), changes or Changes())


@lru_cache(maxsize=32)
def _laid_out(path: Path, changes: Changes) -> ProgramSet:
    return lay_out(path, changes)


def _of_repository(path: Path, whole: Path, changes: Changes) -> Outcome:
    found = _kept(whole, changes)
    return found if found.path == path else replace(found, path=path)


@lru_cache(maxsize=64)
def _kept(path: Path, changes: Changes) -> Outcome:
    folder = os.environ.get(VARIABLE)
    if not folder:
        return prove(_laid_out(path, changes))
    file = Path(folder) / hashlib.sha256(repr((path, changes)).encode()).hexdigest()
    if file.is_file():
        kept: Outcome = pickle.loads(file.read_bytes())
        return kept
    outcome = prove(_laid_out(path, changes))
    # Whole or not at all: another worker may look at any time.
    own = file.with_suffix(f".{os.getpid()}")
    own.write_bytes(pickle.dumps(outcome))
    own.replace(file)
    return outcome


def _of_test(path: Path, whole: Path, changes: Changes) -> Outcome:
    """Of a job that a test has written: the same if it, and every file beside it that it may name, is the same."""
    sign = hashlib.sha256(repr((whole.name, changes)).encode())
    for file in sorted({p for kind in _READ for p in whole.parent.glob(kind)} | {whole}):
        if file.is_file():
            sign.update(repr((file.name, file.read_bytes())).encode())
    key = sign.hexdigest()
    if key not in _of_tests:
        if len(_of_tests) > 30:
            del _of_tests[next(iter(_of_tests))]
        _of_tests[key] = _make(path, changes)
    found = _of_tests[key]
    return found if found.path == path else replace(found, path=path)
