"""`rough_back`: what it asks for and refuses, where its rows go, and what the product's own judge says of the cut."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from shapely import Point

from tests.support.carved import HEAD, HEEL, VOLUTE, carved, cut, said, scene
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.instrument.necks import back_depth
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.run import make

PLAIN = "rough_back: {bit: round6, leave: 1.5}"


def test_it_asks_for_the_shaft_so_far_out_and_no_lower_than_what_is_left(tmp_path: Path) -> None:
    feature, s = scene(tmp_path, carved(PLAIN), "rough_back")
    (d,) = feature.demands(s)
    assert CutKind.rough_back is d.kind
    # From where the headstock's blend begins to where the heel's ends.
    assert (-22.0, 110.0) == pytest.approx((d.asked.bounds[0], d.asked.bounds[2]))
    # As deep as 0.75 of the centreline: half an ellipse is there sqrt(1 - 0.75^2) = 0.6614 of its half width out,
    # and the board's half width at x is 17 + 3 x / 117.0 (fret 8 of 300 mm and 6 mm: 111.0 + 6). Derived.
    end = 300 * (1 - 2 ** (-8 / 12)) + 6
    x = 60.0
    edge = math.sqrt(1 - 0.75**2) * (17 + 3 * x / end)
    assert d.asked.contains_properly(Point(x, edge - 0.01))
    assert not d.asked.intersects(Point(x, edge + 0.01))
    y = np.array([0.0, 5.0, -9.0])
    expected = back_depth(s.job.instrument, np.full(3, x), y) + 1.5
    assert expected == pytest.approx(d.floor.height(np.full(3, x), y))
    # Where the bit runs out lies within the part as it is cut, its margin of 0.5 with it.
    assert d.run_out.bounds[3] <= 25.0
    assert not d.run_out.intersects(Point(x, 17 + 3 * x / end + 0.51))


@pytest.mark.parametrize("bit", ["round6", "round4", "nose", "long", "three"])
@pytest.mark.parametrize(
    "parts",
    [pytest.param((HEEL, HEAD, VOLUTE), marks=pytest.mark.slow), pytest.param((HEEL,), marks=pytest.mark.slow), ()],
    ids=["whole", "heel", "plain"],
)
def test_no_row_leaves_the_part_or_goes_below_what_is_left(tmp_path: Path, bit: str, parts: tuple[str, ...]) -> None:
    ends = "" if parts == (HEEL, HEAD, VOLUTE) else ", from: 4, to: 100"
    text = carved(f"rough_back: {{bit: {bit}, leave: 1, scallop: 1.2{ends}}}", parts=parts)
    feature, s = scene(tmp_path, text, "rough_back")
    cutter = s.bits[bit]
    (operation,) = feature.operations(s)
    end = 300 * (1 - 2 ** (-8 / 12)) + 6
    for way in [*operation.rows, *operation.links]:
        # The rim stays beside the shaft's own line, its margin of 0.5 mm with it, where heel and headstock are far.
        on = (way[:, 0] > 0) & (way[:, 0] < 80)
        half = 17 + 3 * (way[on, 0] - cutter.radius) / end + 0.5
        assert np.all(np.abs(way[on, 1]) + cutter.radius <= np.maximum(half, 17.5) + 0.05 + 3 * cutter.radius / end)
        # No place of the bit's end is below the finished back and what is left on it.
        rho, turn = np.meshgrid(cutter.radius * np.linspace(0, 1, 7), np.linspace(0, 2 * math.pi, 25))
        x, y = way[:, :1] + (rho * np.cos(turn)).ravel(), way[:, 1:2] + (rho * np.sin(turn)).ravel()
        tip = way[:, 2:3] + cutter.height_at(np.minimum(rho.ravel(), cutter.radius))
        # At the hollow corner of the outline behind the nut a flat end may miss the highest by a thousandth.
        assert np.all(tip >= back_depth(s.job.instrument, x, y) + 1.0 - 0.001)
    for a, b, link in zip(operation.rows, operation.rows[1:], operation.links, strict=False):
        ends_of = (a[[0, -1], :3].tolist(), b[[0, -1], :3].tolist())
        assert link[0, :3] == pytest.approx(ends_of[0][1]) or link[0, :3] == pytest.approx(ends_of[0][0])
        assert link[-1, :3] == pytest.approx(ends_of[1][1]) or link[-1, :3] == pytest.approx(ends_of[1][0])


@pytest.mark.parametrize(
    ("keys", "said_of_it", "key"),
    [
        ("bit: round6, from: 60, to: 60", "no row fits between", "to"),
        ("bit: round6, from: 60, to: 64", "no row fits between", "to"),
        ("bit: vee60", "cannot cut a round back", "bit"),
        ("bit: round6, from: -110", "past the blank's end", "from"),
        ("bit: round6, to: 190", "past the blank's end", "to"),
        ("bit: planer", "planer cannot follow the flanks down to 0.75", "down_to"),
        ("bit: huge", "huge is as wide as the neck", "bit"),
        ("bit: round6, down_to: 0.2", "cannot follow the flanks down to 0.2", "down_to"),
        ("bit: round6, from: fret 9", "there is no fret 9", "from"),
        ("bit: stubby", "cutting edges of stubby are 5.00 mm long", "bit"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, keys: str, said_of_it: str, key: str) -> None:
    text = carved(f"rough_back: {{{keys}}}").replace(
        "bits:\n",
        "bits:\n  stubby: {shape: flat, diameter: 4, flutes: 2, cutting_length: 5, shank: 4, stickout: 20}\n"
        "  huge: {shape: flat, diameter: 40, flutes: 2, cutting_length: 20, shank: 8, stickout: 30}\n",
    )
    feature, s = scene(tmp_path, text, "rough_back")
    with pytest.raises(FeatureError, match=said_of_it) as caught:
        _ = list(feature.demands(s)), list(feature.operations(s))
    assert key == caught.value.key
    with pytest.raises(JobError) as told:
        make(tmp_path / "neck.yaml", Changes(pitch=1.0))
    assert any("rough_back" in p.key for p in told.value.problems)


def test_from_the_face_it_is_refused(tmp_path: Path) -> None:
    text = carved("outline: {bit: long, tabs: {count: 4, length: 6, height: 8.5}}", face=(PLAIN,))
    feature, s = scene(tmp_path, text, "rough_back")
    with pytest.raises(FeatureError, match="does not show the neck's back"):
        list(feature.operations(s))


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        ("scallop: 0.01", "scallop"),
        ("scallop: 4", "scallop"),
        ("leave: -1", "leave"),
        ("down_to: 0", "down_to"),
        ("down_to: 0.96", "down_to"),
        ("from: frets", "from"),
        ("planes: 2", "planes"),
    ],
)
def test_bad_numbers_are_told_with_their_line(tmp_path: Path, keys: str, problem: str) -> None:
    with pytest.raises(JobError) as told:
        cut(tmp_path, carved(f"rough_back: {{bit: round6, {keys}}}"))
    (found,) = told.value.problems
    assert found.line == len(carved(PLAIN).splitlines())
    assert problem in found.key
    assert found.problem


CASES = {
    "round, whole": carved(PLAIN, parts=(HEEL, HEAD, VOLUTE)),
    "soft vee, small ball": carved(
        "rough_back: {bit: round4, leave: 1, from: 4, to: 100}", parts=(HEEL,), back="soft vee"
    ),
    "own profile, bull": carved(
        "rough_back: {bit: nose, leave: 0.8, scallop: 0.6}", back="[[0, 1], [0.4, 0.92], [0.8, 0.5], [1, 0.1]]"
    ),
    "plain, flat, left-handed": carved(
        "rough_back: {bit: three, leave: 1, scallop: 0.8, from: 4, to: 100}", parts=(), hand="left"
    ),
    "one way": carved("rough_back: {bit: round6, leave: 1.5, direction: climb}"),
    "inches": carved(PLAIN, units="in"),
    "nothing left on it": carved("rough_back: {bit: round6, leave: 0, scallop: 0.1, from: 10, to: 60}"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_it_is_cut_and_passed_by_the_product_s_own_judge(tmp_path: Path, name: str) -> None:
    outcome = cut(tmp_path, CASES[name])
    assert [] == said(outcome)


def test_a_short_one_is_cut_and_passed(tmp_path: Path) -> None:
    outcome = cut(tmp_path, carved("rough_back: {bit: round6, leave: 2, scallop: 1, from: 20, to: 40}"), pitch=1.0)
    assert [] == said(outcome)
    (entry,) = (h for h in outcome.handwork if h.feature == "rough_back")
    assert "left 2.00 mm of wood on the back of the shaft" in entry.what
    assert "carve to the gauges" in entry.what
