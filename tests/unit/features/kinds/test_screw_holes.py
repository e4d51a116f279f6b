"""Holes for the screws that hold the blank: bored first, where the screws stand, as wide and as deep as they want."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, context, flat
from tests.support.small_board import small_board, written
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.features.kinds.screw_holes import ScrewHoles
from toolpaths.job.changes import Changes
from toolpaths.operations.operation import Bore
from toolpaths.pipeline.run import make

GROUPS = (
    {"at": [(-8.0, -28.0), (-8.0, 28.0)], "diameter": 3.5, "head": 7.0, "sunk": 2.5},
    {"at": [(480.0, 20.0)]},
)


@pytest.mark.parametrize("flip", [None, "about x"])
@pytest.mark.parametrize("handed", ["right", "left"])
def test_each_screw_gets_its_hole_and_its_head_a_wider_one(flip: str | None, handed: str) -> None:
    """Discs of the thread and 0.5 mm, of the head and 1 mm (pi d^2 / 4); the head's floor as deep as it is sunk."""
    seen = context(ScrewHoles(bit="eighth"), setup={"hold": {"screws": GROUPS}, "flip": flip}, handed=handed)
    (feature,) = seen.setup.features
    found = list(feature.demands(seen))  # type: ignore[attr-defined]
    sizes = [(round(d.asked.area * 4 / math.pi, 1), d.through) for d in found]
    assert sizes == [(16.0, True), (64.0, False), (16.0, True), (64.0, False), (20.2, True)]
    heights = {round(float(d.floor.height(np.zeros(1), np.zeros(1))[0]), 6) for d in found if not d.through}
    assert heights == {8 - 2.5}
    # Screws are where the machine sees them: the instrument's y is mirrored where the work or the maker is.
    ys = [round(seen.mirror * d.asked.centroid.y, 6) for d in found if d.through]
    assert ys == [-28, 28, 20]


def test_they_are_cut_to_the_bed_from_the_floor_of_their_heads() -> None:
    seen = context(ScrewHoles(bit="eighth"), setup={"hold": {"screws": GROUPS}})
    bores = [o for f in seen.setup.features for o in f.operations(seen)]  # type: ignore[attr-defined]
    assert all(isinstance(o, Bore) for o in bores)
    assert [(o.top, o.floor) for o in bores] == [(8, 5.5), (5.5, -BENCH.bed_allowance), (8, -BENCH.bed_allowance)]


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"diameter": 3}, "narrower than its screw"),
        ({"head": 6}, "narrower"),
        ({"diameter": 7.5}, "go through its hole"),
    ],
)
def test_a_hole_that_no_screw_suits_is_refused(keys: dict[str, float], words: str) -> None:
    seen = context(ScrewHoles(bit="eighth", **keys), setup={"hold": {"screws": GROUPS[:1]}})  # type: ignore[arg-type]
    with pytest.raises(FeatureError, match=words):
        list(seen.setup.features[0].demands(seen))  # type: ignore[attr-defined]


def test_without_placed_screws_there_is_nothing_to_bore(tmp_path: Path) -> None:
    with pytest.raises(JobError) as told:
        make(written(tmp_path, small_board("screw_holes: {bit: eighth}")))
    assert "have no places" in told.value.problems[0].problem


def test_a_drill_cannot_sink_heads() -> None:
    drill = {"bore": flat(4.0).model_copy(update={"shape": "drill"})}
    seen = context(ScrewHoles(bit="bore"), bits=drill, setup={"hold": {"screws": GROUPS}})
    with pytest.raises(FeatureError, match="drill"):
        list(seen.setup.features[0].operations(seen))  # type: ignore[attr-defined]


def test_they_come_first_in_a_program_of_their_own_and_the_screws_after_it(tmp_path: Path) -> None:
    hold = (
        "{screws: {at: [[-13, -30], [-13, 30], [98, -30], [98, 30]], head: 7, head_height: 1, sunk: 3}, "
        "clamps: [{name: toe clamp, x: [-40, -12], y: [-8, 8], height: 16, until: screws}]}"
    )
    job = small_board("screw_holes: {bit: eighth}", "score_lines: {bit: scorer, depth: 0.5}", hold=hold)
    outcome = make(written(tmp_path, job), Changes(pitch=0.5))
    first, second = (p.text for p in outcome.programs[:2])
    assert "(Held by 1 clamp.)" in first
    assert "toe clamp: X" in first
    assert "toe clamp" not in second
    assert "(Held by 4 screws.)" in second
    driven = next(h for h in outcome.handwork if h.feature == "screw_holes")
    assert "before the next" == driven.when
    assert "take off: toe clamp" in driven.what
    assert "keep-out" not in {f.code for f in outcome.findings}
