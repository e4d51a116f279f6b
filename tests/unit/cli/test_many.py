"""Several jobs in one run: each as if it were alone, one summary, the worst exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import typed

BOARD = """\
title: {title}
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: {scale}
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


def job(folder: Path, name: str, scale: float = 300, depth: float = 1.5) -> Path:
    path = folder / f"{name}.yaml"
    path.write_text(BOARD.format(title=f"Board {name}", scale=scale, depth=depth), encoding="utf-8")
    return path


def run(*arguments: str | Path) -> Result:
    return typed("write", "--pitch", "1", *arguments)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_each_is_written_as_if_it_were_alone(here: Path) -> None:
    one, two = job(here, "one"), job(here, "two", scale=310)
    assert 0 == run(one, two, "-o", here / "both").exit_code
    assert 0 == run(two, "-o", here / "alone").exit_code
    alone = {p.name: p.read_bytes() for p in (here / "alone").iterdir()}
    assert alone == {p.name: p.read_bytes() for p in (here / "both" / "two").iterdir()}
    assert "one.yaml" == json.loads((here / "both" / "one" / "report.json").read_text(encoding="utf-8"))["job"]


@pytest.mark.slow
def test_one_that_is_spoilt_keeps_no_other_from_being_written(here: Path) -> None:
    good, deep, faulty = job(here, "good"), job(here, "deep"), job(here, "faulty")
    # A blank too short for the part is a stop; a wood that nobody knows cannot be used.
    deep.write_text(deep.read_text(encoding="utf-8").replace("length: 110", "length: 40"), encoding="utf-8")
    faulty.write_text(faulty.read_text(encoding="utf-8").replace("black cherry", "cheese"), encoding="utf-8")
    result = run(good, deep, faulty)
    assert 2 == result.exit_code
    assert "1 of 3 jobs were written; 1 stopped, 1 cannot be used." in result.stdout
    assert "stop stock-too-small" in result.stdout
    assert "no wood is called `cheese`" in result.stdout
    assert (here / "out" / "good" / "report.json").is_file()
    assert not (here / "out" / "deep").exists()
    assert not (here / "out" / "faulty").exists()
    assert 1 == run(good, deep).exit_code


def test_two_that_would_share_a_folder_are_refused_before_anything_is_made(here: Path) -> None:
    (here / "other").mkdir()
    result = run(job(here, "same"), job(here / "other", "same"))
    assert 2 == result.exit_code
    assert "would both be written into" in result.stderr
    assert not (here / "out").exists()


@pytest.mark.slow
def test_what_the_command_line_changes_holds_for_all(here: Path) -> None:
    assert 0 == run(job(here, "one"), job(here, "two"), "--air", "20").exit_code
    folders = sorted(p.name for p in (here / "out").iterdir())
    assert ["one", "two"] == [name.partition("@")[0] for name in folders]
    assert all("@" in name for name in folders)
