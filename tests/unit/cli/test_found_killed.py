"""`neckpath found` killed at any moment: the file of values is whole, and holds every value that was taken."""

from __future__ import annotations

import importlib
import itertools
import multiprocessing
import os
import random
import re
import select
import signal
import sys
import time
from pathlib import Path

import pytest

from tests.support.commands import on_a_terminal
from tests.support.measured_job import board
from tests.support.patience import LONGEST
from toolpaths.job.files.found_file import found_path, read_found
from toolpaths.pipeline.load import load_job

pytestmark = pytest.mark.slow

MOMENTS = int(os.environ.get("NECKPATH_KILLS", "12"))
MARKS = ("M7", "M8", "M9", "M10")
_PROMPT = re.compile(rb"(M\d+), (?:as it lies|after program \d+): ")
_SERVER = multiprocessing.get_context("forkserver" if hasattr(os, "fork") else "spawn")
if hasattr(os, "fork"):
    # Imported once: what is killed is the work, not the imports.
    _SERVER.set_forkserver_preload(["toolpaths.cli", "toolpaths.cli.found", "toolpaths.cli.found_answers"])


def _whole(job: str, values: list[str]) -> None:
    out = os.open(os.devnull, os.O_WRONLY)
    os.dup2(out, 1)
    os.dup2(out, 2)
    sys.argv = ["neckpath", "found", job, *(word for value in values for word in ("--set", value))]
    importlib.import_module("toolpaths.cli").main()


def started(job: Path, values: dict[str, float]) -> multiprocessing.process.BaseProcess:
    process = _SERVER.Process(target=_whole, args=(str(job), [f"{m}={v:.3f}" for m, v in values.items()]))
    process.start()
    return process


def kept(job: Path) -> dict[str, float]:
    """The values that stand in the file; it must be one that can be read, for this job, whole."""
    file = read_found(job, "mm")
    if file is None:
        return {}
    assert found_path(job).read_bytes().endswith(b"\n")
    assert load_job(job).job_hash == file.found.job
    return {name: round(one.value, 3) for name, one in file.found.found.items()}


def test_killed_at_any_moment_no_value_that_was_taken_is_lost(tmp_path: Path) -> None:
    job = board(tmp_path)
    since = time.monotonic()
    first = started(job, {"M1": 6.0})
    first.join(LONGEST)
    seconds = time.monotonic() - since
    assert 0 == first.exitcode
    taken = {"M1": 6.0}
    rng, tally = random.Random(5), {"killed": 0, "ended": 0}
    for k in range(MOMENTS):
        values = {m: round(4.9 + rng.randrange(200) / 1000, 3) for m in rng.sample(MARKS, 1 + k % 3)}
        run = started(job, values)
        time.sleep(rng.uniform(0.5 * seconds, 1.1 * seconds) if k else 0.0)
        run.kill()
        run.join(LONGEST)
        now = kept(job)
        if run.exitcode == 0:
            tally["ended"] += 1
            assert {**taken, **values} == now
        else:
            tally["killed"] += 1
            # They are kept one after another: the first few of them, and all that was there before.
            assert now in [{**taken, **dict(itertools.islice(values.items(), n))} for n in range(len(values) + 1)]
        taken = now
    last = started(job, {"M1": 6.01})
    last.join(LONGEST)
    assert (0, {**taken, "M1": 6.01}) == (last.exitcode, kept(job))
    # How many of each hangs on the machine.
    assert MOMENTS == sum(tally.values())


def test_killed_while_it_asks_every_answered_mark_is_kept(tmp_path: Path) -> None:
    """Whoever sees the next question has the last answer kept."""
    rng = random.Random(6)
    for k in range(max(2, MOMENTS // 4)):
        (tmp_path / str(k)).mkdir()
        job = board(tmp_path / str(k))
        run, outer = on_a_terminal("found", job)
        answers = {f"M{n}": round(5.9 + 0.04 * n + 0.001 * k, 3) for n in range(1, 7)}
        asked: list[str] = []
        said, answer_all = b"", 1 + k % 6
        until = time.monotonic() + LONGEST
        while len(asked) <= answer_all and time.monotonic() < until:
            ready, _, _ = select.select([outer], [], [], 0.5)
            try:
                said += os.read(outer, 4096) if ready else b""
            except OSError:
                break
            for name in [m.decode() for m in _PROMPT.findall(said)][len(asked) :]:
                asked.append(name)
                if name in answers:
                    os.write(outer, f"{answers[name]}\n".encode())
        time.sleep(rng.uniform(0.0, 0.02))
        run.send_signal(signal.SIGKILL)
        run.wait()
        os.close(outer)
        now = kept(job)
        assert len(asked) > 1
        for name in asked[:-1]:
            assert answers[name] == now[name], name
        assert now.keys() <= set(asked)
