"""`bolt_bores` asks for round holes, each in the middle of a wider, less deep one where asked."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.neck_kinds.bolt_bores import BoltBores
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Level

STEP = {"diameter": 14, "depth": 4}


def bolts(flip: bool = False, **keys: Any) -> tuple[BoltBores, SetupContext]:
    """A blank of 20."""
    given = {"bit": "six", "diameter": 8, "depth": 12, "at": [[350, 12], ["fret 12", -12]], **keys}
    feature = BoltBores.model_validate(given, context={"units": "mm"})
    setup = {"flip": "about x"} if flip else {}
    s = context(feature, stock={"length": 510, "width": 70, "thickness": 20}, setup=setup)
    placed = s.setup.features[0]
    assert isinstance(placed, BoltBores)
    return placed, s


def operations(**keys: Any) -> list[Operation]:
    feature, s = bolts(**keys)
    return list(feature.operations(s))


def test_each_hole_is_a_disc_and_its_counterbore_a_wider_one_around_it() -> None:
    feature, s = bolts(counterbore=STEP)
    found = list(feature.demands(s))
    assert ["bolt 1", "counterbore of bolt 1", "bolt 2", "counterbore of bolt 2"] == [d.name for d in found]
    assert [math.pi * 16, math.pi * 49] == pytest.approx([d.asked.area for d in found[:2]], rel=1e-3)
    assert [Level(8.0), Level(16.0)] == [d.floor for d in found[:2]]
    # Fret 12 lies at half the scale, 325 mm.
    assert (325.0, -12.0) == pytest.approx((found[2].asked.centroid.x, found[2].asked.centroid.y))


def test_the_counterbores_come_first_and_the_holes_begin_on_their_floor() -> None:
    wide, narrow = operations(counterbore=STEP)
    assert isinstance(wide, Bore)
    assert isinstance(narrow, Bore)
    assert ([14.0, 14.0], 20.0, 16.0) == (wide.diameters.tolist(), wide.top, wide.floor)
    assert ([8.0, 8.0], 16.0, 8.0) == (narrow.diameters.tolist(), narrow.top, narrow.floor)
    assert wide.centres.tolist() == narrow.centres.tolist()


def test_without_a_counterbore_there_is_one_operation() -> None:
    (one,) = operations()
    assert (20.0, 8.0) == (one.top, one.floor)  # type: ignore[union-attr]


def test_through_holes_end_in_the_bed_and_ask_for_a_backing() -> None:
    (one,) = operations(depth=None)
    assert isinstance(one, Bore)
    assert -0.2 == one.floor
    assert "bolt 1, through, into the backing" == one.names[0]
    feature, s = bolts(depth=None)
    assert "must be flat waste wood" in next(feature.by_hand(s, near(s))).what
    assert [] == list(bolts()[0].by_hand(s, near(s)))


def test_turned_over_a_depth_is_what_is_left_under_the_floor() -> None:
    feature, s = bolts(flip=True, counterbore={"diameter": 14, "depth": 16})
    assert [Level(12.0), Level(16.0)] == [d.floor for d in list(feature.demands(s))[:2]]
    wide, narrow = feature.operations(s)
    assert (20.0, 16.0, 12.0) == (wide.top, narrow.top, narrow.floor)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"bit": "planer"}, "planer is 25.00 mm wide"),
        ({"depth": 20}, "the holes are deeper than the wood"),
        ({"counterbore": {"diameter": 14, "depth": 20}}, "the holes are deeper than the wood"),
        ({"counterbore": {"diameter": 14, "depth": 12}}, "the holes end inside their counterbores"),
    ],
)
def test_what_cannot_be_is_refused(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(FeatureError, match=said):
        operations(**keys)


def test_a_counterbore_is_wider_than_its_hole() -> None:
    with pytest.raises(ValidationError, match="the counterbore must be wider than the hole"):
        bolts(counterbore={"diameter": 8, "depth": 4})
