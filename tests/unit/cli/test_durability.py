"""Whole runs of the command that are killed, starved or doubled: what stands in the folder is one whole set, or says
that it is not, and the next run puts it right.
"""

from __future__ import annotations

import contextlib
import importlib
import itertools
import multiprocessing
import os
import pkgutil
import random
import shutil
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest

import toolpaths
from tests.support.patience import LONGEST
from toolpaths.reports.output.folder import MARK, STAGE

pytestmark = pytest.mark.slow

JOB = """\
title: Board, markers {depth} deep
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: 300
  frets: 3
  strings: 4
  board: {{width: {{nut: 36, 3: 38}}, overhang: 6, thickness: 5}}
stock: {{length: 110, width: 60, thickness: 6}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 18
    hold: tape
    features:
      - plane: {{bit: planer, leave: 5}}
      - marker_pockets: {{bit: eighth, diameter: 5, depth: {depth}, frets: [3]}}
"""
MOMENTS = int(os.environ.get("NECKPATH_KILLS", "12"))
_NUMBERS = itertools.count()


_SERVER = multiprocessing.get_context("forkserver" if hasattr(os, "fork") else "spawn")
if hasattr(os, "fork"):
    # Everything is imported once: a dozen runs need not do it a dozen times.
    _OURS = [m.name for m in pkgutil.walk_packages(toolpaths.__path__, "toolpaths.") if not m.name.endswith("__main__")]
    _SERVER.set_forkserver_preload([*_OURS, "matplotlib.figure", "matplotlib.backends.backend_agg", "jinja2.ext"])


@dataclass(frozen=True)
class Run:
    """A run of the command in a process and a group of its own, so that all of it can be killed at once."""

    process: BaseProcess
    said: Path


def started(job: Path, folder: Path, largest: int = 0) -> Run:
    """A run that writes a set; `largest`: no file of it may grow beyond so many bytes."""
    said = folder.parent / f"{folder.name}-{next(_NUMBERS)}.txt"
    process = _SERVER.Process(target=_whole, args=(str(job), str(folder), str(said), largest))
    process.start()
    return Run(process, said)


def _whole(job: str, folder: str, said: str, largest: int) -> None:
    if hasattr(os, "setsid"):
        os.setsid()
    out = os.open(said, os.O_WRONLY | os.O_CREAT)
    os.dup2(out, 1)
    os.dup2(out, 2)
    if largest:
        resource = importlib.import_module("resource")
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
    sys.argv = ["neckpath", "write", job, "-o", folder, "--pitch", "0.5"]
    importlib.import_module("toolpaths.cli").main()


def ended(run: Run) -> tuple[int, str]:
    """Exit code, and all that was said."""
    run.process.join(LONGEST)
    code = run.process.exitcode
    assert code is not None
    return code, run.said.read_text(encoding="utf-8") if run.said.exists() else ""


def content(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("durable")


@pytest.fixture(scope="module")
def jobs(place: Path) -> tuple[Path, Path]:
    """Two jobs of the same file names, whose sets differ in every program."""
    out = []
    for name, depth in (("first", 1.2), ("second", 1.6)):
        (place / name).mkdir()
        path = place / name / "board.yaml"
        path.write_text(JOB.format(depth=depth), encoding="utf-8")
        out.append(path)
    return out[0], out[1]


@pytest.fixture(scope="module")
def sets(place: Path, jobs: tuple[Path, Path]) -> tuple[dict[str, bytes], dict[str, bytes], float]:
    """What each of them leaves when nothing disturbs it, and how long the second takes."""
    assert 0 == ended(started(jobs[0], place / "a"))[0]
    since = time.monotonic()
    assert 0 == ended(started(jobs[1], place / "b"))[0]
    return content(place / "a"), content(place / "b"), time.monotonic() - since


def moments(seconds: float) -> Iterator[float]:
    """At once; then half of them anywhere in a run, half near its end, where files are replaced."""
    rng = random.Random(4)
    yield 0.0
    for i in range(1, MOMENTS):
        yield rng.uniform(0, seconds) if i % 2 else rng.uniform(0.75 * seconds, 1.1 * seconds)


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="this system ends no group of processes at once")
def test_killed_at_any_moment_the_earlier_set_or_the_new_one_is_whole(
    place: Path, jobs: tuple[Path, Path], sets: tuple[dict[str, bytes], dict[str, bytes], float]
) -> None:
    earlier, new, seconds = sets
    seen = {"earlier": 0, "new": 0, "told": 0}
    for k, moment in enumerate(moments(seconds)):
        folder = place / f"killed-{k}"
        shutil.copytree(place / "a", folder)
        run = started(jobs[1], folder)
        time.sleep(moment)
        with contextlib.suppress(ProcessLookupError):
            # Its own group once it has one; before that it has made nothing yet.
            os.killpg(run.process.pid, signal.SIGKILL)
        run.process.kill()
        ended(run)
        found = content(folder)
        if MARK in found:
            seen["told"] += 1
        else:
            assert found in (earlier, new), f"a mixed set after {moment:.3f} s"
            seen["earlier" if found == earlier else "new"] += 1
        # Where nothing is left behind the next run is like the first; every fifth time all the same.
        if MARK in found or (folder / STAGE).exists() or k % 5 == 0:
            assert 0 == ended(started(jobs[1], folder))[0]
            assert new == content(folder)
            assert not (folder / STAGE).exists()
        shutil.rmtree(folder)
    # How many of each depends on the machine; a run that is killed as it begins leaves the earlier set.
    assert seen["earlier"] > 0
    assert MOMENTS == sum(seen.values())


def test_a_disk_that_takes_no_more_leaves_the_earlier_set(
    place: Path, jobs: tuple[Path, Path], sets: tuple[dict[str, bytes], dict[str, bytes], float]
) -> None:
    """No file may grow beyond 20 kB: the system refuses in the middle of a page, as a full disk does."""
    pytest.importorskip("resource", reason="this system cannot limit the size of a file")
    folder = place / "full"
    shutil.copytree(place / "a", folder)
    code, said = ended(started(jobs[1], folder, largest=20_000))
    assert 2 == code
    assert "Traceback" not in said
    assert "too large" in said.lower()
    assert sets[0] == content(folder)
    assert 0 == ended(started(jobs[1], folder))[0]
    assert sets[1] == content(folder)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told_and_left_alone(
    place: Path, jobs: tuple[Path, Path], sets: tuple[dict[str, bytes], dict[str, bytes], float]
) -> None:
    folder = place / "closed"
    shutil.copytree(place / "a", folder)
    folder.chmod(0o555)
    code, said = ended(started(jobs[1], folder))
    folder.chmod(0o755)
    assert 2 == code
    assert "denied" in said
    assert sets[0] == content(folder)


def test_a_file_in_the_folder_s_place_is_told(place: Path, jobs: tuple[Path, Path]) -> None:
    taken = place / "taken"
    taken.write_text("mine")
    code, said = ended(started(jobs[1], taken))
    assert 2 == code
    assert "Traceback" not in said
    assert "mine" == taken.read_text()


def test_two_runs_at_once_leave_one_whole_set(
    place: Path, jobs: tuple[Path, Path], sets: tuple[dict[str, bytes], dict[str, bytes], float]
) -> None:
    for k in range(3):
        folder = place / f"both-{k}"
        runs = [started(job, folder) for job in jobs]
        codes = [ended(run) for run in runs]
        assert {0, 2} >= {code for code, _ in codes}
        assert 0 in {code for code, _ in codes}
        assert all("another run is writing" in said for code, said in codes if code == 2)
        assert content(folder) in sets[:2]
        assert not (folder / STAGE).exists()
