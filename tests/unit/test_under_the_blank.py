"""A backing and tape under the blank: Z on the bed, thicknesses and through cuts stay right, in the text alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.small_board import small_board, written
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.run import make

ALLOWED = 0.2
"""How deep the bench router may cut into its bed, mm: machines/bench-router.yaml."""
FEATURES = ("score_lines: {bit: scorer, depth: 0.5}", "outline: {bit: quarter}")


def heights(folder: Path, under: str, z: str = "bed") -> list[set[float]]:
    """Every Z word of each program's text."""
    job = small_board(*FEATURES).replace("z: bed", f"z: {z}").replace("    hold: tape", f"    hold: tape\n    {under}")
    texts = (p.text for _, p in lay_out(written(folder, job), Changes()).own)
    return [{float(z) for z in re.findall(r"\bZ(-?[\d.]+)", re.sub(r"\(.*?\)", "", t))} for t in texts]


@settings(max_examples=8)
@given(backing=st.floats(0.5, 15), tape=st.floats(0, 1))
def test_z_on_the_bed_is_higher_by_all_that_lies_under(
    tmp_path_factory: pytest.TempPathFactory, backing: float, tape: float
) -> None:
    """Planed face 5 mm, line 0.5 deep, both counted from the blank's underside (the job's own numbers)."""
    backing, tape = round(backing, 2), round(tape, 2)
    u = backing + tape
    folder = tmp_path_factory.mktemp("under")
    planer, scorer, quarter = heights(folder, f"under: {{backing: {backing}, tape: {tape}}}")
    assert min(planer) == pytest.approx(u + 5, abs=2e-3)
    assert min(scorer) == pytest.approx(u + 4.5, abs=2e-3)
    # Through the tape, and into the backing by the machine's allowance or half of the backing.
    assert min(quarter) == pytest.approx(u - tape - min(ALLOWED, backing / 2), abs=2e-3)
    assert min(quarter) >= backing / 2 - 2e-3


def test_on_the_stocks_top_only_the_through_cut_changes(tmp_path: Path) -> None:
    plain, raised = (heights(tmp_path, under, "stock top") for under in ("", "under: {backing: 6, tape: 0.3}"))
    assert plain[:2] == raised[:2]
    assert min(plain[2]) == pytest.approx(-6 - ALLOWED)
    assert min(raised[2]) == pytest.approx(-6 - 0.3 - ALLOWED)


@pytest.mark.parametrize("under", ["", "under: {backing: 6, tape: 0.2}", "under: {backing: 0.2}"])
def test_a_set_on_a_backing_passes_its_judge_and_says_what_lies_there(under: str, tmp_path: Path) -> None:
    job = small_board(*FEATURES).replace("    hold: tape", f"    hold: tape\n    {under}")
    outcome = make(written(tmp_path, job), Changes(pitch=0.5))
    assert not outcome.stopped
    assert ("(Between bed and blank: " in outcome.programs[0].text) == bool(under)


def test_the_bed_may_be_cut_no_deeper_than_before(tmp_path: Path) -> None:
    """A backing of 0.1 mm: half of it, though the machine would allow 0.2."""
    *_, quarter = heights(tmp_path, "under: {backing: 0.1}")
    assert min(quarter) == pytest.approx(0.05, abs=2e-3)
