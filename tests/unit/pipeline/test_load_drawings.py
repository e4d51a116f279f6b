"""Drawings that a job names: their faults stand at the job's own line, and their content marks the job."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.load import load_job

ROOT = Path(__file__).parents[3]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The case with drawings, and all of its drawings in one folder beside it."""
    (tmp_path / "drawings").mkdir()
    for folder in (ROOT / "demo_jobs" / "drawings", ROOT / "tests" / "cases" / "drawings"):
        for path in folder.iterdir():
            shutil.copy(path, tmp_path / "drawings")
    text = (ROOT / "tests" / "cases" / "drawn_board.yaml").read_text(encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(text.replace("../../demo_jobs/drawings", "drawings"), encoding="utf-8")
    return path


def test_another_content_of_a_drawing_is_another_job(job: Path) -> None:
    before = load_job(job).job_hash
    assert before == load_job(job).job_hash
    leaf = job.parent / "drawings" / "leaf.svg"
    leaf.write_text(leaf.read_text().replace("-4.6", "-4.7"))
    assert before != load_job(job).job_hash


def test_a_headstock_s_drawing_counts_too(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "demo_jobs", tmp_path / "demo_jobs")
    neck = tmp_path / "demo_jobs" / "tenor_neck.yaml"
    before = load_job(neck).job_hash
    head = tmp_path / "demo_jobs" / "drawings" / "headstock.dxf"
    head.write_text(head.read_text().replace("-136.0", "-135.0"))
    assert before != load_job(neck).job_hash


def test_a_job_without_drawings_keeps_its_mark() -> None:
    from toolpaths.job.job_hash import hash_of

    loaded = load_job(ROOT / "tests" / "cases" / "short_board.yaml")
    assert loaded.job_hash == hash_of(loaded.job, loaded.machine, loaded.wood, {})
    assert loaded.job_hash == hash_of(loaded.job, loaded.machine, loaded.wood)


def test_faults_of_drawings_stand_at_the_keys_that_name_them(job: Path) -> None:
    (job.parent / "drawings" / "leaf.svg").unlink()
    heron = job.parent / "drawings" / "heron_lines.dxf"
    heron.write_text("This is no drawing.")
    with pytest.raises(JobError) as caught:
        lay_out(job, Changes())
    first, second = caught.value.problems
    lines = job.read_text().splitlines()
    assert ("pocket.drawing", "leaf.svg: there is no file `leaf.svg`") == (first.key, first.problem)
    assert "drawing: drawings/leaf.svg" in lines[first.line - 1][first.column - 1 :]
    assert ("engraving 2.drawing", "heron_lines.dxf: it cannot be read as a DXF file") == (
        second.key,
        second.problem.split(" (")[0],
    )
    assert lines[second.line - 1][second.column - 1 :].startswith("drawing: drawings/heron_lines.dxf")


def test_an_open_outline_is_named_with_its_entity(job: Path) -> None:
    leaf = job.parent / "drawings" / "leaf.svg"
    leaf.write_text(leaf.read_text().replace(" Z", ""))
    leaf.write_text(leaf.read_text().replace("-4 4.6 -7 0", "-4 4.6 -7 0.5"))
    with pytest.raises(JobError) as caught:
        lay_out(job, Changes())
    (problem,) = caught.value.problems
    assert (
        "leaf.svg: path edge in group leaf is open: it ends at x -7.00 mm, y -0.50 mm, 0.50 mm from where it begins"
        == problem.problem
    )
    assert "close the outline" == problem.hint
