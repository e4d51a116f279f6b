"""`facets`: planes that touch the finished section, cut and passed, and what is told to the carver."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.support.carved import HEAD, HEEL, VOLUTE, carved, cut, said, scene
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.instrument.necks import back_depth, half_width_at


@pytest.mark.parametrize("planes", [2, 4])
@pytest.mark.parametrize("back", ["round", "soft vee"])
def test_its_floor_is_the_lowest_of_planes_that_lean_evenly(tmp_path: Path, planes: int, back: str) -> None:
    feature, s = scene(tmp_path, carved(f"facets: {{bit: round6, leave: 0.7, planes: {planes}}}", back=back), "facets")
    (d,) = feature.demands(s)
    x, instrument = 50.0, s.job.instrument
    half = float(half_width_at(instrument, np.array([x]))[0])
    y = np.unique(np.concatenate([half * np.linspace(-1, 1, 2001), half * np.array([0.2, 0.45, 0.7, 0.9])])) * (
        1 - 1e-12
    )
    z = back_depth(instrument, np.full(len(y), x), y)
    leans = [math.pi / 2 * k / (planes + 1) for k in range(planes + 1)]
    # Support of the section in each direction, by all its places; the plane on that. Elementary geometry.
    found = [((z * math.cos(a) + y * math.sin(a)).max() - np.abs(y) * math.sin(a)) / math.cos(a) for a in leans]
    assert np.min(found, axis=0) + 0.7 == pytest.approx(d.floor.height(np.full(len(y), x), y), abs=2e-4)


@pytest.mark.parametrize(
    ("keys", "words"),
    [("planes: 3", "planes"), ("planes: 0", "planes"), ("plane: 2", "plane"), ("leave: -0.1", "leave")],
)
def test_bad_keys_are_told_with_their_line(tmp_path: Path, keys: str, words: str) -> None:
    with pytest.raises(JobError) as told:
        cut(tmp_path, carved(f"facets: {{bit: round6, {keys}}}"))
    found = told.value.problems[0]
    assert found.line == len(carved("facets: {}").splitlines())
    assert words in found.key


def test_a_pointed_bit_is_refused(tmp_path: Path) -> None:
    feature, s = scene(tmp_path, carved("facets: {bit: vee60}"), "facets")
    with pytest.raises(FeatureError, match="vee60 is a vee bit and cannot cut a round back"):
        list(feature.operations(s))


CASES = {
    "round, whole": carved("facets: {bit: round6, leave: 0.5}", parts=(HEEL, HEAD, VOLUTE)),
    "soft vee, four planes": carved("facets: {bit: nose, leave: 0.5, planes: 4, from: 6, to: 95}", back="soft vee"),
    "left-handed, inches": carved("facets: {bit: round4, leave: 1, from: 4 mm, to: 90 mm}", units="in", hand="left"),
    "one way, plain": carved("facets: {bit: round6, leave: 1, from: 6, to: 100, direction: climb}", parts=()),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_it_is_cut_and_passed_by_the_product_s_own_judge(tmp_path: Path, name: str) -> None:
    assert [] == said(cut(tmp_path, CASES[name]))


@pytest.mark.slow
def test_a_short_one_is_cut_and_the_carver_is_told_of_its_planes(tmp_path: Path) -> None:
    outcome = cut(tmp_path, carved("facets: {bit: round6, leave: 0.5, scallop: 0.8, from: 20, to: 40}"), pitch=1.0)
    assert [] == said(outcome)
    (entry,) = (h for h in outcome.handwork if h.feature == "facets")
    # One on top and two on each side.
    assert "5 planes lie on the finished section" in entry.what
    assert "0.50 mm of wood" in entry.what
