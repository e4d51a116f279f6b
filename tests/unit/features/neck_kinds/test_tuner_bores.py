"""`tuner_bores` asks for round holes where the posts stand, from the headstock's face through or to a depth."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from pydantic import ValidationError

from tests.support.setup_builder import context, flat, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.features.neck_kinds.tuner_bores import TunerBores
from toolpaths.job.neck import Neck
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Bore
from toolpaths.target_shape.demand import Level

NECK = Neck.model_validate({"thickness": {1: 20}, "headstock": {"length": 160, "width": 72, "thickness": 12}})
FACE = {"bit": "planer", "drop": 4, "from": -8}


def tuners(face: dict[str, Any] | None = None, **keys: Any) -> tuple[TunerBores, SetupContext]:
    """A blank of 18; the headstock's face lowered to 14 unless `face` says otherwise."""
    given: dict[str, Any] = {"bit": "six", "diameter": 8, **keys}
    if "layout" not in keys:
        given.setdefault("at", [[-40, 18], [-78, -18]])
    feature = TunerBores.model_validate(given, context={"units": "mm"})
    more = [] if face == {} else [HeadstockFace.model_validate(face or FACE)]
    s = context(
        feature,
        *more,
        bits={"plain": flat(6.5, centre_cutting=False)},
        stock={"length": 560, "width": 90, "thickness": 18},
        setup={"nut_at": 175},
    )
    instrument = s.job.instrument.model_copy(update={"neck": NECK})
    s = replace(s, job=s.job.model_copy(update={"instrument": instrument}))
    placed = s.setup.features[0]
    assert isinstance(placed, TunerBores)
    return placed, s


def operation(**keys: Any) -> Bore:
    feature, s = tuners(**keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Bore)
    return found


def test_each_is_a_disc_in_its_place() -> None:
    feature, s = tuners()
    first, second = feature.demands(s)
    assert ["tuner 1", "tuner 2"] == [first.name, second.name]
    assert math.pi * 16 == pytest.approx(first.asked.area, rel=1e-3)
    assert (-78.0, -18.0) == pytest.approx((second.asked.centroid.x, second.asked.centroid.y))


def test_each_is_cut_where_it_is_wanted() -> None:
    assert [[-40.0, 18.0], [-78.0, -18.0]] == operation().centres.tolist()
    assert [8.0, 8.0] == operation().diameters.tolist()


def test_a_layout_gives_the_places_string_by_string() -> None:
    layout = {"per_side": 2, "first": -45, "spacing": 38, "edge": 13}
    assert [[-45, 23], [-83, 23], [-83, -23], [-45, -23]] == operation(layout=layout).centres.tolist()
    assert 3 == len(operation(layout={**layout, "per_side": [1, 2]}).centres)


def test_through_holes_begin_on_the_lowered_face_and_end_in_the_bed() -> None:
    assert (14.0, -0.2) == (operation().top, operation().floor)
    assert (18.0, -0.2) == (operation(face={}).top, operation(face={}).floor)
    feature, s = tuners()
    assert [(Level(0.0), 0.2)] * 2 == [(d.floor, d.reach) for d in feature.demands(s)]


def test_a_depth_is_measured_from_the_glue_face_on_the_lowered_headstock_too() -> None:
    feature, s = tuners(depth=10)
    assert [Level(8.0)] * 2 == [d.floor for d in feature.demands(s)]
    assert (14.0, 8.0) == (operation(depth=10).top, operation(depth=10).floor)


def test_through_holes_ask_for_a_backing_before_and_in_the_program() -> None:
    feature, s = tuners()
    (hand,) = feature.by_hand(s, near(s))
    assert "must be flat waste wood" in hand.what
    assert ("tuner 1, through, into the backing", "tuner 2, through, into the backing") == operation().names
    blind, s = tuners(depth=10)
    assert [] == list(blind.by_hand(s, near(s)))
    assert ("tuner 1", "tuner 2") == operation(depth=10).names


def test_a_hole_may_have_a_diameter_of_its_own() -> None:
    assert [8.0, 10.0] == operation(at=[[-40, 18], {"x": -78, "y": -18, "diameter": 10}]).diameters.tolist()


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"bit": "planer"}, "planer is 25.00 mm wide, and a hole only 8.00 mm"),
        ({"bit": "plain"}, "plain does not cut at its centre, and is too wide for a hole of 8.00 mm"),
        ({"bit": "vee60"}, "vee60 is not a flat bit"),
        ({"depth": 18}, "the holes are deeper than the wood"),
        ({"depth": 4}, "the holes do not reach the wood"),
    ],
)
def test_what_cannot_be_is_refused(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(FeatureError, match=said):
        operation(**keys)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"at": None}, "either in `at` or by `layout`"),
        ({"at": [[-40, 18]], "layout": {"per_side": 2, "first": -45, "spacing": 38, "edge": 13}}, "either in `at`"),
        ({"layout": {"per_side": 0, "first": -45, "spacing": 38, "edge": 13}}, "one number for both sides"),
        ({"layout": {"per_side": [1, 2, 3], "first": -45, "spacing": 38, "edge": 13}}, "one number for both sides"),
    ],
)
def test_a_job_that_says_it_wrongly_is_told(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        tuners(**keys)
