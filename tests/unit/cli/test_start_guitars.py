"""Ordinary guitars, and answers of all sorts: the jobs that `start` leaves pass their check, and board and neck fit."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from tests.support.starting import started
from toolpaths.job.changes import Changes
from toolpaths.pipeline.design import read_design
from toolpaths.pipeline.load import load_job
from toolpaths.reports.reference.first_answers import Answers
from toolpaths.reports.reference.first_job import files_of
from toolpaths.verification.finding import Severity
from toolpaths.verification.fits.board_fits_neck import fit
from toolpaths.verification.fits.fit_parts import Verdict, part_of


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


GUITARS = [
    (345, 15, 4, 35, 42, 5),
    (381, 18, 4, 36, 44, 5),
    (432, 19, 4, 36, 45, 5),
    (510, 20, 5, 40, 48, 6),
    (584, 19, 4, 36, 44, 6),
    (609.6, 22, 6, 42, 51, 6),
    (628.65, 22, 6, 43, 52, 6),
    (647.7, 24, 6, 43, 53, 6.35),
    (650, 19, 6, 52, 62, 6.5),
    (686, 24, 7, 48, 58, 6.35),
    (711.2, 24, 8, 54, 65, 7),
    (864, 24, 4, 40, 56, 7),
]
"""Scale, frets, strings, widths at the nut and at fret 12, thickness, mm: ordinary ones, common practice, no source."""
RADII = (0, 184, 241, 305, 406)
ORDINARY = [
    Answers(
        part="both" if (i + j) % 2 else "board",
        units="in" if (i + j // 2) % 2 else "mm",
        scale=scale, frets=frets, strings=strings, nut=nut, octave=octave, thickness=thickness, radius=radius,
    )
    for j, (scale, frets, strings, nut, octave, thickness) in enumerate(GUITARS)
    for i, radius in enumerate(RADII)
]  # fmt: skip
FEW = [ORDINARY[k] for k in (1, 12, 26)]


def fits(board: Path, neck: Path) -> bool:
    parts = []
    for path in (board, neck):
        design = read_design(path)
        parts.append(part_of(design.loaded.job, design.contexts, design.target))
    return all(row.verdict is not Verdict.no for row in fit(*parts))


def name_of(a: Answers) -> str:
    return f"{a.part} {a.scale:g} x {a.strings}, radius {a.radius:g}, {a.units}"


@pytest.mark.slow
@pytest.mark.parametrize("answers", FEW, ids=name_of)
def test_ordinary_guitars_give_jobs_that_pass(answers: Answers, here: Path) -> None:
    jobs = started(answers)
    job = load_job(jobs[0]).job
    assert answers.scale == pytest.approx(job.instrument.scale_length, abs=0.002)
    assert (() if answers.radius == 0 else ("slots sawn before radiusing",)) == job.by_hand
    assert len(jobs) == 1 or fits(*jobs)


@pytest.mark.slow
@pytest.mark.parametrize(
    "answers", ORDINARY if os.environ.get("NECKPATH_GUITARS") == "all" else ORDINARY[1::8], ids=name_of
)
def test_every_ordinary_guitar_gives_jobs_that_pass_the_whole_check(answers: Answers, here: Path) -> None:
    """Every eighth of the 60; all of them with NECKPATH_GUITARS=all."""
    place = ORDINARY.index(answers)
    jobs = started(answers, "--yes", says="It passes `neckpath check`.\n")
    # `start` makes the whole check itself; that its words are true is tried with every second of these.
    for path in jobs if place % 16 == 1 else ():
        found = make(path, Changes(pitch=0.5)).findings
        assert [] == [f"{f.code}: {f.message}" for f in found if f.severity is not Severity.note]
    assert len(jobs) == 1 or fits(*jobs)


@pytest.mark.parametrize(("radius", "scorer"), [(184, "vee60"), pytest.param(305, "scorer", marks=pytest.mark.slow)])
def test_lines_that_follow_a_later_top_are_cut_by_a_bit_that_reaches(here: Path, radius: int, scorer: str) -> None:
    """At 56 mm of width 184 mm of radius take 2.1 off the edges, 305 take 1.3 (sagitta); the scorer's edges are 2.5."""
    jobs = started(replace(FEW[0], part="board", scale=628.65, frets=22, strings=6, nut=43, octave=52, radius=radius),
                   "--slots", "after")  # fmt: skip
    feature = next(f for f in load_job(jobs[0]).job.setups[0].features if f.key == "score_lines")
    assert (scorer, "radius") == (feature.bit, feature.below)
    assert () == load_job(jobs[0]).job.by_hand


TYPICAL = [
    Answers(scale=300, frets=12, strings=4, nut=30, octave=36, units="in", machine="hand-dial"),
    Answers(scale=863.6, frets=24, strings=4, nut=40, octave=55, part="both", machine="shop-gantry", radius=305),
    Answers(scale=628.65, frets=22, part="both", radius=241.3, units="in", machine="hand-dial"),
    Answers(scale=650, frets=36, strings=8, nut=54, octave=65, handed="left", wood="ebony", scorer="vee60"),
    Answers(part="neck", strings=5, nut=40, octave=48, scale=500, frets=17, wood="mahogany"),
    Answers(part="both", strings=12, nut=48, octave=57, scale=640, frets=20, thickness=9, radius=406),
    Answers(part="both", strings=3, nut=32, octave=40, scale=600, frets=12, thickness=4),
    Answers(strings=7, nut=48, octave=58, scale=686, frets=24, radius=305, slots="after", scorer="vee60"),
]


@pytest.mark.slow
@pytest.mark.parametrize("answers", TYPICAL, ids=lambda a: f"{a.part} {a.scale:g} {a.machine}")
def test_typical_answers_pass_the_whole_check(answers: Answers, tmp_path: Path) -> None:
    files = files_of(answers, "job")
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    for name in (n for n in files if not n.endswith("-instrument.yaml")):
        found = make(tmp_path / name, Changes(pitch=0.5)).findings
        assert [] == [f"{f.code}: {f.message}" for f in found if f.severity is Severity.stop]
