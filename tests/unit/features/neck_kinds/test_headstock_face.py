"""`headstock_face` asks for the blank's end below the glue face, up to a wall or a ramp at the nut."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.job.neck import Neck
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Rebate
from toolpaths.pipeline.plan import ordered
from toolpaths.target_shape.demand import ArcFloor, Level

HEAD = {"length": 90, "width": 60, "thickness": 12}


def face(
    setup: dict[str, Any] | None = None, neck: dict[str, Any] | None = None, **keys: Any
) -> tuple[Any, SetupContext]:
    """The blank: 510 x 70 x 18, planed to 17, its left end at x -100."""
    given = {"bit": "planer", "drop": 4, "from": -8, **keys}
    feature = HeadstockFace.model_validate(given, context={"units": "mm"})
    s = context(
        Plane(bit="planer", leave=17),
        feature,
        stock={"length": 510, "width": 70, "thickness": 18},
        setup={"nut_at": 100, **(setup or {})},
    )
    if neck is not None:
        instrument = s.job.instrument.model_copy(update={"neck": Neck.model_validate(neck)})
        s = replace(s, job=s.job.model_copy(update={"instrument": instrument}))
    return s.setup.features[1], s


def test_it_asks_for_the_blank_left_of_the_wall_at_the_drop() -> None:
    feature, s = face()
    (d,) = feature.demands(s)
    assert (-100.0, -35.0, -8.0, 35.0) == d.asked.bounds
    assert 92.0 * 70.0 == pytest.approx(d.asked.area)
    assert (Level(13.0), 0.0, "headstock face") == (d.floor, d.scallop, d.name)


def test_it_is_open_on_three_sides_so_that_no_corner_is_left() -> None:
    feature, s = face()
    (d,) = feature.demands(s)
    assert 0.0 == pytest.approx(d.corner_region(s.tolerance).area, abs=1e-6)
    # What must be cut ends a tolerance before the wall, and nowhere else before the blank does.
    assert (-100.0, -35.0, -8.0 - s.tolerance, 35.0) == pytest.approx(d.must_region(s.tolerance).bounds, abs=1e-6)
    # Nothing is free to the right of the wall.
    assert -8.0 + s.tolerance == pytest.approx(d.may_region(s.tolerance).bounds[2])


def test_it_is_cut_in_that_place() -> None:
    feature, s = face()
    (o,) = feature.operations(s)
    assert isinstance(o, Rebate)
    assert ((-100.0, -35.0, -8.0, 35.0), 17.0, 13.0, 0.0) == (o.box, o.top, o.floor, o.ramp)
    assert "headstock face, 4.00 mm below the glue face" == o.title


def test_a_ramp_is_a_circle_level_at_its_foot() -> None:
    feature, s = face(ramp=20)
    (d,) = feature.demands(s)
    assert isinstance(d.floor, ArcFloor)
    # R = (20^2 + 4^2) / (2 * 4) = 52. Derived.
    assert 52.0 == pytest.approx(d.floor.radius)
    x = np.array([-100.0, -28.0, -18.0, -8.0, 0.0])
    halfway = 13 + 52 - math.sqrt(52**2 - 10**2)
    assert [13.0, 13.0, halfway, 17.0, 17.0] == pytest.approx(d.floor.height(x, 0 * x).tolist())
    assert 0.05 == d.scallop


def test_the_ramp_s_steepness_is_that_of_its_height() -> None:
    floor = ArcFloor(-48.0, -8.0, 17.0, 13.0, rising=True)
    x, h = np.linspace(-27.9, -8.1, 40), 1e-5
    rise = (floor.height(x + h, 0 * x) - floor.height(x - h, 0 * x)) / (2 * h)
    assert rise.tolist() == pytest.approx(floor.slope(x, 0 * x).tolist(), abs=1e-6)
    # At the wall l / (R - d) = 20 / 48. Derived.
    assert [0.0, 20 / 48] == pytest.approx(floor.slope(np.array([-40.0, -8.0]), np.zeros(2)).tolist())


def test_the_steps_of_a_ramp_are_said_and_left_to_the_hands() -> None:
    feature, s = face(ramp=20)
    (o,) = feature.operations(s)
    assert o.title.endswith("ramp in steps of at most 0.05 mm")
    (hand,) = feature.by_hand(s, near(s))
    assert "it has steps of at most 0.050 mm" in hand.what
    assert [] == list(face()[0].by_hand(s, near(s)))


def test_the_plane_is_cut_before_it_whatever_the_job_s_order() -> None:
    feature, s = face()
    lines = ScoreLines(bit="scorer", depth=0.5)
    assert ["plane", "headstock_face", "score_lines"] == [f.key for f in ordered([lines, feature, s.setup.features[0]])]


def test_a_tilted_back_headstock_is_refused_in_words() -> None:
    with pytest.raises(ValidationError, match=r"this program cannot cut a headstock that is tilted back.*scarf joint"):
        face(angle=13)


@pytest.mark.parametrize(
    ("keys", "setup", "said"),
    [
        ({"drop": 17.0}, {}, "the drop takes all the wood"),
        ({"from": 0.5}, {}, "the wall would be under the board"),
        ({"from": -100}, {}, "it begins beyond the blank's end"),
        ({"ramp": 3.9}, {}, "the ramp is 3.90 mm long and 4.00 mm high, which is too steep"),
        ({"ramp": 92.0}, {}, "the ramp reaches past the blank's end"),
        ({"bit": "vee60"}, {}, "vee60 is not a flat bit"),
        ({}, {"flip": "about x"}, "this setup shows the headstock's back, and `drop` is for its face"),
    ],
)
def test_what_cannot_be_is_refused(keys: dict[str, Any], setup: dict[str, Any], said: str) -> None:
    feature, s = face(setup, **keys)
    with pytest.raises(FeatureError, match=said):
        list(feature.operations(s))


@pytest.mark.parametrize(("drop", "refused"), [(5.0, False), (5.1, True)])
def test_the_headstock_s_thickness_must_be_left(drop: float, refused: bool) -> None:
    feature, s = face(neck={"thickness": {1: 20}, "headstock": HEAD}, drop=drop)
    if refused:
        with pytest.raises(FeatureError, match=r"11\.90 mm would be left, and the headstock is to be 12\.00 mm thick"):
            list(feature.operations(s))
    else:
        assert 12.0 == next(feature.operations(s)).floor
