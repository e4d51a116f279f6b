"""`outline` asks for a kerf around the board, through to the bed, and for tabs that stand in it."""

from __future__ import annotations

import math

import pytest
import shapely

from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.outline import Outline
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Contour
from toolpaths.target_shape.demand import Demand, Level

# By hand: the last of 22 frets of scale 650 lies at 467.600, the board ends 10 past it;
# it is 42 wide at the nut, 52 at 325, so 42 + 10 x 477.600 / 325 = 56.695 at its end.
END, NUT, FAR = 477.600, 21.0, 28.348
CORNERS = [(0.0, -NUT), (END, -FAR), (END, FAR), (0.0, NUT)]
EDGE = math.hypot(END, FAR - NUT)
TABS = {"count": 4, "length": 8, "height": 1.5}
KERF = 6.35 + 0.25
"""The bit and the last skim."""


def outline(planed: bool = True, **keys: object) -> tuple[Outline, SetupContext]:
    feature = Outline.model_validate({"bit": "quarter", **keys}, context={"units": "mm"})
    s = context(*([Plane(bit="planer", leave=6)] if planed else []), feature)
    placed = s.setup.features[-1]
    assert isinstance(placed, Outline)
    return placed, s


def demands(**keys: object) -> list[Demand]:
    feature, s = outline(**keys)  # type: ignore[arg-type]
    return list(feature.demands(s))


def operation(**keys: object) -> Contour:
    feature, s = outline(**keys)  # type: ignore[arg-type]
    (found,) = feature.operations(s)
    assert isinstance(found, Contour)
    return found


def inside(d: Demand) -> shapely.Polygon:
    """What a band goes around."""
    return shapely.Polygon(d.asked.interiors[0])


def test_the_part_is_the_trapezoid_between_nut_and_end() -> None:
    part = inside(demands()[0])
    assert shapely.Polygon(CORNERS).symmetric_difference(part).area == pytest.approx(0.0, abs=0.5)
    assert END * (NUT + FAR) == pytest.approx(part.area, rel=1e-5)


def test_the_cut_goes_around_the_same_trapezoid() -> None:
    found = operation().loop.points.tolist()
    assert [list(c) for c in CORNERS] == [pytest.approx(p, abs=1e-3) for p in found]


def test_the_band_is_as_wide_as_the_bit_and_its_skim() -> None:
    # Around a convex outline a band of width k has the area perimeter x k + pi k^2.
    perimeter = 2 * EDGE + 2 * NUT + 2 * FAR
    assert perimeter * KERF + math.pi * KERF**2 == pytest.approx(demands()[0].asked.area, rel=1e-4)
    assert KERF == pytest.approx(operation().kerf)


def test_deeper_than_two_bits_the_kerf_opens_to_one_and_four_tenths() -> None:
    # 8 mm with a bit of 3: deeper than 6, so 1.4 x 3 = 4.2. Common practice, no source.
    assert 4.2 == pytest.approx(operation(planed=False, bit="three").kerf)
    assert 3.25 == pytest.approx(operation(planed=True, bit="three").kerf)  # 6 is not deeper than 6
    perimeter = 2 * EDGE + 2 * NUT + 2 * FAR
    band = demands(planed=False, bit="three")[0].asked
    assert perimeter * 4.2 + math.pi * 4.2**2 == pytest.approx(band.area, rel=1e-4)


def test_it_goes_through_and_may_reach_into_the_bed() -> None:
    d = demands()[0]
    assert (Level(0.0), 0.2) == (d.floor, d.reach)
    assert (6.0, -0.2) == (operation().top, operation().floor)
    assert "cut the outline free" == operation().title


def test_to_a_depth_it_stays_in_the_wood() -> None:
    d = demands(depth=4)[0]
    assert (Level(2.0), 0.0) == (d.floor, d.reach)
    assert 2.0 == operation(depth=4).floor
    assert "cut the outline" == operation(depth=4).title


def test_a_strip_of_waste_beside_the_kerf_may_be_cut_and_need_not() -> None:
    strip = demands()[1]
    assert strip.may
    assert not strip.must
    outer, inner = shapely.Polygon(strip.asked.exterior), inside(strip)
    assert 1.0 == pytest.approx(outer.bounds[3] - inner.bounds[3], abs=1e-3)


# Tabs


def cores(**keys: object) -> list[Demand]:
    return [d for d in demands(tabs={**TABS, **keys}) if d.name.startswith("tab") and d.may]


def test_tabs_stand_on_the_long_edges_twenty_from_the_corners_evenly_by_arc_length() -> None:
    # Two on each edge: 20 mm from the corners and half a tab leave EDGE - 48 for the middles,
    # a quarter and three quarters along; by hand.
    wanted = [24 + (EDGE - 48) * part for part in (0.25, 0.75)]
    for side, pair in ((-1, cores()[:2]), (1, cores()[2:])):
        edge = shapely.LineString([(0, side * NUT), (END, side * FAR)])
        for s, d in zip(wanted, pair, strict=True):
            on_edge = d.asked.intersection(edge.buffer(0.01))
            assert s == pytest.approx(edge.project(on_edge.centroid), abs=0.01)


@pytest.mark.parametrize("count", [1, 2, 3, 5, 8, 20])
def test_no_tab_comes_nearer_to_a_corner_than_twenty(count: int) -> None:
    found = cores(count=count)
    assert count == len(found)
    for d in found:
        assert 20 - 0.01 <= min(d.asked.distance(shapely.Point(c)) for c in CORNERS)


def test_a_tab_is_as_long_as_asked_across_the_whole_kerf_at_its_height() -> None:
    for d in cores():
        assert 8 * KERF == pytest.approx(d.asked.area)
        assert Level(1.5) == d.floor
        assert inside(demands()[0]).intersection(d.asked).area == pytest.approx(0.0, abs=1e-6)


def test_beside_a_tab_the_bit_s_round_is_left_without_complaint() -> None:
    shoulders = [d for d in demands(tabs=TABS) if d.name.startswith("tab") and not d.may]
    assert 4 == len(shoulders)
    for d in shoulders:
        assert (8 + 2 * (3.175 + 0.0205)) * KERF == pytest.approx(d.asked.area)
    relaxed = demands(tabs=TABS)[0].relaxed
    assert relaxed is not None
    assert 4 * (8 + 6.391) * KERF == pytest.approx(relaxed.area)


def test_tabs_are_cut_where_they_are_wanted() -> None:
    for tab, d in zip(operation(tabs=TABS).tabs, cores(), strict=True):
        assert 1e-6 > d.asked.exterior.distance(shapely.Point(tab.at))
        assert (8.0, 1.5) == (tab.length, tab.height)


def test_the_odd_tab_stands_on_the_bass_side() -> None:
    assert [-1, -1, 1] == [math.copysign(1, t.at[1]) for t in operation(tabs={**TABS, "count": 3}).tabs]


def test_by_hand_remain_the_tabs() -> None:
    feature, s = outline(tabs=TABS)
    assert ["Saw through the 4 tabs. Each is 8.00 mm long and 1.50 mm high. Plane the edge flush."] == [
        h.what for h in feature.by_hand(s, near(s))
    ]
    feature, s = outline()
    assert [] == list(feature.by_hand(s, near(s)))


NO_ROOM = ("the long edges have no room for these tabs", "give fewer or shorter tabs", "tabs")


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"bit": "vee60"}, ("vee60 is not a flat bit; the edge would not be square", "name a flat bit", "bit")),
        ({"depth": 6}, ("the depth reaches the bed", "leave `depth` out to cut through", "depth")),
        (
            {"tabs": {**TABS, "height": 6}},
            ("a tab 6.00 mm high does not fit into this cut", "give a `height` between 0.00 mm and 6.00 mm", "tabs"),
        ),
        (
            {"depth": 4, "tabs": TABS},
            ("a tab 1.50 mm high does not fit into this cut", "give a `height` between 2.00 mm and 6.00 mm", "tabs"),
        ),
        ({"tabs": {**TABS, "length": 440}}, NO_ROOM),
        # 36 tabs of 16: 18 on an edge of 478, 22.8 mm from one to the next, which is less than a tab, the bit and 2 mm.
        ({"tabs": {**TABS, "count": 36, "length": 16}}, NO_ROOM),
    ],
)
def test_what_cannot_be_cut_is_refused(keys: dict[str, object], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(**keys)
    assert told == (caught.value.problem, caught.value.hint, caught.value.key)
