"""Wood between a cut from the face and what the back's programs took, in blocks whose least wall is a closed form."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.judging import judged
from tests.support.made import laid_out, made
from toolpaths.job.changes import Changes
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.finding import Severity
from toolpaths.verification.wall_between_sides import BLOCK, _least

GLUE = 20.0
BOX = (-20.0, -15.0, 40.0, 15.0)
CASES = Path(__file__).parents[2] / "cases"
CASE = CASES / "kerfed_neck.yaml"


def level(pitch: float, top: float, *cuts: tuple[tuple[float, float, float, float], float]) -> DepthMap:
    """A block's map with boxes cut down to a height."""
    out = DepthMap.over(BOX, top, pitch)
    heights = out.heights.copy()
    for (x0, y0, x1, y1), z in cuts:
        inside = np.ix_((out.ys > y0) & (out.ys < y1), (out.xs > x0) & (out.xs < x1))
        heights[inside] = z
    return replace(out, heights=heights)


def least(slot: tuple[float, float, float, float], depth: float, kerf: tuple[float, float, float, float], left: float,
          pitch: float, limit: float = 3.0) -> tuple[float, tuple[float, float]] | None:  # fmt: skip
    """A slot in the face, `depth` deep, and a kerf in the back that leaves `left` above the face's plane."""
    mirrored = (kerf[0], -kerf[3], kerf[2], -kerf[1])
    below, above = level(pitch, GLUE, (slot, GLUE - depth)), level(pitch, GLUE, (mirrored, left))
    return _least(shapely.box(*slot), shapely.box(*kerf), (below, above), GLUE, limit)


@settings(max_examples=25)
@given(depth=st.floats(3.0, 9.0), wood=st.floats(0.2, 2.9), y=st.floats(-8.0, 8.0), pitch=st.sampled_from([0.25, 0.5]))
def test_a_kerf_straight_over_a_slot_leaves_what_is_between_their_floors(
    depth: float, wood: float, y: float, pitch: float
) -> None:
    found = least((0.0, y - 2.0, 30.0, y + 2.0), depth, (10.0, -12.0, 13.0, 12.0), depth + wood, pitch)
    assert found is not None
    assert wood == pytest.approx(found[0], abs=1e-4)
    x, at = found[1]
    assert 10 - BLOCK - pitch <= x <= 13 + BLOCK + pitch
    assert abs(at - y) <= 2 + BLOCK + pitch


@settings(max_examples=25)
@given(
    depth=st.floats(3.0, 9.0),
    up=st.floats(-4.0, 2.0),
    aside=st.floats(0.3, 2.5),
    pitch=st.sampled_from([0.1, 0.25, 0.5]),
)
def test_a_cut_aside_leaves_the_distance_of_the_nearest_edges(
    depth: float, up: float, aside: float, pitch: float
) -> None:
    # Straight aside where the columns overlap in height, else the hypotenuse. Each of two walls stands anywhere
    # between two middles of cells: a cell too little or too much in all.
    true = math.hypot(aside, max(up, 0.0))
    found = least((0.0, -2.0, 10.0, 2.0), depth, (10.0 + aside, -6.0, 13.0 + aside, 6.0), depth + up, pitch)
    if found is None:
        assert true > 3.0 - pitch
    else:
        assert math.hypot(max(aside - pitch, 0.0), max(up, 0.0)) - 1e-4 <= found[0]
        assert found[0] <= math.hypot(aside + pitch, max(up, 0.0)) + 1e-4


def test_from_the_limit_on_there_is_nothing_to_say() -> None:
    assert least((0.0, -2.0, 30.0, 2.0), 5.0, (10.0, -12.0, 13.0, 12.0), 8.1, 0.25) is None
    assert least((0.0, -2.0, 10.0, 2.0), 5.0, (13.6, -12.0, 16.0, 12.0), 4.0, 0.25) is None
    assert least((0.0, -2.0, 10.0, 2.0), 5.0, (30.0, -12.0, 32.0, 12.0), 1.0, 0.25) is None


def test_what_is_cut_outside_of_both_regions_does_not_count() -> None:
    below = level(0.25, GLUE, ((0.0, -2.0, 10.0, 2.0), 15.0), ((0.0, 5.0, 10.0, 8.0), 2.0))
    above = level(0.25, GLUE, ((0.0, -12.0, 10.0, 12.0), 7.5))
    lost = shapely.box(0, -12, 10, 12)
    found = _least(shapely.box(0, -2, 10, 2), lost, (below, above), GLUE, 3.0)
    assert found is not None
    # 7.5 - 5. The deep box beside is no part of the cut asked about.
    assert 2.5 == pytest.approx(found[0], abs=1e-4)


def lowered(text: str, by: float) -> str:
    """Every height below 15 mm in a program's text, so much lower."""

    def lower(match: re.Match[str]) -> str:
        z = float(match[1])
        return f"Z{z - by:.3f}".rstrip("0").rstrip(".") if z < 15 else match[0]

    return re.sub(r"Z(-?\d+(?:\.\d+)?)", lower, text)


@pytest.mark.slow
def test_a_kerf_program_lowered_by_hand_is_stopped_with_its_place() -> None:
    changes = Changes(pitch=0.5)
    whole = made(CASE, changes)
    assert [] == [f for f in whole.findings if f.code == "wall-too-thin"]
    programs = [program for _, program in laid_out(CASE, changes).own]
    (index,) = (i for i, p in enumerate(programs) if "depth_kerfs" in p.text and "rough_back" not in p.name)
    found = [f for f in judged(CASE, index, lowered(programs[index].text, 6.0), changes) if f.code == "wall-too-thin"]
    assert found
    one = found[0]
    assert ("depth_kerfs", Severity.stop) == (one.feature, one.severity)
    assert one.said.wrong.startswith("rod channel is near kerf ")
    assert one.x is not None
    assert min(abs(one.x - 20 * n) for n in range(1, 5)) <= 1.6 + 0.5
    assert abs(float(one.y or 0.0)) <= 2.6
    # Other programs of the set are not asked about it.
    other = next(i for i, p in enumerate(programs) if "bed_bores" in p.text)
    assert [] == [f for f in judged(CASE, other, programs[other].text, changes) if f.code == "wall-too-thin"]


def test_a_bolt_near_the_heel_s_seat_is_told_with_what_helps(tmp_path: Path) -> None:
    # The heel is 20 - 5 = 15 thick without the board: a hole 13.5 deep leaves 1.5, where 2 must be left.
    text = (CASES / "neck_faces.yaml").read_text(encoding="utf-8")
    assert "depth: 8, at: [[115, 13]" in text
    path = tmp_path / "job.yaml"
    path.write_text(text.replace("depth: 8, at: [[115, 13]", "depth: 13.5, at: [[115, 13]"), encoding="utf-8")
    found = [f for f in made(path, Changes(pitch=0.5)).findings if " is near " in f.said.wrong]
    assert {("heel_face", Severity.stop)} == {(f.feature, f.severity) for f in found}
    assert [1, 2] == [
        n for n in (1, 2) if any(f"bolt {n} is near " in f.said.wrong and "1.50 mm" == f.said.measured for f in found)
    ]
    assert all("thicken the heel" in f.said.todo and "leave more" not in f.said.todo for f in found)
