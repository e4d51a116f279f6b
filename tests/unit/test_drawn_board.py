"""A board with drawings, the whole way: nothing stops it, the volumes are those of the shapes, faults are found."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.support.made import made as make
from toolpaths.geometry.drawings_in.drawing import areas, read_drawing
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
JOB = ROOT / "tests" / "cases" / "drawn_board.yaml"
DRAWINGS = ROOT / "tests" / "cases" / "drawings"
DEMO = ROOT / "demo_jobs" / "drawings"


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return make(JOB, Changes(pitch=0.1))


def removed(outcome: Outcome, name: str) -> float:
    return next(f.removed_mm3 for f in outcome.setups[0].features if f.name == name)


def stops(outcome: Outcome) -> list[tuple[str, str]]:
    return [(f.code, f.feature) for f in outcome.findings if f.severity is Severity.stop]


def test_nothing_stops_it(outcome: Outcome) -> None:
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note]


def test_a_medallion_s_pocket_is_its_ring(outcome: Outcome) -> None:
    # A disc of radius 11 less a block of 10 x 7 with corners of 1.5, 1 deep; by hand.
    area = math.pi * 121 - (70 - 1.5**2 * (4 - math.pi))
    assert area == pytest.approx(removed(outcome, "pocket 2"), rel=2e-3)


def test_a_leaf_s_pocket_is_what_a_round_bit_reaches_of_it(outcome: Outcome) -> None:
    (leaf,) = areas(read_drawing(DEMO / "leaf.svg"))
    reached = leaf.shape().buffer(-1.5875 / 2, 64).buffer(1.5875 / 2, 64)
    assert 1.2 * reached.area == pytest.approx(removed(outcome, "pocket"), rel=2e-3)


def test_lines_of_a_flat_bit_are_as_wide_as_it(outcome: Outcome) -> None:
    lines = read_drawing(DEMO / "heron_lines.dxf", "LINES").as_lines()
    band = shapely.union_all([shapely.LineString(points).buffer(1.5875 / 2, 32) for points, _ in lines])
    assert 0.6 * band.area == pytest.approx(removed(outcome, "engraving 2"), rel=5e-3)


def test_lines_of_a_v_bit_have_its_section(outcome: Outcome) -> None:
    lines = read_drawing(DRAWINGS / "medallion.svg", "lines").as_lines()
    length = 0.8 * sum(float(np.sum(np.hypot(*np.diff(points, axis=0).T))) for points, _ in lines)
    # 0.5 deep, a tip of 0.1, 60 degrees: a trapezium 0.1 and 0.1 + 2 * 0.5 tan 30 wide; half a cone at two free ends
    # (a frustum: pi h (a^2 + a b + b^2) / 3 of radii a, b), and the two lines cross nowhere.
    wide = 0.1 + math.tan(math.radians(30))
    a, b = 0.05, wide / 2
    section, ends = 0.5 * (0.1 + wide) / 2, math.pi * 0.5 * (a * a + a * b + b * b) / 3
    assert length * section + ends == pytest.approx(removed(outcome, "engraving"), rel=0.02)


def faulty(outcome: Outcome, tmp_path: Path, program: str, old: str, new: str) -> Outcome:
    text = next(p.text for p in outcome.programs if program in p.name)
    assert old in text
    path = tmp_path / next(p.name for p in outcome.programs if program in p.name)
    path.write_text(text.replace(old, new))
    return verify(JOB, [path], Changes(pitch=0.2))


def test_a_cut_across_an_island_is_a_gouge(outcome: Outcome, tmp_path: Path) -> None:
    text = next(p.text for p in outcome.programs if "sixteenth" in p.name)
    last = [line for line in text.splitlines() if line.startswith("(") and "rim" in line][-1]
    cut = f"{last}\nG0 Z20\nG0 X46 Y0\nG1 Z5.5 F300\nG1 Z4.5 F100\nG1 X54 F300\nG0 Z20"
    found = faulty(outcome, tmp_path, "sixteenth", last, cut)
    assert ("gouge", "pocket 2") in stops(found)


def test_lines_not_deep_enough_are_uncut(outcome: Outcome, tmp_path: Path) -> None:
    # Every descent to the floor ends 0.15 mm above it.
    found = faulty(outcome, tmp_path, "vee60", "Z4.5 I", "Z4.65 I")
    assert ("uncut", "engraving") in stops(found)


def test_lines_too_deep_are_a_gouge_for_they_become_too_wide(outcome: Outcome, tmp_path: Path) -> None:
    found = faulty(outcome, tmp_path, "vee60", "Z4.5 I", "Z4.35 I")
    assert ("gouge", "engraving") in stops(found)
