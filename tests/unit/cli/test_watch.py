"""`neckpath watch`, in a process of its own: it writes again after every change, tells trouble, and ends cleanly."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.jig_jobs import JigJobs
from tests.support.patience import LONGEST, until
from toolpaths.cli.watch import files_of

BOARD = """\
title: Watched board
units: mm
machine: bench-router
wood: black cherry
instrument: tenor.yaml
stock: {length: 110, width: 60, thickness: 6}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 18
    hold: tape
    features:
      - plane: {bit: planer, leave: 5}
      - marker_pockets: {bit: eighth, diameter: 5, depth: 1.5, frets: [3]}
"""
INSTRUMENT = """\
scale_length: 300
frets: 3
strings: 4
board: {width: {nut: 36, 3: 38}, overhang: 6, thickness: 5}
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "tenor.yaml").write_text(INSTRUMENT, encoding="utf-8")
    path = tmp_path / "board.yaml"
    path.write_text(BOARD, encoding="utf-8")
    return path


class Watched:
    """A run, and what it has said so far."""

    def __init__(self, job: Path, *more: str) -> None:
        command = [sys.executable, "-c", "from toolpaths.cli import main; main()", "watch", str(job)]
        self.run = subprocess.Popen(
            [*command, *more, "--pitch", "0.5"],
            cwd=job.parent,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said: list[str] = []
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        assert self.run.stdout is not None
        for line in self.run.stdout:
            self.said.append(line)

    def until(self, words: str, count: int = 1) -> None:
        until(lambda: "".join(self.said).count(words) >= count, lambda: f"{words!r} was not said: {''.join(self.said)}")

    @property
    def page(self) -> str:
        url = re.search(r"http://\S+", "".join(self.said))[0]  # type: ignore[index]
        with urllib.request.urlopen(url, timeout=LONGEST) as answer:
            return str(answer.read().decode())


@pytest.fixture
def watched(job: Path) -> Iterator[Watched]:
    one = Watched(job, "--programs", "-o", "out")
    yield one
    one.run.kill()
    one.run.wait()


@pytest.fixture
def viewed(job: Path) -> Iterator[Watched]:
    one = Watched(job)
    yield one
    one.run.kill()
    one.run.wait()


@pytest.mark.slow
def test_without_being_asked_it_writes_no_file(job: Path, viewed: Watched) -> None:
    before = sorted(job.parent.rglob("*"))
    viewed.until("  shown:")
    assert "no file is written or replaced" in viewed.said[0]
    assert "View only: the programs on this page are in no file." in viewed.page
    assert "Watched board" in viewed.page
    job.write_text(BOARD.replace("Watched board", "Second thoughts"), encoding="utf-8")
    viewed.until("  shown:", 2)
    assert "Second thoughts" in viewed.page
    job.write_text(BOARD.replace("length: 110", "length: 40"), encoding="utf-8")
    viewed.until("stock-too-small")
    until(lambda: "was not written as it is now" in viewed.page)
    assert "Second thoughts" in viewed.page
    assert before == sorted(job.parent.rglob("*"))
    viewed.run.send_signal(signal.SIGINT)
    assert 0 == viewed.run.wait(timeout=LONGEST)
    assert "Traceback" not in "".join(viewed.said)


@pytest.mark.slow
def test_programs_of_an_earlier_state_are_named_and_left_alone(job: Path) -> None:
    command = [sys.executable, "-c", "from toolpaths.cli import main; main()", "write", str(job), "--pitch", "0.5"]
    subprocess.run(command, cwd=job.parent, check=True, capture_output=True)
    written = {path: path.read_bytes() for path in (job.parent / "out" / "board").iterdir()}
    job.write_text(BOARD.replace("leave: 5", "leave: 5.2"), encoding="utf-8")
    one = Watched(job)
    try:
        one.until("are from an earlier state of the job")
    finally:
        one.run.kill()
        one.run.wait()
    assert written == {path: path.read_bytes() for path in (job.parent / "out" / "board").iterdir()}


def test_a_folder_is_asked_for_with_programs_only(job: Path) -> None:
    command = [sys.executable, "-c", "from toolpaths.cli import main; main()", "watch", str(job), "-o", "out"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST, cwd=job.parent)
    assert 2 == done.returncode
    assert "Without --programs no file is written" in done.stderr


@pytest.mark.slow
def test_it_follows_the_job_its_instrument_and_its_troubles(job: Path, watched: Watched) -> None:
    watched.until("programs replaced in")
    assert "Caution: every change replaces the programs in out." in watched.said[0]
    assert "stays the old one" in watched.said[1]
    assert "Watched board" in watched.page
    job.write_text(BOARD.replace("Watched board", "Second thoughts"), encoding="utf-8")
    watched.until("programs replaced in", 2)
    assert "Second thoughts" in watched.page
    (job.parent / "tenor.yaml").write_text(INSTRUMENT.replace("300", "310"), encoding="utf-8")
    watched.until("programs replaced in", 3)
    job.write_text(BOARD.replace("black cherry", "cheese"), encoding="utf-8")
    watched.until("no wood is called `cheese`")
    until(lambda: "no wood is called `cheese`" in watched.page)
    assert "Second thoughts" in watched.page
    job.write_text(BOARD.replace("length: 110", "length: 40"), encoding="utf-8")
    watched.until("stock-too-small")
    job.write_text(BOARD, encoding="utf-8")
    watched.until("programs replaced in", 4)
    assert "was not written" not in watched.page
    watched.run.send_signal(signal.SIGINT)
    assert 0 == watched.run.wait(timeout=LONGEST)
    assert "Traceback" not in "".join(watched.said)


def test_every_file_that_a_job_rests_on_is_looked_at(tmp_path: Path) -> None:
    (tmp_path / "tenor.yaml").write_text("neck: {headstock: {drawing: head.dxf, thickness: 14}}\n", encoding="utf-8")
    job = tmp_path / "board.yaml"
    text = BOARD.replace("bench-router", "mine.yaml")
    job.write_text(text + "      - pocket: {bit: eighth, drawing: star.svg, depth: 1}\n", encoding="utf-8")
    names = {p.name for p in files_of(job)}
    assert {"board.yaml", "board.found.yaml", "tenor.yaml", "mine.yaml", "head.dxf", "star.svg"} == names


def test_a_job_that_is_not_there_is_told(tmp_path: Path) -> None:
    command = [sys.executable, "-c", "from toolpaths.cli import main; main()", "watch", str(tmp_path / "no.yaml")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST)
    assert 2 == done.returncode
    assert "no such file" in done.stderr


def test_a_jig_and_its_jobs_are_looked_at_with_each_other(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    for path in files.values():
        seen = {p.name for p in files_of(path)}
        assert {"jig.yaml", "board.yaml", "neck.yaml", "instrument.yaml"} <= seen
    # One that is not there yet, or cannot be read, is waited for.
    files["neck"].unlink()
    assert files["neck"] in files_of(files["board"])
