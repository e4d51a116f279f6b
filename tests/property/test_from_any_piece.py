"""From any piece of any job: the rest of the set passes its judge, and leaves the wood that the whole set leaves."""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.begin_at import Piece, pieces_of
from toolpaths.pipeline.design import design_of
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.move import move
from toolpaths.verification.finding import Severity

ROOT = Path(__file__).parents[2]
CASES = [
    ROOT / "tests" / "cases" / f"{name}.yaml"
    for name in ("short_board", "inch_board", "fanned_board", "two_sided_neck", "kerfed_neck", "headstock_ramp")
]
DEMOS = [ROOT / "demo_jobs" / f"{name}.yaml" for name in ("tenor_board", "inlaid_board", "parlour_board_inch")]
SAME = 1e-4
"""What the rounding of a text may do to the wood, mm: half a digit of the inch machine is 0.00013."""
EACH = int(os.environ.get("NECKPATH_JOBS", "48")) // 16


@lru_cache
def pieces(path: Path) -> tuple[Piece, ...]:
    design = design_of(load_job(path))
    return tuple(pieces_of([move(plan, design.contexts[plan.setup]) for plan in design.plans]))


def goes_on(path: Path, piece: Piece) -> None:
    whole = make(path, Changes(pitch=0.5))
    try:
        rest = make(path, Changes(pitch=0.5, start=piece.label))
    except JobError as error:
        (problem,) = error.problems
        assert "zeroed on the stock's top" in problem.problem
        assert piece.feature.startswith("plane")
        assert "level 1" != piece.name
        return
    assert [] == [f for f in rest.findings if f.severity is Severity.stop], piece.label
    assert {f.code for f in rest.findings} <= {f.code for f in whole.findings}, piece.label
    assert rest.programs[0].passes[0].feature == piece.feature
    after = {s.context.setup.name: s.after.heights for s in rest.setups}
    for setup in whole.setups:
        name = setup.context.setup.name
        assert np.abs(setup.after.heights - after[name]).max() <= SAME, (piece.label, name)


@pytest.mark.parametrize("path", [CASES[0]], ids=lambda p: p.stem)
def test_the_first_and_the_last_piece_of_each_kind(path: Path) -> None:
    for feature in ("score_lines", "outline"):
        mine = [p for p in pieces(path) if p.feature == feature]
        for piece in (mine[0], mine[-1]):
            goes_on(path, piece)


@pytest.mark.slow
@pytest.mark.parametrize("path", [*CASES, *DEMOS], ids=lambda p: p.stem)
def test_any_piece(path: Path) -> None:
    @settings(max_examples=EACH)
    @given(st.sampled_from(pieces(path)))
    def tried(piece: Piece) -> None:
        goes_on(path, piece)

    tried()
