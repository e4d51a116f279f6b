"""Drills and bull bits in jobs, the whole way: what they may do is cut and proven, what they may not is refused."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

CASES = Path(__file__).parents[1] / "cases"
BITS = """bits:
  twist: {shape: drill, diameter: 4, cutting_length: 30, shank: 4, stickout: 36, material: HSS, max_rpm: 9000}
  tray: {shape: bull, diameter: 20, corner: 3, cutting_length: 14, shank: 6, stickout: 28, max_rpm: 14000}
"""


def job(folder: Path, *exchanged: tuple[str, str]) -> Path:
    text = (CASES / "short_board.yaml").read_text().replace("bits:\n", BITS)
    for old, new in exchanged:
        assert old in text
        text = text.replace(old, new)
    path = folder / "job.yaml"
    path.write_text(text)
    return path


PINS = "- pin_bores: {bit: three, diameter: 4, at: [[-11, 0], [96, 0]]}"


@pytest.fixture(scope="module")
def drilled(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    pins = "- pin_bores: {bit: twist, diameter: 4, depth: 3, at: [[-11, 0], [96, 0]]}"
    return make(job(tmp_path_factory.mktemp("drilled"), (PINS, pins)), Changes(pitch=0.1))


def test_a_drill_makes_blind_bores_that_nothing_stops(drilled: Outcome) -> None:
    assert [] == [f.message for f in drilled.findings if f.feature == "pin_bores" and f.severity is not Severity.note]
    assert [] == [f.message for f in drilled.findings if f.severity is Severity.stop]


def test_a_drilled_bore_is_a_cylinder_to_its_depth_and_a_cone_below(drilled: Outcome) -> None:
    # Two holes: pi 2^2 3 + pi 2^2 (2 / tan 59) / 3 each, by hand.
    each = math.pi * 4 * 3 + math.pi * 4 * (2 / math.tan(math.radians(59))) / 3
    found = next(f.removed_mm3 for f in drilled.setups[0].features if f.name == "pin_bores")
    assert 2 * each == pytest.approx(found, rel=0.01)


def test_a_drill_pecks_its_diameter_at_a_time_and_never_goes_sideways(drilled: Outcome) -> None:
    text = next(p.text for p in drilled.programs if "twist" in p.name)
    lines = [line for line in text.splitlines() if line.startswith(("G1", "X", "Y", "Z"))]
    assert lines
    # Stock top is zero and the face lies 1.2 lower; the depth is 3, the point 2 / tan 59 = 1.202: Z -5.402.
    assert any("Z-5.402" in line for line in lines)
    assert not any(("X" in line or "Y" in line) and line.startswith("G1") for line in lines)


def test_a_bull_bit_planes_level(tmp_path: Path) -> None:
    path = job(tmp_path, ("- plane: {bit: planer, leave: 5}", "- plane: {bit: tray, leave: 5, step_over: 0.5}"))
    outcome = make(path, Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.feature == "plane" and f.severity is not Severity.note]


THROUGH = (PINS, PINS.replace("three", "twist"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            *THROUGH,
            "the drill's point is 1.20 mm long and must go right through, but the bed may be cut only 0.20 mm deep",
        ),
        (
            PINS,
            "- pin_bores: {bit: twist, diameter: 5, depth: 3, at: [[-11, 0]]}",
            "twist is a drill of 4.00 mm and makes holes of its own diameter, but one hole is to be 5.00 mm",
        ),
        (
            PINS,
            "- pin_bores: {bit: twist, diameter: 4, depth: 4, at: [[-11, 0]]}",
            "the drill's point goes 1.20 mm deeper than the hole and would come out below",
        ),
        (
            PINS,
            "- pin_bores: {bit: twist, depth: 3, at: [{x: -11, y: 0, diameter: 4, relief: 1}]}",
            "twist is a drill and makes round holes only, and one hole has a `relief`",
        ),
        (
            "score_lines: {bit: scorer",
            "score_lines: {bit: twist",
            "twist is a drill: it only goes straight down, in bores of its own diameter",
        ),
        (
            "score_lines: {bit: scorer",
            "score_lines: {bit: ball",
            "ball is a ball bit: its line would be round at the bottom",
        ),
        (
            "marker_pockets: {bit: three",
            "marker_pockets: {bit: small ball",
            "small ball is a ball bit: its floor is round and rises 1.59 mm up to a wall; the floor would not be level",
        ),
        (
            "outline: {bit: six",
            "outline: {bit: bull",
            "bull is a bull bit: it leaves a corner of 3.17 mm radius at the foot of every wall; the edge would not be "
            "square",
        ),
        (
            "outline: {bit: six",
            "outline: {bit: carver",
            "carver is a tapered ball bit: its floor is round and its walls slope; the edge would not be square",
        ),
        (
            "plane: {bit: planer, leave: 5}",
            "plane: {bit: tray, leave: 5, step_over: 0.8}",
            "tray is a bull bit, flat over 14.00 mm: passes 16.00 mm apart would leave ridges between them",
        ),
        (
            "plane: {bit: planer, leave: 5}",
            "plane: {bit: drill, leave: 5}",
            "drill is a drill: it only goes straight down, in bores of its own diameter; it cannot plane",
        ),
    ],
)
def test_what_a_shape_cannot_leave_is_refused_and_why(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        make(job(tmp_path, (old, new)), Changes(pitch=0.4))
    assert [said] == [p.problem for p in caught.value.problems]


def test_where_the_bed_may_be_cut_a_drill_goes_through(tmp_path: Path) -> None:
    machine = (Path(__file__).parents[2] / "machines" / "bench-router.yaml").read_text()
    (tmp_path / "mine.yaml").write_text(re.sub(r"bed_allowance: \S+", "bed_allowance: 1.5", machine))
    outcome = make(job(tmp_path, THROUGH, ("machine: bench-router", "machine: mine.yaml")), Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]


def test_bolts_tuners_and_the_bed_are_drilled_too(tmp_path: Path) -> None:
    text = (CASES / "headstock.yaml").read_text()
    twist = (
        "  twist: {shape: drill, diameter: 6, cutting_length: 40, shank: 6, stickout: 48, material: HSS, max_rpm: 9000}"
    )
    for old, new in (
        ("setups:\n", f"bits:\n{twist}\nsetups:\n"),
        ("tuner_bores: {bit: six, diameter: 8,", "tuner_bores: {bit: twist, diameter: 6, depth: 8,"),
        (
            "{bit: six, diameter: 7, depth: 10, counterbore: {diameter: 12, depth: 3},",
            "{bit: twist, diameter: 6, depth: 9,",
        ),
    ):
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "neck.yaml"
    path.write_text(text)
    outcome = make(path, Changes(pitch=0.1))
    bored = [f for f in outcome.findings if f.feature in ("tuner_bores", "bolt_bores")]
    assert [] == [f.message for f in bored if f.severity is not Severity.note]
