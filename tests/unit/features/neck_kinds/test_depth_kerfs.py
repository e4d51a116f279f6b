"""`depth_kerfs`: grooves across the back, how deep, where, in what wood; what is told to the carver."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.support.carved import HEAD, HEEL, VOLUTE, carved, cut, said, scene
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.instrument.necks import back_depth
from toolpaths.job.cut_kind import CutKind
from toolpaths.reports.drawings_out.templates import kerfs_of, stations_of
from toolpaths.reports.pages.handwork_page import handwork_page, kerfs_table

KERFS = "depth_kerfs: {bit: three, every: 12, leave: 0.5}"


def test_each_kerf_is_as_wide_as_the_bit_and_follows_the_flanks_so_far(tmp_path: Path) -> None:
    feature, s = scene(tmp_path, carved(KERFS), "depth_kerfs")
    demands = list(feature.demands(s))
    # The shaft keeps its profile up to 110 - 18 = 92; a kerf 3 wide: 12 to 84.
    assert [12.0 * n for n in range(1, 8)] == pytest.approx([d.middle[0] for d in demands])
    assert [f"kerf {n}" for n in range(1, 8)] == [d.name for d in demands]
    end = 300 * (1 - 2 ** (-8 / 12)) + 6
    for d in demands:
        x = d.middle[0]
        assert CutKind.depth_kerf is d.kind
        x0, y0, x1, y1 = d.asked.bounds
        assert (x - 1.5, x + 1.5, -y1) == pytest.approx((x0, x1, y0))
        # Half as deep as on the centreline is sqrt(1 - 0.5^2) of the half width out; the bit's middle goes a radius
        # beyond, but no further than where its rim stays within the trimmed neck.
        half = [17 + 3 * at / end for at in (x - 1.5, x)]
        assert min(half[0] * math.sqrt(0.75) + 1.5, half[0] - 1.5) + 1.5 == pytest.approx(y1, abs=1e-6)


@pytest.mark.parametrize("parts", [(HEEL, HEAD, VOLUTE), ()], ids=["whole", "plain"])
@pytest.mark.parametrize("back", ["round", "soft vee"])
def test_no_pass_is_below_what_is_left_and_each_goes_from_side_to_side(
    tmp_path: Path, parts: tuple[str, ...], back: str
) -> None:
    feature, s = scene(tmp_path, carved(KERFS, parts=parts, back=back), "depth_kerfs")
    (operation,) = feature.operations(s)
    radius = s.bits["three"].radius
    rho, turn = np.meshgrid(radius * np.linspace(0, 1, 9), np.linspace(0, 2 * math.pi, 73))
    u, v = (rho * np.cos(turn)).ravel(), (rho * np.sin(turn)).ravel()
    for row in operation.rows:
        assert 1 == len(np.unique(row[:, 0]))
        assert row[0, 1] == pytest.approx(-row[-1, 1])
        assert row[0, 1] < 0
        y = np.linspace(row[0, 1], row[-1, 1], 200)
        z = np.interp(y, row[:, 1], row[:, 2])
        under = back_depth(s.job.instrument, row[0, 0] + u + 0 * y[:, None], y[:, None] + v).max(axis=1) + 0.5
        assert np.all(z >= under - 1e-4)
        assert np.all(z <= under + 0.03)


@pytest.mark.slow
def test_after_a_rough_back_it_begins_in_what_that_has_left(tmp_path: Path) -> None:
    alone, s = scene(tmp_path, carved(KERFS), "depth_kerfs")
    (bare,) = alone.operations(s)
    rough = "rough_back: {bit: round6, leave: 2, scallop: 0.5}"
    after, t = scene(tmp_path, carved(rough, KERFS), "depth_kerfs")
    (operation,) = after.operations(t)
    later, u = scene(tmp_path, carved(KERFS, rough), "depth_kerfs")
    (first,) = later.operations(u)
    for row, own, before in zip(operation.rows, bare.rows, first.rows, strict=True):
        assert np.all(own[:, 3] == s.face)
        # A rough back is cut first, wherever it stands in the job.
        assert np.array_equal(before, row)
        middle = np.argmin(np.abs(row[:, 1]))
        depth = float(back_depth(t.job.instrument, row[:1, 0], np.zeros(1))[0])
        # On the centreline 2 mm, its ridges of up to 0.5 mm, and what the thickness grows within the bit.
        assert depth + 2.0 <= row[middle, 3] <= depth + 2.5 + 0.1
        assert np.all(row[:, 3] >= row[:, 2])


@pytest.mark.parametrize(
    ("keys", "words", "key"),
    [
        ("bit: round6", "a kerf's floor would be round", "bit"),
        ("bit: vee60", "vee60 is not a flat bit|a kerf's floor would be round", "bit"),
        ("bit: three, every: 4.4", "leave too little wood between them", "every"),
        ("bit: three, every: 200", "there is no room for a kerf on the neck's shaft", "every"),
        ("bit: huge, every: 60", "huge is as wide as the neck", "bit"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, keys: str, words: str, key: str) -> None:
    huge = "  huge: {shape: flat, diameter: 40, flutes: 2, cutting_length: 20, shank: 8, stickout: 30}\n"
    text = carved(f"depth_kerfs: {{{keys}}}").replace("bits:\n", f"bits:\n{huge}")
    feature, s = scene(tmp_path, text, "depth_kerfs")
    with pytest.raises(FeatureError, match=words) as caught:
        _ = list(feature.operations(s)), list(feature.demands(s))
    assert key == caught.value.key


@pytest.mark.parametrize("keys", ["every: 0", "leave: -1", "down_to: 1", "scallop: 1"])
def test_bad_keys_are_told_with_their_line(tmp_path: Path, keys: str) -> None:
    with pytest.raises(JobError) as told:
        cut(tmp_path, carved(f"depth_kerfs: {{bit: three, {keys}}}"))
    found = told.value.problems[0]
    assert found.line == len(carved(KERFS).splitlines())
    assert keys.split(":")[0] in found.key


def test_from_the_face_they_are_refused(tmp_path: Path) -> None:
    feature, s = scene(tmp_path, carved("rough_back: {bit: round6}", face=(KERFS,)), "depth_kerfs")
    with pytest.raises(FeatureError, match="does not show the neck's back"):
        list(feature.operations(s))


def test_gauges_stand_at_the_kerfs_nearest_to_their_frets(tmp_path: Path) -> None:
    _, s = scene(tmp_path, carved(KERFS), "depth_kerfs")
    kerfs = kerfs_of(s.job)
    assert [12.0 * n for n in range(1, 8)] == pytest.approx(kerfs)
    # Frets 1 and 5 of 300 mm at 16.84 and 75.25: the kerfs at 12 and 72. Fret 9 is not there. Derived.
    found = stations_of(s.job.instrument, kerfs)
    assert [("kerf 1, by fret 1", 12.0), ("kerf 6, by fret 5", 72.0), ("heel", 110.0)] == [(p.name, p.x) for p in found]
    assert ["fret 1", "fret 5", "heel"] == [p.name for p in stations_of(s.job.instrument)]


def test_what_the_carver_reads_is_what_is_cut(tmp_path: Path) -> None:
    outcome = cut(tmp_path, carved("depth_kerfs: {bit: three, every: 40, leave: 0.5}"))
    assert [] == said(outcome)
    table = kerfs_table(outcome)
    instrument = outcome.job.instrument
    assert ["40.00", "80.00"] == [row[1] for row in table.rows]
    for number, (name, x, deep, under) in enumerate(table.rows, 1):
        assert str(number) == name
        depth = float(back_depth(instrument, np.array([float(x)]), np.zeros(1))[0])
        # Within the bit's radius the back grows a little: 1 mm of thickness over the shaft.
        assert depth + 0.5 == pytest.approx(float(under), abs=0.03)
        assert 18.5 - depth - 0.5 == pytest.approx(float(deep), abs=0.03)
    page = handwork_page(outcome)
    assert "Kerfs on the centreline, mm, depths from the " in page
    assert "until the last trace of each is gone" in page


CASES = {
    "after a rough back": carved("rough_back: {bit: round6, leave: 2}", KERFS, parts=(HEEL, HEAD, VOLUTE)),
    "soft vee": carved(KERFS, back="soft vee", parts=(HEEL,)),
    "plain, left-handed": carved(KERFS, parts=(), hand="left"),
    "inches": carved(KERFS, units="in"),
    "one way": carved("depth_kerfs: {bit: three, every: 12, direction: climb}"),
    "after facets": carved("facets: {bit: round4, leave: 1.5, planes: 4}", KERFS),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_they_are_cut_and_passed_by_the_product_s_own_judge(tmp_path: Path, name: str) -> None:
    assert [] == said(cut(tmp_path, CASES[name]))
