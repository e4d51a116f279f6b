"""A better bit of the rack: proposed only where it leaves the same shape, and then in the minutes that were told."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths.job.changes import Changes
from toolpaths.pipeline.better_bit import LONG, PART, better_bits, with_bit
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.prove import prove
from toolpaths.pipeline.run import make
from toolpaths.reports.text.better_bits import better_table, better_words

_JOBS = Path(__file__).parents[3] / "demo_jobs"
DEMOS = [_JOBS / f"{name}.yaml" for name in ("tenor_board", "inlaid_board", "carved_neck")]
JOB = """\
title: Pocket by a thin bit
units: mm
machine: bench-router
wood: hard maple
instrument: {scale_length: 650, frets: 12, board: {width: {nut: 42, 12: 52}, thickness: 6, overhang: 8}}
stock: {length: 400, width: 90, thickness: 8}
bits:
  long thin: {shape: flat, diameter: 3.175, flutes: 2, cutting_length: 26, shank: 3.175, stickout: 32, spiral: down}
setups:
  - name: face
    offset: G54
    zero: {x: stock end, y: stock edge, z: bed}
    nut_at: 20
    hold: {tape: {}}
    features:
      - marker_pockets: {bit: long thin, shape: SHAPE, depth: 3, frets: [3, 5, 7, 9]}
"""


def written(folder: Path, shape: str) -> Path:
    path = folder / "job.yaml"
    path.write_text(JOB.replace("SHAPE", shape))
    return path


def test_wide_round_pockets_want_a_wider_bit_and_what_is_told_is_kept(tmp_path: Path) -> None:
    path = written(tmp_path, "round, diameter: 30")
    (found,) = better_bits(make(path))
    assert ("marker_pockets", "long thin", 16) == (found.feature, found.bit, found.job_line)
    assert found.now > LONG
    assert found.minutes < PART * found.now
    taken = prove(lay_out_loaded(with_bit(load_job(path), found.feature, found.better), Changes()))
    assert not taken.stopped
    assert found.minutes == pytest.approx(taken.setups[0].features[0].minutes, rel=0.1)
    assert f"`bit: {found.better}` in marker_pockets" in better_words([found])
    assert ("marker_pockets (line 16)", "long thin") == better_table([found]).rows[0][:2]


def test_corners_that_a_wider_bit_would_leave_are_none_to_be_given_up(tmp_path: Path) -> None:
    assert () == better_bits(make(written(tmp_path, "block, length: 30, width: 30")))


def test_a_job_that_is_stopped_is_told_nothing(tmp_path: Path) -> None:
    path = written(tmp_path, "round, diameter: 30")
    path.write_text(path.read_text().replace("hold: {tape: {}}", "hold: {}"))
    outcome = make(path)
    assert outcome.stopped
    assert () == better_bits(outcome)


@pytest.mark.slow
@pytest.mark.parametrize("job", DEMOS, ids=lambda p: p.stem)
def test_every_proposal_for_a_demo_is_no_stop_and_takes_the_minutes_told(job: Path) -> None:
    outcome = make(job)
    for found in better_bits(outcome):
        taken = prove(lay_out_loaded(with_bit(load_job(job), found.feature, found.better), Changes()))
        assert not taken.stopped
        minutes = sum(f.minutes for s in taken.setups for f in s.features if f.name == found.feature)
        assert found.minutes == pytest.approx(minutes, rel=0.1)
