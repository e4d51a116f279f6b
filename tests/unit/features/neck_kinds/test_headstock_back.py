"""`headstock_back`, and `headstock_face` turned over: the headstock level at its thickness below its own face."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import near
from tests.support.turned_neck import HEAD, turned_over
from toolpaths.common.errors import FeatureError
from toolpaths.features.headstock_level import HeadstockLevel
from toolpaths.features.neck_kinds.headstock_back import HeadstockBack
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.instrument.necks import back_depth
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Rebate
from toolpaths.target_shape.demand import ArcFloor, Level

Kind = type[HeadstockLevel]
BOTH: list[Kind] = [HeadstockBack, HeadstockFace]
THIN = {"head": {**HEAD, "thickness": 10}}
"""Thinner than the shaft: its back comes up to the level from below."""


def back(more: dict[str, Any] | None = None, kind: Kind = HeadstockBack, **keys: Any) -> Any:
    """(feature, context): the headstock 14 thick on a blank of 25, its left end at x -110."""
    feature = kind.model_validate({"bit": "planer", **keys}, context={"units": "mm"})
    s: SetupContext = turned_over(feature, **(more or {}))
    return s.setup.features[0], s


@given(
    drop=st.one_of(st.just(0.0), st.floats(0.5, 5)),
    thickness=st.floats(10, 17),
    blend=st.floats(5, 60),
    kind=st.sampled_from(BOTH),
    left=st.booleans(),
)
def test_it_asks_for_the_blank_left_of_where_the_finished_back_is_level(
    drop: float, thickness: float, blend: float, kind: Kind, left: bool
) -> None:
    head = {"length": 90, "width": 60, "thickness": thickness, "blend": blend}
    feature, s = back({"head": head, "drop": drop, "handed": "left" if left else "right"}, kind)
    (d,) = feature.demands(s)
    assert CutKind.head_back is d.kind
    assert (-110.0, -45.0, -blend, 45.0) == pytest.approx(d.asked.bounds)
    assert isinstance(d.floor, Level)
    assert drop + thickness == pytest.approx(d.floor.z)
    assert 0.0 == pytest.approx(d.corner_region(s.tolerance).area, abs=1e-6)
    # It is the finished back: nowhere lower, nowhere higher.
    x = np.linspace(-90, -blend, 50)
    y = np.linspace(-18, 18, 50)
    finished = back_depth(s.job.instrument, x, y, drop)
    assert finished.tolist() == pytest.approx([drop + thickness] * 50)
    (o,) = feature.operations(s)
    assert isinstance(o, Rebate)
    assert (25.0, drop + thickness, 25.0, 0.0) == pytest.approx((o.top, o.floor, o.face, o.ramp))
    assert (-110.0, -45.0, -blend, 45.0) == pytest.approx(o.box)


@given(ramp=st.floats(7.1, 60), drop=st.floats(0.5, 4), start=st.floats(-45, -25))
def test_a_ramp_is_a_circle_that_rises_to_the_blank_s_back_and_stays_above_the_neck(
    ramp: float, drop: float, start: float
) -> None:
    feature, s = back({"drop": drop, "thick": 20.9 + drop}, ramp=ramp, **{"from": start})
    (d,) = feature.demands(s)
    assert isinstance(d.floor, ArcFloor)
    rise = 20.9 - 14.0
    # R = (l^2 + d^2) / (2 d). Derived.
    radius = (ramp**2 + rise**2) / (2 * rise)
    assert radius == pytest.approx(d.floor.radius)
    x = np.linspace(-100.0, start, 60)
    along = np.maximum(x - (start - ramp), 0.0)
    asked = 14.0 + drop + radius - np.sqrt(radius**2 - along**2)
    assert asked.tolist() == pytest.approx(d.floor.height(x, 0 * x).tolist())
    assert np.all(d.floor.height(x, 0 * x) >= back_depth(s.job.instrument, x, 0 * x, drop) - 1e-9)
    assert 0.05 == d.scallop
    assert ramp == next(iter(feature.operations(s))).ramp


@pytest.mark.parametrize("ramp", [None, 15.0])
def test_headstock_face_turned_over_is_exactly_this(ramp: float | None) -> None:
    keys = {} if ramp is None else {"ramp": ramp}
    more = {"drop": 4.0}
    one, s = back(more, HeadstockBack, thickness=14, **{"from": -30}, **keys)
    other, t = back(more, HeadstockFace, thickness=14, **{"from": -30}, **keys)
    assert [d.floor for d in one.demands(s)] == [d.floor for d in other.demands(t)]
    a, b = next(one.operations(s)), next(other.operations(t))
    assert (a.box, a.top, a.floor, a.title, a.ramp) == (b.box, b.top, b.floor, b.title, b.ramp)
    assert "18.00 mm below the glue face" in a.title
    assert [h.what for h in one.by_hand(s, near(s))] == [h.what for h in other.by_hand(t, near(t))]
    (measure,) = other.measures(t, near(t))
    assert "from the back down to the headstock's back" == measure.what
    assert 7.0 == pytest.approx(measure.figures[0].value)


@pytest.mark.parametrize(
    ("kind", "more", "keys", "key", "said", "hint"),
    [
        (HeadstockBack, {"flip": None}, {}, "", "in this setup the headstock's back is on the bed", "flip: about x"),
        (HeadstockBack, {"head": None}, {}, "instrument", "has no headstock", "give `neck.headstock`"),
        (HeadstockBack, {}, {"thickness": 14.006}, "thickness", "14.006 mm differs from the instrument's", "14.000 mm"),
        (HeadstockBack, {"thick": 14.0}, {}, "thickness", "nothing would be cut", "a thicker blank"),
        (HeadstockBack, {"thick": 17.0, "drop": 4.0}, {}, "thickness", "18.00 mm above the bed", "a thicker blank"),
        (HeadstockBack, {}, {"from": 1}, "from", "the wall would be under the board", "0 or less"),
        (HeadstockBack, {}, {"from": -110}, "from", "it begins beyond the blank's end", "more than -110.00 mm"),
        (HeadstockBack, {}, {"from": "fret 3"}, "from", "the wall would be under the board", "0 or less"),
        (HeadstockBack, {}, {"from": "fret 40"}, "from", "there is no fret 40", "22 frets"),
        (HeadstockBack, {}, {"ramp": 10.9}, "ramp", "11.00 mm high, which is too steep", "11.00 mm long or more"),
        (HeadstockBack, {}, {"ramp": 86}, "ramp", "past the blank's end", "shorter"),
        (HeadstockBack, {}, {"bit": "vee60"}, "bit", "vee60 is not a flat bit", "name a flat bit"),
        (HeadstockBack, THIN, {"from": -20}, "from", "below the finished back at x -20.00", "`from: -25.00 mm`"),
        (HeadstockBack, THIN, {"from": -5, "ramp": 16}, "from", "below the finished back", "`from: -25.00 mm`"),
        (HeadstockFace, {}, {"drop": 4}, "drop", "shows the headstock's back", "give `thickness`"),
        (
            HeadstockFace,
            {"flip": None},
            {"drop": 4, "from": -8, "thickness": 14},
            "thickness",
            "shows the headstock's face",
            "drop",
        ),
        (HeadstockFace, {"flip": None}, {"from": -8}, "drop", "needs `drop`", "`drop: \u20394\u203a`"),
        (HeadstockFace, {"flip": None}, {"drop": 4}, "from", "needs `from`", "`from: \u2039-8\u203a`"),
    ],
)
def test_what_cannot_be_is_refused(
    kind: Kind, more: dict[str, Any], keys: dict[str, Any], key: str, said: str, hint: str
) -> None:
    feature, s = back(more, kind, **keys)
    with pytest.raises(FeatureError) as refused:
        list(feature.operations(s))
    assert key == refused.value.key
    assert said in refused.value.problem
    assert hint in refused.value.hint


def test_it_may_begin_where_the_finished_back_is_level_and_no_nearer() -> None:
    """The blend is s = t^2 (3 - 2 t) from the shaft's depth to the headstock's.

    A headstock that is thicker than the shaft may be cut nearer to the nut: its level lies in wood that is to go.
    """
    feature, s = back({"head": {**HEAD, "thickness": 18}}, **{"from": -10})
    assert 18.0 == next(iter(feature.operations(s))).floor
    shallow, t = back(THIN, **{"from": -24.0})
    with pytest.raises(FeatureError) as refused:
        list(shallow.operations(t))
    part = 24.0 / 25
    eased = part * part * (3 - 2 * part)
    shaft = float(back_depth(t.job.instrument, np.zeros(1), np.zeros(1))[0])
    below = (shaft - 10) * (1 - eased)
    assert f"{below:.3f} mm below the finished back at x -24.00 mm" in refused.value.problem
    assert math.isclose(shaft, 14.5, abs_tol=0.2)


def test_what_is_left_to_the_hands() -> None:
    feature, s = back(ramp=15)
    (hand,) = feature.by_hand(s, near(s))
    assert "Sand the ramp at the headstock's back" in hand.what
    plain, t = back()
    assert [] == list(plain.by_hand(t, near(t)))


@given(
    at=st.floats(-40, 10),
    length=st.floats(10, 60),
    height=st.floats(0.5, 4),
    thickness=st.floats(10, 17),
    blend=st.floats(5, 40),
)
def test_beyond_a_volute_it_is_level_and_no_volute_is_cut(
    at: float, length: float, height: float, thickness: float, blend: float
) -> None:
    """A volute reaches half its length to both sides of its place; from there on nothing of it stands on the back."""
    head = {"length": 90, "width": 60, "thickness": thickness, "blend": blend}
    feature, s = back({"head": head, "volute": {"at": at, "length": length, "height": height}})
    (o,) = feature.operations(s)
    assert min(-blend, at - length / 2) == pytest.approx(o.box[2])
    x = np.linspace(-90, o.box[2], 200)
    assert back_depth(s.job.instrument, x, 0 * x).tolist() == pytest.approx([thickness] * 200)


def test_a_cut_into_a_volute_is_refused() -> None:
    feature, s = back({"volute": {"at": -30, "length": 30, "height": 3}}, **{"from": -30})
    with pytest.raises(FeatureError) as refused:
        list(feature.operations(s))
    assert "3.000 mm below the finished back at x -30.00 mm" in refused.value.problem
    assert "`from: -45.00 mm`" in refused.value.hint
