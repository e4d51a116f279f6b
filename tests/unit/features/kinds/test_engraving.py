"""`engraving` asks for drawn lines as wide as the bit cuts at that depth, and follows them with the bit's middle."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.said import said
from tests.support.setup_builder import context
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.engraving import Engraving
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Carve, Engrave
from toolpaths.pipeline.plan import plan
from toolpaths.target_shape.bevel_floor import BevelFloor
from toolpaths.target_shape.demand import Groove, Level

PAGE = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
LINE = '<line id="stroke" x1="-10" x2="10"/>'


@pytest.fixture
def engraving(tmp_path: Path) -> Any:
    def made(body: str = LINE, headstock: bool = False, **keys: Any) -> tuple[Engraving, SetupContext]:
        (tmp_path / "a.svg").write_text(f"<svg {PAGE}>{body}</svg>")
        whole = {"bit": "vee60", "drawing": "a.svg", "depth": 0.5, "place": [200, 7], **keys}
        feature = Engraving.model_validate(whole, context={"units": "mm"})
        before: list[Any] = [Plane(bit="planer", leave=6)]
        if headstock:
            before.append(HeadstockFace.model_validate({"bit": "planer", "drop": 1, "from": -5}))
        s = replace(context(*before, feature), folder=tmp_path)
        placed = s.setup.features[-1]
        assert isinstance(placed, Engraving)
        return placed, s

    return made


def stadium(length: float, width: float) -> float:
    """Area of a line as wide as that with round ends: l w + pi w^2 / 4."""
    return length * width + math.pi * width**2 / 4


def test_a_flat_bit_leaves_a_level_line_of_its_width(engraving: Any) -> None:
    feature, s = engraving(bit="sixteenth")
    (d,) = feature.demands(s)
    assert stadium(20, 1.5875) == pytest.approx(d.asked.area, rel=1e-3)
    assert Level(5.5) == d.floor
    assert ("line stroke", 1.5875 / 2) == (d.name, d.radius)


def test_a_v_bit_leaves_a_groove_that_rises_from_the_line(engraving: Any) -> None:
    feature, s = engraving()
    (d,) = feature.demands(s)
    # 2 * 0.5 * tan 30 degrees + a tip of 0.1: facts of the rack's bit, by hand.
    width = 0.67735
    assert stadium(20, width) == pytest.approx(d.asked.area, rel=1e-3)
    assert isinstance(d.floor, Groove)
    # At the line 5.5; at its edge the face; 0.2 from it (0.2 - 0.05) / tan 30 degrees higher.
    aside = np.array([0.0, 0.05, 0.2, width / 2])
    expected = [5.5, 5.5, 5.5 + 0.15 / math.tan(math.radians(30)), 6.0]
    assert expected == pytest.approx(d.floor.height(np.full(4, 205.0), 7 + aside).tolist())
    # Around the end of the line it is a cone.
    assert expected == pytest.approx(d.floor.height(210 + aside * 0.6, 7 + aside * 0.8).tolist())


def test_the_groove_goes_over_with_the_work() -> None:
    from shapely import LineString

    floor = Groove(LineString([(0, 1), (9, 4)]), 5.0, 0.1, 2.0, 1.0)
    x, y = np.linspace(-2, 11, 50), np.linspace(6, -1, 50)
    assert floor.height(x, y).tolist() == pytest.approx(floor.mirrored().height(x, -y).tolist())


def test_beyond_its_reach_a_groove_s_floor_is_level_and_high() -> None:
    from shapely import LineString

    floor = Groove(LineString([(0, 0), (9, 0)]), 5.0, 0.1, 2.0, 1.0)
    assert [5 + 2 * 0.95] * 3 == pytest.approx(
        floor.height(np.array([4.0, 50.0, -3.0]), np.array([1.5, 0, 0])).tolist()
    )
    assert [[5.0, 5.0]] == floor.height(np.array([[1.0, 2.0]]), np.array([[0.0]])).tolist()
    assert [2.0] == floor.slope(np.array([0.0]), np.array([0.0])).tolist()


def test_outlines_are_followed_around_and_islands_too(engraving: Any) -> None:
    feature, s = engraving('<circle id="a" r="5"/><circle id="b" r="2"/>' + LINE)
    (o,) = feature.operations(s)
    assert isinstance(o, Engrave)
    assert ("circle a", "circle b", "line stroke") == o.names
    for path, radius in zip(o.paths[:2], (5, 2), strict=True):
        assert path[0].tolist() == path[-1].tolist()
        assert np.full(len(path), radius) == pytest.approx(np.hypot(*(path - [200, 7]).T), abs=1e-6)
    assert [[190, 7], [210, 7]] == o.paths[2].tolist()
    assert (6.0, 5.5) == (o.top, o.floor)


def test_lines_that_cross_are_no_fault(engraving: Any) -> None:
    feature, s = engraving('<path id="bow" d="M0 0 L10 10 V0 L0 10 Z"/>')
    assert 1 == len(next(feature.operations(s)).paths)
    assert 1 == len(list(feature.demands(s)))


def test_seen_from_the_other_side_lines_are_mirrored(engraving: Any) -> None:
    _, s = engraving()
    left = replace(s, job=s.job.model_copy(update={"handed": "left"}))
    (o,) = [o for batch in plan([left]) for o in batch.operations if isinstance(o, Engrave)]
    assert [[190, -7], [210, -7]] == o.paths[0].tolist()


def test_on_a_lowered_headstock_width_and_entry_count_from_its_face(engraving: Any) -> None:
    feature, s = engraving(headstock=True, place=[-17, 0], depth=1.5, scale=0.5)
    (o,) = feature.operations(s)
    assert (5.0, 4.5) == (o.top, o.floor)
    assert stadium(10, 0.67735) == pytest.approx(next(feature.demands(s)).asked.area, rel=1e-3)


def test_curves_of_a_drawing_made_larger_are_no_coarser(engraving: Any) -> None:
    feature, s = engraving('<ellipse rx="1" ry="0.5"/>', scale=10)
    path = next(feature.operations(s)).paths[0] - [200, 7]
    a, b = path[:-1], path[1:]
    middle = (a + b) / 2
    # Distance of a point from an ellipse, to first order: (f - 1) / |grad f|, f = x^2/100 + y^2/25.
    f = middle[:, 0] ** 2 / 100 + middle[:, 1] ** 2 / 25
    gradient = np.hypot(middle[:, 0] / 50, middle[:, 1] * 2 / 25)
    assert 0.0012 >= float(np.abs((f - 1) / gradient).max())


@pytest.mark.parametrize(
    ("keys", "words", "key"),
    [
        ({"depth": 6}, "it would go through the wood", "depth"),
        ({"depth": 5.9}, "5.90 mm is deeper than the cutting edges of vee60 reach, 5.41 mm", "depth"),
        ({"drawing": "gone.dxf"}, "gone.dxf: there is no file `gone.dxf`", "drawing"),
        ({"layer": "x"}, "a.svg: it has no group with the id `x`", "drawing"),
    ],
)
def test_what_cannot_be_cut_is_refused_by_its_key(engraving: Any, keys: dict[str, Any], words: str, key: str) -> None:
    feature, s = engraving(**keys)
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert (words, key) == (caught.value.problem, caught.value.key)


# Shapes

BLOCK = '<rect id="block" x="-6" y="-2" width="12" height="4"/>'
TAN = math.tan(math.radians(30))


def test_a_shape_s_slopes_come_from_the_distance_to_its_outline_alone(engraving: Any) -> None:
    feature, s = engraving(BLOCK, follow="shapes", depth=2.0)
    (d,) = feature.demands(s)
    assert 48.0 == pytest.approx(d.asked.area)
    assert isinstance(d.floor, BevelFloor)
    # At the edge the face; 0.5 in from it 0.5 / tan 30 degrees down; 2 in the middle would be 3.46 down: 2 at most.
    x, y = np.array([200.0, 200.0, 200.0, 205.5]), np.array([5.001, 5.5, 7.0, 7.0])
    assert [6.0, 6 - 0.5 / TAN, 4.0, 6 - 0.5 / TAN] == pytest.approx(d.floor.height(x, y).tolist(), abs=2e-3)
    # The tip is 0.1 wide: 0.05 / tan 30 degrees stay above a sharp foot.
    assert 0.05 / TAN == pytest.approx(d.scallop)


def test_ridges_that_are_left_on_purpose_are_none_too_much(engraving: Any) -> None:
    feature, s = engraving(BLOCK, follow="shapes", depth=1.0, ridge=0.2)
    assert 0.2 == next(feature.demands(s)).scallop
    assert 0.1 + 2 * 0.2 * TAN == pytest.approx(next(feature.operations(s)).step)


def test_a_shape_is_handed_over_whole_with_its_islands(engraving: Any) -> None:
    feature, s = engraving(BLOCK + '<circle id="eye" r="1"/>', follow="shapes", depth=3)
    (o,) = feature.operations(s)
    assert isinstance(o, Carve)
    assert ("rect block", 1, 6.0, 3.0) == (o.areas[0].name, len(o.areas[0].islands), o.top, o.floor)
    assert (TAN, 0.1) == pytest.approx((o.spread, o.tip))


def test_seen_from_the_other_side_shapes_are_mirrored(engraving: Any) -> None:
    _, s = engraving(BLOCK, follow="shapes")
    left = replace(s, job=s.job.model_copy(update={"handed": "left"}))
    (o,) = [o for batch in plan([left]) for o in batch.operations if isinstance(o, Carve)]
    assert (-9.0, -5.0) == pytest.approx((o.areas[0].outer.points[:, 1].min(), o.areas[0].outer.points[:, 1].max()))


@pytest.mark.parametrize(
    ("body", "keys", "words", "key"),
    [
        (BLOCK, {"bit": "eighth"}, "eighth is not a V-bit, and only a V-bit touches both walls", "bit"),
        (LINE, {}, "a.svg: line stroke is open: it ends at x 10.00 mm, y 0.00 mm", "drawing"),
        (
            BLOCK,
            {"scale": 2.5, "depth": 5.9},
            "5.90 mm is deeper than the cutting edges of vee60 reach, 5.41 mm",
            "depth",
        ),
        (
            BLOCK,
            {"scale": 0.02},
            "nothing in a.svg is wider than the flat of vee60's tip (0.10 mm)",
            "bit",
        ),
        (
            '<circle r="44"/>',
            {"depth": 0.2, "ridge": 0.001},
            "a floor 87.66 mm wide at 0.20 mm would take more than 400 rounds of vee60",
            "depth",
        ),
    ],
)
def test_shapes_that_cannot_be_cut_are_refused(
    engraving: Any, body: str, keys: dict[str, Any], words: str, key: str
) -> None:
    feature, s = engraving(body, **{"follow": "shapes", **keys})
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert (words, key) == (said(caught.value)[: len(words)], caught.value.key)


def test_lines_leave_no_ridges(engraving: Any) -> None:
    feature, s = engraving(ridge=0.1)
    with pytest.raises(FeatureError, match="only shapes have a floor with ridges"):
        list(feature.operations(s))


def test_an_outline_that_is_drawn_twice_is_asked_for_and_cut_once(engraving: Any) -> None:
    one = '<rect id="box" x="-10" width="20" height="8"/>'
    feature, s = engraving(one + one.replace("box", "again") + '<line id="other" x1="-5" x2="5" y1="4" y2="4"/>')
    assert {"rect box", "line other"} == {d.name for d in feature.demands(s)}
    (cut,) = feature.operations(s)
    assert isinstance(cut, Engrave)
    assert 2 == len(cut.paths)
