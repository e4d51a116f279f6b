"""`pocket` asks for the inside of drawn outlines, placed on the instrument, and leaves their islands standing."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.support.said import said
from tests.support.setup_builder import context, near
from toolpaths.common.errors import DrawingError, FeatureError
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.pocket import Pocket
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Clear
from toolpaths.pipeline.plan import plan
from toolpaths.target_shape.demand import Level

PAGE = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
DISC = '<g id="disc"><circle id="rim" cx="0" cy="0" r="8"/></g>'
LINE = '<line id="l" x2="9"/>'
MEDAL = DISC + '<g id="inner"><rect id="block" x="-3" y="-2" width="6" height="4"/></g>'


@pytest.fixture
def pocket(tmp_path: Path) -> Any:
    def made(body: str = DISC, headstock: bool = False, **keys: Any) -> tuple[Pocket, SetupContext]:
        (tmp_path / "a.svg").write_text(f"<svg {PAGE}>{body}</svg>")
        whole = {"bit": "eighth", "drawing": "a.svg", "depth": 1.5, "place": [200, -5], **keys}
        feature = Pocket.model_validate(whole, context={"units": keys.pop("units", "mm")})
        before = [Plane(bit="planer", leave=6)]
        if headstock:
            before.append(HeadstockFace.model_validate({"bit": "planer", "drop": 1, "from": -5}))
        s = replace(context(*before, feature), folder=tmp_path)
        placed = s.setup.features[-1]
        assert isinstance(placed, Pocket)
        return placed, s

    return made


def test_the_area_is_asked_for_at_its_place_and_depth(pocket: Any) -> None:
    feature, s = pocket()
    (d,) = feature.demands(s)
    assert 64 * math.pi == pytest.approx(d.asked.area, rel=1e-4)
    assert (200.0, -5.0) == pytest.approx((d.asked.centroid.x, d.asked.centroid.y), abs=1e-6)
    assert Level(4.5) == d.floor
    assert ("circle rim in group disc", "pocket", 3.175 / 2) == (d.name, d.feature, d.radius)


def test_islands_are_neither_asked_for_nor_cut(pocket: Any) -> None:
    feature, s = pocket(MEDAL)
    (d,) = feature.demands(s)
    assert 64 * math.pi - 24 == pytest.approx(d.asked.area, rel=1e-4)
    (o,) = feature.operations(s)
    assert isinstance(o, Clear)
    assert (200.0, -5.0, 8.0) == pytest.approx(o.areas[0].outer.as_circle())
    (island,) = o.areas[0].islands
    assert (197.0, -7.0, 203.0, -3.0) == pytest.approx(island.shape().bounds)


def test_a_layer_alone_is_cut(pocket: Any) -> None:
    feature, s = pocket(MEDAL, layer="inner", bit="sixteenth")
    (d,) = feature.demands(s)
    assert 24.0 == pytest.approx(d.asked.area)


def test_what_stands_within_an_island_is_a_pocket_of_its_own(pocket: Any) -> None:
    feature, s = pocket(MEDAL + '<circle id="eye" r="1.7"/>', bit="sixteenth")
    demands = {d.name: d.asked.area for d in feature.demands(s)}
    assert {"circle rim in group disc", "circle eye"} == set(demands)
    assert 1.7**2 * math.pi == pytest.approx(demands["circle eye"], rel=1e-3)
    (o,) = feature.operations(s)
    assert (1, 0) == tuple(len(a.islands) for a in o.areas)


def test_it_is_turned_and_scaled_about_the_drawing_s_zero(pocket: Any) -> None:
    feature, s = pocket('<rect x="0" y="-2" width="10" height="2"/>', rotate=90, scale=2, place=[100, 0])
    (d,) = feature.demands(s)
    # A strip 20 x 4 along +x, on the y > 0 side; a quarter turn to the left puts it along +y, on the x < 0 side.
    assert (96.0, 0.0, 100.0, 20.0) == pytest.approx(d.asked.bounds)


def test_the_middle_may_be_the_anchor_and_a_fret_the_place(pocket: Any) -> None:
    feature, s = pocket('<rect x="50" y="70" width="10" height="5"/>', anchor="middle", place=["fret 12", 3])
    (d,) = feature.demands(s)
    assert (325.0, 3.0) == pytest.approx((d.asked.centroid.x, d.asked.centroid.y))  # 650 / 2


def test_lettering_for_the_other_side_is_mirrored(pocket: Any) -> None:
    body = '<polygon points="0,0 10,0 0,-6"/>'
    plain, s = pocket(body, place=[0, 0])
    over, _ = pocket(body, place=[0, 0], mirror=True)
    assert (0.0, 0.0, 10.0, 6.0) == pytest.approx(next(plain.demands(s)).asked.bounds)
    assert (0.0, -6.0, 10.0, 0.0) == pytest.approx(next(over.demands(s)).asked.bounds)


def test_seen_from_the_other_side_islands_go_over_with_their_pocket(pocket: Any) -> None:
    _, s = pocket(MEDAL, place=[200, 9])
    left = replace(s, job=s.job.model_copy(update={"handed": "left"}))
    (o,) = [o for batch in plan([left]) for o in batch.operations if isinstance(o, Clear)]
    assert (200.0, -9.0, 8.0) == pytest.approx(o.areas[0].outer.as_circle())
    assert (197.0, -11.0, 203.0, -7.0) == pytest.approx(o.areas[0].islands[0].shape().bounds)


def test_on_a_lowered_headstock_the_bit_begins_at_its_face(pocket: Any) -> None:
    feature, s = pocket('<circle r="3"/>', headstock=True, place=[-10, 0], depth=2)
    (o,) = feature.operations(s)
    assert (5.0, 4.0) == (o.top, o.floor)


def test_what_is_to_be_laid_in_is_told(pocket: Any) -> None:
    feature, s = pocket(MEDAL)
    (work,) = feature.by_hand(s, near(s))
    assert (
        "Inlay or fill the pockets of a.svg: 177.06 mm², 1.50 mm deep from the face." == work.what
    )  # 64 pi - 24, by hand


def test_what_was_assumed_of_its_size_is_told(pocket: Any, tmp_path: Path) -> None:
    feature, s = pocket()
    (tmp_path / "a.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><circle r="40"/></svg>')
    assert (
        "Measure before cutting: a.svg names no size; 96 of its units are taken as an inch."
        == next(feature.by_hand(s, near(s))).what
    )


@pytest.mark.parametrize(
    ("body", "keys", "words", "key"),
    [
        (DISC, {"bit": "vee60"}, "vee60 is not a flat bit; the floor would not be level", "bit"),
        (DISC, {"depth": 6}, "it would go through the wood", "depth"),
        (DISC, {"place": ["fret 30", 0]}, "there is no fret 30", "place"),
        (LINE, {}, "a.svg: line l is open: it ends at x 9.00 mm, y 0.00 mm, 9.00 mm from where it begins", "drawing"),
        (DISC, {"layer": "rim"}, "a.svg: it has no group with the id `rim`", "drawing"),
        (DISC, {"drawing": "b.dxf"}, "b.dxf: there is no file `b.dxf`", "drawing"),
    ],
)  # fmt: skip
def test_what_cannot_be_cut_is_refused_by_its_key(
    pocket: Any, body: str, keys: dict[str, Any], words: str, key: str
) -> None:
    feature, s = pocket(body, **keys)
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert (words, key) == (said(caught.value), caught.value.key)


def test_nothing_to_cut_on_a_lowered_headstock_is_refused(pocket: Any) -> None:
    feature, s = pocket('<circle r="3"/>', headstock=True, place=[-10, 0], depth=0.5)
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert "a floor 0.50 mm from the finished face is above the wood: nothing would be cut" == caught.value.problem
    assert "give more than 1.00 mm: the wood's surface is so far from that face" == caught.value.hint


def test_a_missing_drawing_fails_its_demands_too(pocket: Any) -> None:
    feature, s = pocket(drawing="gone.svg")
    with pytest.raises(DrawingError, match=r"gone\.svg: there is no file"):
        list(feature.demands(s))
