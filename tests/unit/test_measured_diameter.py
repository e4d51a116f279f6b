"""A bit's `measured_diameter`, from a test slot, reaches the shape wanted, the moves and the words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import ProgramSet, lay_out
from toolpaths.pipeline.load import load_job

CASES = Path(__file__).parents[1] / "cases"


def job(folder: Path, case: str, *edits: tuple[str, str]) -> Path:
    text = (CASES / case).read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    path = folder / case
    path.write_text(text, encoding="utf-8")
    return path


SIX = ("bits:\n", "bits:\n  six: {measured_diameter: 6.12}\n")
SCORER = ("cutting_length: 2, shank", "cutting_length: 2, measured_diameter: 0.57, shank")


def layout(path: Path) -> ProgramSet:
    return lay_out(path, Changes())


def outline_reach(made: ProgramSet) -> float:
    """The greatest Y of the outline's moves."""
    text = next(p.text for _, p in made.own if "Feature outline" in p.text).split("Feature outline")[1]
    return max(float(y) for y in re.findall(r"\nG[13] [^\n]*?Y(-?[\d.]+)", text))


def test_an_amendment_of_a_rack_bit_keeps_all_else(tmp_path: Path) -> None:
    before, after = (load_job(job(tmp_path, "short_board.yaml", *e)).job.bits["six"] for e in ((), (SIX,)))
    assert (6.0, 6.12) == (after.diameter, after.cut_diameter)
    assert before.model_copy(update={"measured_diameter": 6.12}) == after


def test_moves_keep_half_of_what_it_truly_cuts_from_the_wall(tmp_path: Path) -> None:
    before, after = (outline_reach(layout(job(tmp_path, "short_board.yaml", *e))) for e in ((), (SIX,)))
    assert pytest.approx(0.06, abs=0.0011) == after - before


def test_a_scored_line_is_wanted_as_wide_as_the_bit_cuts(tmp_path: Path) -> None:
    demands = layout(job(tmp_path, "short_board.yaml", SCORER)).target.demands["face"]
    line = next(d for d in demands if d.name == "fret 1")
    assert pytest.approx((0.57, 0.285)) == (line.asked.bounds[2] - line.asked.bounds[0], line.radius)


def test_corners_are_told_with_the_radius_it_cuts(tmp_path: Path) -> None:
    demands = layout(job(tmp_path, "short_board.yaml", SIX)).target.demands["face"]
    assert 3.06 == max(d.radius for d in demands if d.feature == "outline")


def test_the_header_names_what_it_cuts(tmp_path: Path) -> None:
    programs = [p for _, p in layout(job(tmp_path, "short_board.yaml", SIX)).own]
    assert [True] == ["(Bit 4: six, flat 6.12 mm," in p.text for p in programs if p.bits == ("six",)]


def test_the_whole_set_is_proven_with_it(tmp_path: Path) -> None:
    outcome = make(job(tmp_path, "short_board.yaml", SIX, SCORER), Changes(pitch=0.4))
    assert [] == [f for f in outcome.findings if f.severity == "stop"]


def test_a_slot_narrower_than_what_it_truly_cuts_is_refused(tmp_path: Path) -> None:
    path = job(tmp_path, "rod_neck.yaml", ("bits:\n", "bits:\n  six: {measured_diameter: 6.45}\n"))
    with pytest.raises(JobError) as error:
        layout(path)
    assert "six cuts 6.45 mm wide, and the channel is 6.40 mm" in error.value.problems[0].problem


def test_the_job_s_mark_changes_with_it(tmp_path: Path) -> None:
    hashes = {load_job(job(tmp_path, "short_board.yaml", *e)).job_hash for e in ((), (SIX,))}
    assert 2 == len(hashes)
