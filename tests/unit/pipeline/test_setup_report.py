"""What was taken and what is left, from maps and shapes with closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, RACK, context, flat
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.geometry.loop import Loop, box_polygon
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.setup_report import feature_reports, handwork, volume_between
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.target_shape.demand import Demand, Level

BOX = (0.0, 0.0, 40.0, 20.0)


def lowered(by: float, cells: slice) -> tuple[DepthMap, DepthMap]:
    blank = DepthMap.over(BOX, 6.0, 0.5)
    heights = blank.heights.copy()
    heights[:, cells] -= np.float32(by)
    return blank, blank.with_heights(heights)


def test_a_volume_is_the_cells_times_what_each_lost() -> None:
    # Ten columns of 40 cells of 0.5 mm: 5 x 20 mm, 1.5 deep.
    assert 5 * 20 * 1.5 == pytest.approx(volume_between(*lowered(1.5, slice(10, 20))))


def test_what_lies_below_the_bed_is_no_wood() -> None:
    assert 5 * 20 * 6.0 == pytest.approx(volume_between(*lowered(6.2, slice(10, 20))))


def test_nothing_cut_is_no_volume() -> None:
    blank = DepthMap.over(BOX, 6.0, 0.5)
    assert 0.0 == volume_between(blank, blank)


def demand(asked: object, radius: float) -> Demand:
    return Demand("pocket", 31, "face", "pocket", asked, Level(4.0), radius, kind=CutKind.pocket)  # type: ignore[arg-type]


def test_corners_that_the_round_bit_leaves_are_work_for_the_hands() -> None:
    s = context()
    (work,) = handwork([s], {"face": (demand(box_polygon(0, 0, 20, 10), 1.5),)}, "pocket")
    assert "Square the corners of pocket: the bit left a radius of 1.50 mm." == work.what
    # r^2 (1 - pi/4) in each of four corners, and r (sqrt 2 - 1) along the diagonal; derived.
    assert 4 * 1.5**2 * (1 - math.pi / 4) == pytest.approx(work.area_mm2, rel=0.01)
    assert 1.5 * (math.sqrt(2) - 1) == pytest.approx(work.reach_mm)


def test_a_round_pocket_leaves_nothing_for_the_hands() -> None:
    assert () == handwork([context()], {"face": (demand(Loop.circle(10, 5, 3).shape(), 1.5),)}, "pocket")


def test_what_is_left_comes_in_the_order_of_the_work() -> None:
    s = context(Outline(bit="quarter", tabs=Tabs(count=2, length=8, height=1.5)))
    found = handwork([s], {"face": tuple(s.setup.features[0].demands(s))})
    assert ["board", "outline", "board", "board"] == [w.feature for w in found]
    begins = [
        "Plane the board's blank by hand",
        "Saw through the 2 tabs",
        "Before a fret goes in, lay a rule",
        "Fit the frets",
    ]
    assert begins == [next(words for words in begins if w.what.startswith(words)) for w in found]


@pytest.mark.parametrize("runout", [0.0, 0.02, 0.05])
@pytest.mark.parametrize("name", ["scorer", "vee60"])
def test_the_width_of_a_line_has_the_runout_in_it_unless_the_bit_was_measured(name: str, runout: float) -> None:
    line = ScoreLines(bit=name, depth=0.5)
    # A scorer of 0.6 mm; 60 degrees with a tip of 0.1: 0.1 + 2 x 0.5 tan 30. Elementary geometry.
    plain = {"scorer": 0.6, "vee60": 0.1 + math.tan(math.radians(30))}[name]
    changes: list[tuple[dict[str, float], float]] = [({}, runout), ({"runout": 0.03}, 0.03)]
    if name == "scorer":
        changes.append(({"measured_diameter": 0.6}, 0.0))
    for change, wider in changes:
        bits = {**RACK, name: RACK[name].model_copy(update=change)}
        if name == "scorer":
            bits[name] = flat(0.6, cutting_length=2.5, shank=3.175, **change)
        one = context(line, bits=bits, machine=BENCH.model_copy(update={"runout": runout}))
        (feature,) = one.setup.features
        blank = DepthMap.over(one.stock_box, one.face, 1.0)
        demands, operations = list(feature.demands(one)), list(feature.operations(one))
        (row,) = feature_reports(one, operations, demands, blank, {}, {})
        assert pytest.approx(plain + wider, abs=1e-9) == row.width_mm
