"""What sheet and list for the hands say of a jig, and of work that lies on one."""

from __future__ import annotations

from pathlib import Path

from tests.support.jig_jobs import JigJobs
from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.pipeline.load import load_job
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.text.at_machine import touch, zero_steps
from toolpaths.reports.text.holding import holding_sentences
from toolpaths.reports.text.words import zero_words

COARSE = Changes(pitch=0.5)


def test_a_jig_is_screwed_down_and_its_zero_found_once(tmp_path: Path) -> None:
    outcome = made(JigJobs(offset="G56").write(tmp_path)["jig"], COARSE)
    first, second, *_ = zero_steps(outcome, outcome.setups[0])
    assert "Screw the jig down for good" in first
    assert "found once" in first
    assert (
        second
        == "Offset G56. Bring the bit's middle over the nut line and set X 0. Then over the centreline, and set Y 0."
    )
    said = [work.what for work in outcome.handwork if work.feature == "jig"]
    assert said[0].startswith("Drill the 4 screw holes through the blank by hand")
    assert "Never take it off between board and neck" in said[1]
    assert "Write down the zero of offset G56" in said[2]
    assert "Grain along the neck" not in sheet(outcome)


def test_work_on_a_jig_says_which_is_cut_first_and_finds_no_zero(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    outcome, mark = made(files["neck"], COARSE), load_job(files["jig"]).job_hash
    setup = outcome.setups[0]
    steps = zero_steps(outcome, setup)
    assert f"(Jig of the test, job {mark})" in steps[0]
    assert "set already" in steps[0]
    assert not any("set X 0" in step for step in steps)
    assert all(touch(outcome, p).startswith("Touch the top of the jig. Enter Z") for p in outcome.programs)
    assert zero_words(setup) == (
        "X at the jig's nut line, Y on the jig's centreline, Z on the jig's seat, which the blank lies on"
    )
    held = holding_sentences(setup, "mm")
    assert held[0].startswith(f"It lies on the jig Jig of the test, job {mark}, which is cut first")
    assert any(words.startswith("Screws of the jig: ") for words in held)
    assert f"job {mark}" in sheet(outcome)
