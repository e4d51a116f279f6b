"""`heel_face` asks for the heel's rectangle, level at the heel's thickness above the plane of the glue face."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import near
from tests.support.turned_neck import HEEL, turned_over
from toolpaths.common.errors import FeatureError
from toolpaths.features.feature import Feature
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.neck_kinds.heel_face import HeelFace
from toolpaths.instrument.necks import back_depth
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Clear
from toolpaths.pipeline.plan import ordered
from toolpaths.target_shape.demand import Level
from toolpaths.toolpath.levels import skimmed


def seat(more: dict[str, Any] | None = None, **keys: Any) -> tuple[HeelFace, SetupContext]:
    feature = HeelFace.model_validate({"bit": "quarter", **keys}, context={"units": "mm"})
    s = turned_over(feature, **(more or {}))
    placed = s.setup.features[0]
    assert isinstance(placed, HeelFace)
    return placed, s


@given(
    start=st.floats(200, 350),
    length=st.floats(20, 90),
    width=st.floats(30, 70),
    thickness=st.floats(22, 30),
    bit=st.sampled_from(["quarter", "six", "planer"]),
    left=st.booleans(),
)
def test_it_asks_for_the_heel_at_its_thickness(
    start: float, length: float, width: float, thickness: float, bit: str, left: bool
) -> None:
    heel = {"from": start, "to": start + length, "width": width, "thickness": thickness}
    feature, s = seat({"heel": heel, "handed": "left" if left else "right"}, bit=bit)
    (d,) = feature.demands(s)
    assert CutKind.heel_seat is d.kind
    assert (start, -width / 2, start + length, width / 2) == pytest.approx(d.asked.bounds)
    assert length * width == pytest.approx(d.asked.area)
    # The board is 6 thick; over the bed the seat lies as far as from the glue face.
    assert Level(thickness - 6.0) == d.floor
    # Nothing of it is left to the hands, and beyond it no more is free than the bit needs: its radius and 1 mm.
    assert 0.0 == pytest.approx(d.corner_region(s.tolerance).area, abs=1e-6)
    out = s.bits[bit].radius + 1.0 + s.tolerance
    x0, y0, x1, y1 = d.may_region(s.tolerance).bounds
    assert (start - s.tolerance, -width / 2 - out, start + length + out, width / 2 + out) == pytest.approx(
        (x0, y0, x1, y1)
    )
    # The finished back is the seat there.
    xs, ys = np.linspace(start, start + length, 9), np.linspace(-width / 2, width / 2, 9)
    x, y = (a.ravel() for a in np.meshgrid(xs, ys))
    assert back_depth(s.job.instrument, x, y).tolist() == pytest.approx([thickness - 6.0] * 81)


def test_it_is_cleared_from_above_and_skimmed_last() -> None:
    feature, s = seat()
    (o,) = feature.operations(s)
    assert isinstance(o, Clear)
    assert (25.0, 19.0) == (o.top, o.floor)
    assert "the heel's seat, 19.00 mm from the glue face" == o.title
    heights = skimmed(o)
    assert 0.3 == pytest.approx(heights[-2] - heights[-1])
    assert 19.0 == heights[-1]
    # Open on three sides by the bit's radius and 1 mm.
    assert (330.0, -30.175, 404.175, 30.175) == pytest.approx(o.areas[0].shape().bounds)
    assert o.areas[0].shape().covers(shapely.box(330, -26, 400, 26))


def test_it_comes_before_what_lies_in_it() -> None:
    feature, _ = seat()
    assert ["plane", "heel_face"] == [f.key for f in ordered([feature, Plane(bit="planer", leave=24)])]


@pytest.mark.parametrize("thickness", [18.9951, 19.0, 19.0049])
def test_a_thickness_that_is_the_instrument_s_is_taken(thickness: float) -> None:
    feature, s = seat(thickness=thickness)
    assert thickness == next(iter(feature.operations(s))).floor


@pytest.mark.parametrize(
    ("more", "keys", "key", "said", "hint"),
    [
        ({}, {"thickness": 18.99}, "thickness", "18.990 mm differs from the instrument's 19.000 mm", "leave `thick"),
        ({}, {"thickness": 19.006}, "thickness", "differs from the instrument's", "give 19.000 mm"),
        ({"heel": None}, {}, "", "the instrument's neck has no heel", "give `neck.heel`"),
        ({"flip": None}, {}, "", "in this setup the heel's seat is on the bed", "flip: about x"),
        ({"thick": 18.5}, {}, "thickness", "the blank is 18.50 mm thick there", "take a thicker blank"),
        ({"thick": 19.0}, {}, "thickness", "nothing would be cut", "leave the feature out"),
        ({}, {"bit": "ball"}, "bit", "ball is a ball bit", "name a flat bit"),
        ({"heel": {**HEEL, "to": 451}}, {}, "instrument", "reaches 1.00 mm beyond the blank", "neck.heel"),
        ({"heel": {**HEEL, "width": 92}}, {}, "instrument", "reaches 1.00 mm beyond the blank", "neck.heel"),
        ({"heel": {**HEEL, "thickness": 6}}, {}, "instrument", "and the board alone is 6.00 mm", "board.thickness"),
    ],
)
def test_what_cannot_be_is_refused(more: dict[str, Any], keys: dict[str, Any], key: str, said: str, hint: str) -> None:
    feature, s = seat(more, **keys)
    with pytest.raises(FeatureError) as refused:
        list(feature.operations(s))
    assert key == refused.value.key
    assert said in refused.value.problem
    assert hint in refused.value.hint


def test_a_headstock_s_blend_that_reaches_the_heel_is_refused() -> None:
    """A heel so near the nut that its rectangle lies where the back is still deeper."""
    heel = {"from": -20, "to": 40, "width": 52, "thickness": 16, "blend": 5}
    feature, s = seat({"heel": heel, "head": {"length": 90, "width": 60, "thickness": 14, "blend": 40}})
    with pytest.raises(FeatureError, match="below the finished back at x"):
        list(feature.operations(s))


def test_what_is_left_to_the_hands_names_the_pocket_s_radius() -> None:
    feature, s = seat()
    words = " ".join(h.what for h in feature.by_hand(s, near(s)))
    assert "Do not carve the heel's seat, 330.00 mm to 400.00 mm from the nut line" in words
    assert "the radius of its cutter" in words
    known, t = seat({"heel": {**HEEL, "pocket": {"depth": 16, "corner": 6.35}}})
    assert "a radius of 6.35 mm" in " ".join(h.what for h in known.by_hand(t, near(t)))
    squared, u = seat({"heel": {**HEEL, "pocket": {"depth": 16, "corner": 0}}})
    assert 1 == len(list(squared.by_hand(u, near(u))))


def test_the_heel_s_thickness_is_measured_on_whole_wood() -> None:
    feature, s = seat()
    (measure,) = feature.measures(s, near(s))
    (figure,) = measure.figures
    assert ("thickness", 19.0, (-0.05, 0.05)) == (figure.kind, figure.value, figure.within)
    assert 330 < figure.at[0] < 400
    assert abs(figure.at[1]) < 26


def test_in_inches_the_words_are_in_inches() -> None:
    feature, s = seat({"units": "in"}, thickness=18.0)
    with pytest.raises(FeatureError, match=r"0\.709 in differs from the instrument's 0\.748 in"):
        list(feature.operations(s))


def test_the_bed_is_where_the_glue_face_lies() -> None:
    feature, s = seat()
    low = replace(s, glue=24.0, face=24.0, top=24.0)
    (o,) = feature.operations(low)
    assert (24.0, 19.0) == (o.top, o.floor)


def test_every_key_is_its_own() -> None:
    assert {"thickness"} == set(HeelFace.model_fields) - set(Feature.model_fields)
