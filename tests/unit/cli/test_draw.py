"""`draw` and `fit` at the command line: files whole or not at all, and faults in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.commands import typed as run
from tests.support.paired_jobs import pair


@pytest.mark.parametrize(("ending", "begins"), [("dxf", b"  0\nSECTION"), ("SVG", b"<?xml"), ("pdf", b"%PDF-")])
def test_the_ending_decides_the_format(tmp_path: Path, ending: str, begins: bytes) -> None:
    board, _ = pair(tmp_path)
    out = tmp_path / "new" / f"drawing.{ending}"
    result = run("draw", board, "-o", out)
    assert 0 == result.exit_code, result.output
    assert out.read_bytes().startswith(begins)
    assert "measure the 100 mm line" in result.stdout
    assert [out] == list(out.parent.iterdir())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["-o", "x.png"], "x.png: a drawing ends in .dxf, .svg or .pdf"),
        (["-o", "x.svg", "--paper", "A4"], "only a .pdf has pages"),
        (["-o", "x.pdf", "--paper", "B5"], "is not one of A4"),
        (["-o", "x.svg", "--layer", "fret line"], "no layer is called `fret line`; did you mean `fret lines`"),
    ],
)
def test_what_cannot_be_drawn_is_said_and_nothing_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    board, _ = pair(tmp_path)
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    result = run("draw", board, *words)
    assert 2 == result.exit_code
    assert said in " ".join(result.output.replace("│", " ").split())
    assert before == sorted(tmp_path.iterdir())


def test_a_folder_or_a_link_in_the_way_is_refused(tmp_path: Path) -> None:
    board, _ = pair(tmp_path)
    (tmp_path / "a.svg").mkdir()
    (tmp_path / "b.svg").symlink_to(tmp_path / "elsewhere.svg")
    for name, said in (("a.svg", "is a folder"), ("b.svg", "is a link")):
        result = run("draw", board, "-o", tmp_path / name)
        assert 2 == result.exit_code
        assert said in result.output
    assert not (tmp_path / "elsewhere.svg").exists()


def test_gauges_want_a_neck(tmp_path: Path) -> None:
    _, neck = pair(tmp_path)
    assert 0 == run("draw", neck, "-o", tmp_path / "gauges.pdf", "--templates", "--paper", "a4").exit_code
    bare = tmp_path / "bare.yaml"
    text = (tmp_path / "pair.yaml").read_text()
    (tmp_path / "pair.yaml").write_text(text[: text.index("neck:")])
    bare.write_text((tmp_path / "board.yaml").read_text())
    result = run("draw", bare, "-o", tmp_path / "none.pdf", "--templates")
    assert 2 == result.exit_code
    assert "the instrument has no neck" in result.output
    assert not (tmp_path / "none.pdf").exists()


def test_one_layer_alone(tmp_path: Path) -> None:
    board, _ = pair(tmp_path)
    out = tmp_path / "pins.svg"
    assert 0 == run("draw", board, "-o", out, "--layer", "pins").exit_code
    assert b'id="pins"' in out.read_bytes()
    assert b'id="reference"' in out.read_bytes()
    assert b'id="fret-lines"' not in out.read_bytes()


def test_a_job_that_cannot_be_used_is_said_with_its_place(tmp_path: Path) -> None:
    board, _ = pair(tmp_path, board={"depth: 0.5": "depth: 9"})
    result = run("draw", board, "-o", tmp_path / "x.svg")
    assert 2 == result.exit_code
    assert "board.yaml:16:36: score_lines.depth:" in result.output


def test_fit_ends_with_0_where_the_two_go_together(tmp_path: Path) -> None:
    result = run("fit", *pair(tmp_path))
    assert 0 == result.exit_code, result.output
    assert "Both jobs describe the same instrument." in result.output
    assert "Board and neck fit" in result.output


def test_fit_ends_with_1_and_says_why_where_they_do_not(tmp_path: Path) -> None:
    result = run("fit", *pair(tmp_path, neck={"[20, 14.5]": "[20, 14.3]"}))
    assert 1 == result.exit_code
    assert "does not fit: pin 1: the holes lie 0.200 mm apart: give both the same place." in result.output
    assert "Board and neck do not fit." in result.output


def test_fit_wants_the_board_first(tmp_path: Path) -> None:
    board, neck = pair(tmp_path)
    for jobs in ((neck, board), (board, board)):
        result = run("fit", *jobs)
        assert 2 == result.exit_code
        assert "first comes the board's job, then the neck's" in result.output


def test_fit_takes_a_shorter_neck_where_that_is_meant(tmp_path: Path) -> None:
    jobs = pair(tmp_path, neck={"to: 400": "to: 385"})
    assert 1 == run("fit", *jobs).exit_code
    assert 0 == run("fit", *jobs, "--on-body").exit_code
