"""`truss_rod_channel` and `reinforcement_slots` take what they leave out from the instrument's rod and bars."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError, Problem
from toolpaths.features.neck_kinds.reinforcement_slots import ReinforcementSlots
from toolpaths.features.neck_kinds.truss_rod_channel import TrussRodChannel
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.load import load_job
from toolpaths.target_shape.demand import ArcFloor, Demand, Level
from toolpaths.verification.finding import Severity

CHORD = 5e-4
"""Rounded ends are chords within 0.0002 mm."""
JOB = """\
title: Bought rod
units: mm
part: neck
machine: bench-router
wood: hard maple
instrument: own.yaml
stock: {length: 600, width: 90, thickness: 25}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 175
    hold: tape
    features:
      - truss_rod_channel: {bit: eighth%s}
      - reinforcement_slots: {bit: eighth, offset: 8%s}
"""
INSTRUMENT = """\
units: mm
scale_length: 584
frets: 19
strings: 4
board: {width: {nut: 36, 12: 44}, overhang: 8, thickness: 6}
neck:
  thickness: {1: 21, 12: 22}
  heel: {from: 330, to: 400, width: 52, thickness: 25, blend: 20}
  headstock: {length: 150, width: 66, thickness: 18}
%s%s"""
ROD = "kind: double acting, length: 340"
BARS = "width: 3.2, depth: 5.5, length: 280"


def written(folder: Path, rod: str = ROD, bars: str = BARS, channel: str = "", slots: str = "") -> Path:
    """The job, with more keys of its two features; an empty rod or bars is left out of the instrument."""
    path = folder / "job.yaml"
    path.write_text(JOB % (channel and f", {channel}", slots and f", {slots}"), encoding="utf-8")
    (folder / "own.yaml").write_text(
        INSTRUMENT % (rod and f"  rod: {{{rod}}}\n", bars and f"  bars: {{{bars}}}\n"), encoding="utf-8"
    )
    return path


def cuts(path: Path) -> dict[CutKind, Demand]:
    layout = lay_out(path, Changes())
    return {d.kind: d for d in layout.target.demands["face"]}


def faults(path: Path) -> list[Problem]:
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes())
    return list(caught.value.problems)


def test_a_channel_is_as_its_rod_wants_it(tmp_path: Path) -> None:
    found = cuts(written(tmp_path))
    channel, pocket = found[CutKind.rod_channel], found[CutKind.adjuster_pocket]
    # 6.35 wide and 9.3 deep: 0.05 wider, 0.2 deeper; 340 and 1 over all from x 4, the last 20 in the pocket.
    x0, y0, _, y1 = channel.asked.bounds
    assert (4.0, 6.4) == pytest.approx((x0, y1 - y0), abs=CHORD)
    assert isinstance(channel.floor, Level)
    assert 25 - 9.5 == pytest.approx(channel.floor.z, abs=CHORD)
    assert (325.0, 345.0) == pytest.approx((pocket.asked.bounds[0], pocket.asked.bounds[2]), abs=CHORD)
    assert 12.0 == pytest.approx(pocket.across, abs=CHORD)


def test_a_bent_rod_lies_on_an_arc_and_is_turned_at_the_nut(tmp_path: Path) -> None:
    found = cuts(written(tmp_path, rod="kind: single bent, length: 340"))
    floor, pocket = found[CutKind.rod_channel].floor, found[CutKind.adjuster_pocket]
    assert isinstance(floor, ArcFloor)
    # 8.8 and 0.2 at its ends, 2 more in the middle.
    assert (25 - 9.0, 25 - 11.0) == pytest.approx((floor.ends, floor.middle), abs=CHORD)
    assert (-26.0, -6.0) == pytest.approx((pocket.asked.bounds[0], pocket.asked.bounds[2]), abs=CHORD)
    # 341 over all, 20 of it before x -6.
    assert 315.0 == pytest.approx(found[CutKind.rod_channel].asked.bounds[2], abs=CHORD)


def test_slots_are_as_their_bars_want_them(tmp_path: Path) -> None:
    slot = cuts(written(tmp_path))[CutKind.bar_slot]
    x0, y0, x1, y1 = slot.asked.bounds
    # 3.2 and 0.15 for glue; 280 between the round ends of a slot that begins at 12.
    assert (12.0, 12 + 280 + 3.35, 3.35) == pytest.approx((x0, x1, y1 - y0), abs=CHORD)
    assert 25 - 5.5 == pytest.approx(slot.floor.z, abs=CHORD)  # type: ignore[attr-defined]


def test_a_key_of_the_feature_wins(tmp_path: Path) -> None:
    found = cuts(written(tmp_path, channel="width: 7, depth: 10, from: 6, to: 350, adjuster: none",
                         slots="width: 3.6, depth: 6, from: 20, to: 310"))  # fmt: skip
    assert CutKind.adjuster_pocket not in found
    channel, slot = found[CutKind.rod_channel], found[CutKind.bar_slot]
    assert (6.0, 350.0, 7.0) == pytest.approx(
        (channel.asked.bounds[0], channel.asked.bounds[2], channel.across), abs=CHORD
    )
    assert (20.0, 310.0, 3.6) == pytest.approx((slot.asked.bounds[0], slot.asked.bounds[2], slot.across), abs=CHORD)


def test_what_is_given_moves_what_follows_from_it(tmp_path: Path) -> None:
    found = cuts(written(tmp_path, channel="from: fret 1", slots="from: fret 2"))
    # 584 (1 - 2^(-1/12)) = 32.777 and 584 (1 - 2^(-2/12)) = 63.715.
    assert 32.777 + 341 == pytest.approx(found[CutKind.adjuster_pocket].asked.bounds[2], abs=1e-3)
    assert 63.715 + 283.35 == pytest.approx(found[CutKind.bar_slot].asked.bounds[2], abs=1e-3)


def test_a_channel_of_its_own_arc_needs_no_depth(tmp_path: Path) -> None:
    floor = cuts(written(tmp_path, channel="floor: {ends: 9.4, middle: 10}"))[CutKind.rod_channel].floor
    assert isinstance(floor, ArcFloor)


@pytest.mark.parametrize(
    ("keys", "key", "problem", "hint"),
    [
        (
            {"rod": ""},
            "width",
            "`width`, `depth`, `from` and `to` are not given, and the instrument's neck has no `rod` to take it from",
            "write `width: 6.40 mm, depth: 9.50 mm, from: 4.00 mm, to: 350.00 mm` here, or `rod: {kind: double acting, "
            "length: 440.00 mm}` under `neck` in the instrument",
        ),
        ({"rod": "", "channel": "width: 6.4, floor: {ends: 9, middle: 10}, from: 4"}, "to", "`to` is not given",
         "write `to: 350.00 mm` here"),
        (
            {"bars": ""},
            "width",
            "`width`, `depth`, `from` and `to` are not given, and the instrument's neck has no `bars`",
            "or `bars: {width: 3.20 mm, depth: 6.00 mm, length: 300.00 mm}` under `neck`",
        ),
        ({"bars": "", "slots": "width: 3.4, depth: 5, from: 9"}, "to", "`to` is not given",
         "write `to: 330.00 mm` here"),
        ({"channel": "from: fret 30"}, "from", "there is no fret 30", "the instrument has 19 frets"),
        ({"slots": "from: fret 30"}, "from", "there is no fret 30", "the instrument has 19 frets"),
        ({"channel": "width: 6.3"}, "width", "the rod is 6.35 mm wide, and the channel 6.30 mm", "6.35 mm wide"),
        ({"channel": "depth: 9.2"}, "depth", "the rod is 9.30 mm deep, and the channel 9.20 mm", "9.30 mm deep"),
        (
            {"rod": "kind: single bent, length: 340", "channel": "floor: {ends: 8.7, middle: 11}"},
            "floor",
            "the rod is 8.80 mm deep at its ends, and the channel 8.70 mm",
            "8.80 mm deep or more, or leave `floor` out",
        ),
        (
            {"channel": "to: 320"},
            "to",
            "the rod is 340.00 mm long, and the channel with its pocket 336.00 mm",
            "let it reach 4.00 mm further",
        ),
        ({"slots": "width: 3.19"}, "width", "the bars are 3.20 mm wide, and the slots 3.19 mm", "3.20 mm wide or more"),
        ({"slots": "depth: 5.4"}, "depth", "the bars are 5.50 mm deep, and the slots 5.40 mm", "5.50 mm deep or more"),
        ({"slots": "to: 290"}, "to", "the bars are 280.00 mm long, and the slots 274.65 mm", "5.35 mm further"),
    ],
)  # fmt: skip
def test_what_does_not_hold_is_refused_with_the_remedy(
    keys: dict[str, str], key: str, problem: str, hint: str, tmp_path: Path
) -> None:
    path = written(tmp_path, **keys)
    (told,) = faults(path)
    of = "reinforcement_slots" if {"slots", "bars"} & set(keys) else "truss_rod_channel"
    line = next(i for i, text in enumerate(path.read_text().splitlines(), 1) if of in text)
    assert (line, True, True) == (told.line, problem in told.problem, hint in told.hint), told
    assert of in told.key


def test_what_just_holds_is_taken(tmp_path: Path) -> None:
    assert cuts(
        written(tmp_path, channel="width: 6.35, depth: 9.3, to: 324", slots="width: 3.2, depth: 5.5, to: 295.2")
    )
    # A channel that runs out of the heel's end is as long as it likes.
    assert cuts(written(tmp_path, channel="to: 300, adjuster: none, open: true"))


def test_depth_and_arc_together_are_refused(tmp_path: Path) -> None:
    (told,) = faults(written(tmp_path, channel="depth: 9.5, floor: {ends: 9, middle: 10}"))
    assert "not both" in told.problem


@pytest.mark.parametrize(
    ("rod", "problem"),
    [
        ("kind: triple, length: 340", "double acting"),
        ("kind: double acting, length: 0", "must be more than 0"),
        ("kind: double acting", "length"),
    ],
)
def test_a_fault_of_the_rod_names_its_line(rod: str, problem: str, tmp_path: Path) -> None:
    path = written(tmp_path, rod=rod)
    with pytest.raises(JobError) as caught:
        load_job(path)
    (told,) = caught.value.problems
    line = next(i for i, text in enumerate((tmp_path / "own.yaml").read_text().splitlines(), 1) if "rod:" in text)
    assert (line, "own.yaml") == (told.line, Path(told.file).name)
    assert problem in f"{told.key} {told.problem} {told.hint}"


def test_the_loaded_job_says_what_is_cut(tmp_path: Path) -> None:
    channel, slots = load_job(written(tmp_path)).job.setups[0].features
    assert isinstance(channel, TrussRodChannel)
    assert isinstance(slots, ReinforcementSlots)
    assert (6.4, 9.5) == pytest.approx((channel.width, channel.depth))
    assert (3.35, 5.5) == pytest.approx((slots.width, slots.depth))
    assert (14, 15) == (channel.line, slots.line)


def test_a_program_changes_with_its_rod_and_with_nothing_else(tmp_path: Path) -> None:
    plain = load_job(written(tmp_path)).job_hash
    assert plain != load_job(written(tmp_path, rod="kind: double acting, length: 330")).job_hash
    said = "width: 6.4, depth: 9.5, from: 4, to: 325, adjuster: {end: heel, width: 12, length: 20, depth: 11}"
    same = load_job(written(tmp_path, channel=said)).job_hash
    assert same == load_job(written(tmp_path, rod="", channel=said)).job_hash


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["double acting", "single bent", "two-way wheel"])
def test_each_kind_makes_a_neck_that_may_be_cut(kind: str, tmp_path: Path) -> None:
    found = make(written(tmp_path, rod=f"kind: {kind}, length: 330"), Changes(pitch=0.5))
    assert [] == [f"{f.code}: {f.message}" for f in found.findings if f.severity is Severity.stop]
