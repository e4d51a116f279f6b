"""`marker_pockets` asks for round, level pockets midway between frets, two at the octaves."""

from __future__ import annotations

import math

import pytest

from tests.support.said import said
from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import in_units
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Clear
from toolpaths.target_shape.demand import Demand, Level

PLACES = {
    "marker at fret 3": (87.1665, 0.0),  # midway between frets 2 and 3, 70.916 and 103.417; by hand
    "marker at fret 5": (148.572, 0.0),  # 134.095 and 163.050
    # Midway between frets 11 and 12, 305.676 and 325; the board is 42 + 10 x 315.338 / 325 = 51.703 wide there.
    "marker at fret 12, bass side": (315.338, -12.926),
    "marker at fret 12, treble side": (315.338, 12.926),
}


def pockets(**keys: object) -> tuple[MarkerPockets, SetupContext]:
    frets = keys.pop("of", 22)
    feature = MarkerPockets.model_validate(
        {"bit": "eighth", "diameter": 6, "depth": 1.8, **keys}, context={"units": "mm"}
    )
    s = context(
        Plane(bit="planer", leave=6), feature, frets=frets, width={"nut": 42, "end": 56} if frets < 12 else None
    )  # type: ignore[operator,arg-type]
    placed = s.setup.features[1]
    assert isinstance(placed, MarkerPockets)
    return placed, s


def demands(**keys: object) -> dict[str, Demand]:
    feature, s = pockets(**keys)
    return {d.name: d for d in feature.demands(s)}


def operation(**keys: object) -> Clear:
    feature, s = pockets(**keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Clear)
    return found


@pytest.mark.parametrize(("name", "place"), PLACES.items())
def test_each_stands_midway_between_its_frets(name: str, place: tuple[float, float]) -> None:
    middle = demands()[name].asked.centroid
    assert place == pytest.approx((middle.x, middle.y), abs=1.5e-3)


@pytest.mark.parametrize(("name", "place"), PLACES.items())
def test_each_is_cut_where_it_is_wanted(name: str, place: tuple[float, float]) -> None:
    o = operation()
    circle = next(a.outer for a in o.areas if a.name == name).as_circle()
    assert circle is not None
    assert (*place, 3.0) == pytest.approx(circle, abs=1.5e-3)


def test_the_usual_frets_bear_one_and_the_octave_two() -> None:
    # 3 5 7 9 12 (two) 15 17 19 21 on 22 frets; common practice, no source.
    assert 10 == len(demands()) == len(operation().areas)


def test_a_pocket_is_a_disc_of_its_diameter_and_depth() -> None:
    d = demands()["marker at fret 3"]
    assert math.pi * 9 == pytest.approx(d.asked.area, rel=1e-3)
    assert Level(4.2) == d.floor
    assert 3.175 / 2 == d.radius
    assert (6.0, 4.2) == (operation().top, operation().floor)


def test_frets_doubles_and_their_spacing_can_be_chosen() -> None:
    found = demands(frets=(7, 12), doubles=(7,), double_spacing=20)
    assert ["marker at fret 7, bass side", "marker at fret 7, treble side", "marker at fret 12"] == list(found)
    assert -10.0 == pytest.approx(found["marker at fret 7, bass side"].asked.centroid.y)


def test_by_hand_remains_the_filling() -> None:
    # Ten pockets of 6 mm, 1.8 deep: 10 x 28.274 mm2 x 1.8 = 509 mm3. Derived.
    feature, s = pockets()
    (work,) = feature.by_hand(s, near(s))
    size = "6.00 mm across, 1.80 mm deep from the face, 0.51 ml of filler in all"
    assert f"Inlay or fill 10 marker pockets: {size}. Level them." == work.what


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"bit": "vee60"}, ("vee60 is not a flat bit; the floor would not be level", "name a flat bit", "bit")),
        ({"bit": "quarter"}, ("quarter is 6.35 mm wide, and the pockets only 6.00 mm", "take a smaller bit", "bit")),
        ({"depth": 6.0}, ("the pockets would go through the board", "make them less deep", "depth")),
        ({"frets": (3, 23)}, ("there is no fret 23", "the instrument has 22 frets", "frets")),
        ({"frets": ()}, ("no fret has a marker", "name some in `frets`; the instrument has 22", "frets")),
        ({"of": 2}, ("no fret has a marker", "name some in `frets`; the instrument has 2", "frets")),
        (
            {"double_spacing": 52},
            (
                "the two markers at fret 12 would be outside the board",
                "keep them less than 51.70 mm apart",
                "double_spacing",
            ),
        ),
    ],
)
def test_what_cannot_be_cut_is_refused(keys: dict[str, object], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(**keys)
    assert told == (said(caught.value), in_units(caught.value.hint, "mm"), caught.value.key)
