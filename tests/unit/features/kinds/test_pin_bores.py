"""`pin_bores` asks for round holes where the pins belong, through the blank or to a depth."""

from __future__ import annotations

import math

import pytest
from pydantic import ValidationError

from tests.support.setup_builder import context, flat
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Bore
from toolpaths.target_shape.demand import Demand, Level


def pins(**keys: object) -> tuple[PinBores, SetupContext]:
    given = {"bit": "three", "diameter": 4, "at": [[-8, 0], ["fret 12", 30]], **keys}
    feature = PinBores.model_validate(given, context={"units": "mm"})
    s = context(Plane(bit="planer", leave=6), feature, bits={"plain": flat(3.5, centre_cutting=False)})
    placed = s.setup.features[1]
    assert isinstance(placed, PinBores)
    return placed, s


def demands(**keys: object) -> list[Demand]:
    feature, s = pins(**keys)
    return list(feature.demands(s))


def operation(**keys: object) -> Bore:
    feature, s = pins(**keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Bore)
    return found


def test_each_hole_is_a_disc_where_its_pin_belongs() -> None:
    first, second = demands()
    assert math.pi * 4 == pytest.approx(first.asked.area, rel=1e-3)
    assert (-8.0, 0.0) == pytest.approx((first.asked.centroid.x, first.asked.centroid.y), abs=1e-9)
    # Fret 12 lies at half the scale, 325 mm.
    assert (325.0, 30.0) == pytest.approx((second.asked.centroid.x, second.asked.centroid.y), abs=1e-9)
    assert ["pin 1", "pin 2"] == [first.name, second.name]


def test_each_hole_is_cut_where_it_is_wanted() -> None:
    o = operation()
    assert [-8.0, 0.0, 325.0, 30.0] == pytest.approx(o.centres.ravel().tolist())
    assert [4.0, 4.0] == o.diameters.tolist()


def test_holes_go_through_and_into_the_bed_by_what_the_machine_allows() -> None:
    assert [(Level(0.0), 0.2)] * 2 == [(d.floor, d.reach) for d in demands()]
    assert (6.0, -0.2) == (operation().top, operation().floor)


def test_a_depth_counts_from_the_finished_face_and_spares_the_bed() -> None:
    assert [(Level(1.5), 0.0)] * 2 == [(d.floor, d.reach) for d in demands(depth=4.5)]
    assert 1.5 == operation(depth=4.5).floor


def test_a_hole_may_have_a_diameter_of_its_own() -> None:
    o = operation(at=[{"x": -8, "y": 0, "diameter": 6}, [420, 0]])
    assert [6.0, 4.0] == o.diameters.tolist()


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"bit": "vee60"}, ("vee60 is not a flat bit", "name a flat bit", "bit")),
        (
            {"bit": "quarter"},
            ("quarter is 6.35 mm wide, and a hole only 4.00 mm", "take a smaller bit", "bit"),
        ),
        (
            {"bit": "plain"},
            (
                "plain does not cut at its centre, and is too wide for a hole of 4.00 mm",
                "take a bit of at most 3.20 mm, or one that cuts at its centre",
                "bit",
            ),
        ),
        (
            {"depth": 6.1},
            ("the holes are deeper than the board is thick", "leave `depth` out for through holes", "depth"),
        ),
        ({"diameter": None}, ("a hole has no diameter", "give `diameter` once, or with each place", "at")),
        ({"at": [["fret 23", 0]]}, ("there is no fret 23", "the instrument has 22 frets", "at")),
    ],
)
def test_what_cannot_be_bored_is_refused(keys: dict[str, object], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(**keys)
    assert told == (caught.value.problem, caught.value.hint, caught.value.key)


@pytest.mark.parametrize("at", [[[1]], [[1, 2, 3]], [], [5]])
def test_places_are_written_in_pairs(at: object) -> None:
    with pytest.raises(ValidationError):
        pins(at=at)
