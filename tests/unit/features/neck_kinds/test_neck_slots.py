"""Rod channel, bar slots and nut slot: where they lie, how deep, with which bit, and what is refused in words.

The instrument: scale 600 mm, 20 frets, 40 mm wide at the nut and 50 mm at fret 12 (300 mm); the blank is 26 mm thick.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from pydantic import ValidationError

from tests.support.setup_builder import context, flat, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.feature import Feature
from toolpaths.features.kinds import FEATURES
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Channel
from toolpaths.target_shape.demand import ArcFloor, Demand, Level

NECK: dict[str, Any] = {
    "thickness": {1: 20.5, 12: 22},
    "margin": 0.5,
    "heel": {"from": 340, "to": 420, "width": 56, "thickness": 26, "blend": 20},
    "headstock": {"length": 150, "width": 70, "thickness": 14},
}
GIVEN: dict[str, dict[str, Any]] = {
    "truss_rod_channel": {"bit": "six", "width": 6.4, "depth": 9.5, "from": -5, "to": 350},
    "reinforcement_slots": {"bit": "three", "width": 3.4, "depth": 6.5, "offset": 11, "from": 20, "to": 320},
    "nut_slot": {"bit": "three", "width": 3.3, "depth": 3},
}
POCKET = {"end": "heel", "width": 12, "length": 20, "depth": 11}


def made(
    key: str, *, neck: Any = NECK, part: str = "neck", setup: Any = None, without: str = "", **keys: Any
) -> tuple[Feature, SetupContext]:
    given = {k: v for k, v in {**GIVEN[key], **keys}.items() if k != without}
    feature = FEATURES[key].model_validate(given, context={"units": "mm"})
    s = context(
        feature,
        bits={"bar": flat(3.4)},
        setup={"nut_at": 170, **(setup or {})},
        part=part,
        instrument={
            "scale_length": 600,
            "frets": 20,
            "strings": 6,
            "board": {"width": {"nut": 40, 12: 50}, "overhang": 10, "thickness": 6},
            "neck": neck,
        },
        stock={"length": 640, "width": 100, "thickness": 26},
    )
    return s.setup.features[0], s


def demands(key: str, **keys: Any) -> dict[str, Demand]:
    feature, s = made(key, **keys)
    return {d.name: d for d in feature.demands(s)}


def channels(key: str, **keys: Any) -> list[Channel]:
    feature, s = made(key, **keys)
    found = list(feature.operations(s))
    assert all(isinstance(o, Channel) for o in found)
    return found  # type: ignore[return-value]


def words(key: str, **keys: Any) -> str:
    feature, s = made(key, **keys)
    return " ".join(h.what for h in feature.by_hand(s, near(s)))


def refused(key: str, **keys: Any) -> tuple[str, str]:
    """(what is wrong, the key at fault)."""
    feature, s = made(key, **keys)
    with pytest.raises(FeatureError) as found:
        _ = [list(feature.demands(s)), list(feature.operations(s))]
    return found.value.problem, found.value.key


def stadium(length: float, width: float) -> float:
    return width * (length - width) + math.pi * width**2 / 4


# The rod's channel


def test_from_and_to_are_the_extremes_of_the_rounded_channel() -> None:
    d = demands("truss_rod_channel")["rod channel"]
    assert (-5.0, -3.2, 350.0, 3.2) == pytest.approx(d.asked.bounds, abs=1e-3)
    assert stadium(355, 6.4) == pytest.approx(d.asked.area, rel=1e-5)
    assert Level(26 - 9.5) == d.floor
    assert (3.0, None) == (d.radius, d.run_out)


def test_a_squared_channel_is_a_rectangle() -> None:
    d = demands("truss_rod_channel", ends="squared")["rod channel"]
    assert 355 * 6.4 == pytest.approx(d.asked.area)
    # Four corners of r^2 (1 - pi / 4) are left for the hands; the bit may cut within eps of the walls.
    assert 4 * 9 * (1 - math.pi / 4) == pytest.approx(d.corner_region(0.02).area, rel=0.03)
    assert channels("truss_rod_channel", ends="squared")[0].squared


def test_a_fret_may_stand_for_an_end() -> None:
    # 600 (1 - 2^(-1/12)) = 33.675 and fret 12 at 300; derived.
    d = demands("truss_rod_channel", **{"from": "fret 1", "to": "fret 12"})["rod channel"]
    assert (33.675, 300.0) == pytest.approx(d.asked.bounds[::2], abs=1e-3)


def test_the_operation_runs_between_the_same_extremes() -> None:
    (o,) = channels("truss_rod_channel")
    assert [[[-5.0, 0.0], [350.0, 0.0]]] == o.ends.tolist()
    assert (6.4, 26.0, 16.5, (False, False)) == (o.width, o.top, o.floor, o.open_ends)
    assert [[0.0, 16.5]] == o.floor_line.tolist()
    assert ("rod channel",) == o.names


def test_the_adjuster_s_pocket_begins_where_the_channel_ends_and_runs_outward() -> None:
    for end, extremes in (("heel", (350.0, 370.0)), ("nut", (-25.0, -5.0))):
        d = demands("truss_rod_channel", adjuster={**POCKET, "end": end})["adjuster pocket"]
        assert extremes == pytest.approx(d.asked.bounds[::2], abs=1e-3)
        assert stadium(20, 12) == pytest.approx(d.asked.area, rel=1e-4)
        assert Level(15.0) == d.floor


def test_channel_and_pocket_are_one_cavity() -> None:
    # A half circle of radius 6 has the channel's width of 6.4 at 6 - sqrt(36 - 3.2^2) = 0.9246 from its extreme.
    for end, meet in (("heel", 350.9246), ("nut", -5.9246)):
        both = demands("truss_rod_channel", adjuster={**POCKET, "end": end})
        channel, pocket = both["rod channel"], both["adjuster pocket"]
        assert meet == pytest.approx(channel.asked.bounds[2 if end == "heel" else 0], abs=1e-3)
        assert channel.run_out is not None
        assert pocket.asked.buffer(1e-3).covers(channel.run_out)
        assert "Polygon" == channel.asked.union(pocket.asked).geom_type
        ops = {o.names[0]: o for o in channels("truss_rod_channel", adjuster={**POCKET, "end": end})}
        assert ((False, True) if end == "heel" else (True, False)) == ops["rod channel"].open_ends
        assert (False, False) == ops["adjuster pocket"].open_ends


def test_an_open_pocket_runs_out_of_the_heel() -> None:
    d = demands("truss_rod_channel", adjuster=POCKET, open=True)["adjuster pocket"]
    assert (350.0, 420.0) == pytest.approx(d.asked.bounds[::2], abs=1e-3)
    assert d.run_out is not None
    # Two radii and 1 mm beyond.
    assert (420.0, -6.0, 427.0, 6.0) == pytest.approx(d.run_out.bounds, abs=1e-6)
    assert (False, True) == channels("truss_rod_channel", adjuster=POCKET, open=True)[1].open_ends


def test_without_a_pocket_the_channel_s_heel_end_runs_out() -> None:
    d = demands("truss_rod_channel", open=True)["rod channel"]
    assert 420.0 == d.asked.bounds[2]
    assert (False, True) == channels("truss_rod_channel", open=True)[0].open_ends


def test_on_a_neck_without_a_headstock_a_pocket_runs_out_at_the_nut() -> None:
    bare = {"thickness": {1: 20.5}}
    pocket = {**POCKET, "end": "nut"}
    d = demands("truss_rod_channel", neck=bare, adjuster=pocket, open=True, **{"from": 15})["adjuster pocket"]
    assert (-5.0, 15.0) == pytest.approx(d.asked.bounds[::2], abs=1e-3)


def test_a_one_way_rod_lies_on_an_arc_through_three_depths() -> None:
    floor = {"ends": 9, "middle": 11}
    d = demands("truss_rod_channel", without="depth", floor=floor)["rod channel"]
    assert ArcFloor(-5.0, 350.0, 17.0, 15.0) == d.floor
    # Half the chord 177.5, rise 2: R = 7877.56, slope at the end 177.5 / (R - 2) = 0.0225382; times the bit's 3 mm.
    assert 3 * 0.0225382 == pytest.approx(d.scallop, rel=1e-5)
    (o,) = channels("truss_rod_channel", without="depth", floor=floor)
    x, z = o.floor_line[:, 0] - 5, o.floor_line[:, 1]
    radius = (177.5**2 + 2**2) / 4
    assert [radius] * len(x) == pytest.approx(list(np.hypot(x - 172.5, z - 15 - radius)), abs=1e-6)
    assert (17.0, 15.0, 17.0) == pytest.approx((z[0], z.min(), z[-1]), abs=2e-3)
    # No chord strays by more than 0.002: its sagitta is l^2 / (8 R).
    assert np.diff(x).max() ** 2 / (8 * radius) < 0.00201


def test_by_hand_the_rod_is_tried_dry_and_kept_free_of_glue() -> None:
    said = words("truss_rod_channel")
    assert "6.40 mm wide, 9.50 mm deep from the glue face; over all 355.00 mm long" in said
    assert "Keep all glue out of the channel" in said
    arc = words("truss_rod_channel", without="depth", floor={"ends": 9, "middle": 11})
    # 3.2 mm inside an end, on the circle of radius (172.5^2 + 2^2) / 4: 11 - 169.3^2 / (2 R) = 9.07.
    assert "11.00 mm deep from the glue face in the middle, 9.07 mm half a width inside its ends" in arc


@pytest.mark.parametrize(
    ("keys", "problem", "key"),
    [
        ({"bit": "quarter", "width": 6.2}, "quarter cuts 6.35 mm wide, and the channel is 6.20 mm: "
         "no bit cuts a slot narrower than itself", "bit"),
        ({"bit": "vee60"}, "vee60 is not a flat bit; the walls and the floor would not be square", "bit"),
        ({"depth": 26}, "the channel would go through the blank", "depth"),
        ({"to": 0}, "from -5.00 mm to 0.00 mm is too short for a channel 6.40 mm wide", "to"),
        ({"to": "fret 21"}, "there is no fret 21", "to"),
        ({"adjuster": {**POCKET, "depth": 30}}, "the adjuster's pocket would go through the blank", "adjuster"),
        ({"adjuster": {**POCKET, "width": 6}},
         "the adjuster's pocket, 6.00 mm wide, is narrower than the channel", "adjuster"),
        ({"adjuster": {**POCKET, "length": 10}},
         "a pocket 12.00 mm wide must be at least 12.00 mm long for six", "length"),
        ({"adjuster": {**POCKET, "end": "nut"}, "open": True},
         "the headstock is beyond the pocket: it cannot run out of the wood there", "open"),
        ({"without": "depth", "floor": {"ends": 5, "middle": 11}, "to": 95},
         "the floor would be steeper at its ends than this bit may slope down (3.0 degrees)", "floor"),
        ({"part": "board", "neck": None}, "this job makes a board, and a rod's channel is in the neck", ""),
        ({"setup": {"flip": "about x"}}, "in this setup the neck lies on its glue face", ""),
    ],
)  # fmt: skip
def test_a_channel_that_cannot_be_cut_is_refused_in_words(keys: dict[str, Any], problem: str, key: str) -> None:
    assert (problem, key) == refused("truss_rod_channel", **keys)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"floor": {"ends": 9, "middle": 11}}, "give either `depth`, or `floor: {ends: ..., middle: ...}`"),
        ({"without": "depth", "floor": {"ends": 11, "middle": 9}}, "`middle` must be at least as deep as `ends`"),
        ({"ends": "pointed"}, "rounded"),
        ({"adjuster": {"end": "side", "width": 12, "length": 20, "depth": 11}}, "heel"),
    ],
)
def test_a_channel_written_wrongly_is_no_channel(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said.split("{", maxsplit=1)[0].replace("(", r"\(")):
        made("truss_rod_channel", **keys)


# The bars


def test_bars_lie_at_the_offset_on_both_sides() -> None:
    both = demands("reinforcement_slots")
    assert ["bar slot, treble side", "bar slot, bass side"] == list(both)
    treble, bass = both["bar slot, treble side"], both["bar slot, bass side"]
    assert (20.0, 9.3, 320.0, 12.7) == pytest.approx(treble.asked.bounds, abs=1e-3)
    assert (20.0, -12.7, 320.0, -9.3) == pytest.approx(bass.asked.bounds, abs=1e-3)
    assert stadium(300, 3.4) == pytest.approx(treble.asked.area, rel=1e-5)
    assert Level(19.5) == bass.floor


def test_along_the_taper_they_are_parallel_to_the_board_s_edges() -> None:
    # The half width grows from 20 to 25 mm over 300 mm: 1 in 60. The slot's extremes along the neck stay 20 and 320.
    treble = demands("reinforcement_slots", follow="taper")["bar slot, treble side"]
    assert (20.0, 320.0) == pytest.approx(treble.asked.bounds[::2], abs=1e-3)
    middle = treble.asked.centroid
    assert (170.0, 11 + 150 / 60) == pytest.approx((middle.x, middle.y), abs=1e-3)
    length = 300 * math.hypot(1, 1 / 60)
    half = 1.7 * (math.hypot(1, 1 / 60) - 1)
    assert stadium(length - 2 * half, 3.4) == pytest.approx(treble.asked.area, rel=1e-5)


@pytest.mark.parametrize("follow", ["centreline", "taper"])
def test_their_operation_is_the_shape_asked_for(follow: str) -> None:
    (o,) = channels("reinforcement_slots", follow=follow)
    both = demands("reinforcement_slots", follow=follow)
    for (a, b), name in zip(o.ends, o.names, strict=True):
        u = (b - a) / np.hypot(*(b - a))
        shape = shapely.LineString([a + 1.7 * u, b - 1.7 * u]).buffer(1.7, 256)
        assert 0.0 == pytest.approx(shape.symmetric_difference(both[name].asked).area, abs=0.01)


def test_the_width_rests_on_a_pass_for_each_wall_or_on_the_bit_and_its_runout() -> None:
    # The bench router's runout is 0.02 mm in its file.
    assert "The width depends on the real diameter of three (assumed 3 mm)" in words("reinforcement_slots")
    alone = words("reinforcement_slots", bit="bar")
    assert "in one pass of bar, so it comes out as wide as that bit and its runout, about 3.420 mm" in alone
    assert channels("reinforcement_slots", bit="bar")[0].title == "slots for the bars, 3.40 mm wide, in one pass"


def test_by_hand_bars_go_in_and_are_levelled_before_the_board() -> None:
    said = words("reinforcement_slots")
    assert "3.40 mm wide, 6.50 mm deep from the glue face, and 300.00 mm long" in said
    # 300 less the rounded ends' 3.4.
    assert "cut the bar to 296.60 mm" in said
    assert "level them with the glue face before the rod and the board go on" in said


@pytest.mark.parametrize(
    ("keys", "problem", "key"),
    [
        ({"bit": "six"}, "six cuts 6.00 mm wide, and each slot is 3.40 mm: no bit cuts a slot narrower than itself",
         "bit"),
        ({"offset": 1.5}, "slots 3.40 mm wide, 1.50 mm from the centreline, would run into each other", "offset"),
        ({"depth": 40}, "the slots would go through the blank", "depth"),
        ({"from": 318}, "from 318.00 mm to 320.00 mm is too short for a slot 3.40 mm wide", "to"),
        ({"part": "board", "neck": None}, "this job makes a board, and the bars are in the neck", ""),
        ({"setup": {"flip": "about x"}}, "in this setup the neck lies on its glue face", ""),
    ],
)  # fmt: skip
def test_bars_that_cannot_be_cut_are_refused_in_words(keys: dict[str, Any], problem: str, key: str) -> None:
    assert (problem, key) == refused("reinforcement_slots", **keys)


# The nut


def test_the_nut_slot_ends_at_its_edge_and_spans_the_shaft_with_its_margin() -> None:
    d = demands("nut_slot")["nut slot"]
    # 40 mm at the nut and 0.5 mm of margin on each side.
    assert (-3.3, -20.5, 0.0, 20.5) == pytest.approx(d.asked.bounds)
    assert 3.3 * 41 == pytest.approx(d.asked.area)
    assert d.run_out is not None
    assert (-3.3, -27.5 + 3, 0.0, 27.5 - 3) == pytest.approx(d.run_out.bounds)
    assert Level(23.0) == d.floor


def test_on_a_board_it_spans_the_board() -> None:
    # 40 mm at the nut, 1 in 30 wider toward the bridge: 40.4 at 12 mm.
    d = demands("nut_slot", part="board", neck=None, edge=12)["nut slot"]
    assert (8.7, -20.2, 12.0, 20.2) == pytest.approx(d.asked.bounds)


def test_it_is_cut_across_and_out_at_both_sides() -> None:
    (o,) = channels("nut_slot")
    np.testing.assert_allclose(o.ends, [[[-1.65, -20.5], [-1.65, 20.5]]])
    assert ((True, True), 23.0) == (o.open_ends, o.floor)


def test_by_hand_the_nut_is_fitted_dry() -> None:
    assert "3.30 mm wide and 3.00 mm deep from the glue face" in words("nut_slot")
    assert "The wall on the bridge's side is at the nut line. The nut must touch this wall" in words("nut_slot")


@pytest.mark.parametrize(
    ("keys", "problem", "key"),
    [
        ({"bit": "six"}, "six cuts 6.00 mm wide, and the slot is 3.30 mm: no bit cuts a slot narrower than itself",
         "bit"),
        ({"depth": 26}, "the slot would go through the blank", "depth"),
        ({"setup": {"flip": "about x"}}, "in this setup the blank lies face down", ""),
    ],
)  # fmt: skip
def test_a_nut_slot_that_cannot_be_cut_is_refused_in_words(keys: dict[str, Any], problem: str, key: str) -> None:
    assert (problem, key) == refused("nut_slot", **keys)


@pytest.mark.parametrize(("more", "wall"), [({"nut_compensation": 0.5}, 0.5), ({"zero_fret": {"nut_behind": 4}}, -4.0)])
def test_the_nut_slot_goes_where_the_instrument_puts_the_nut(more: dict[str, Any], wall: float) -> None:
    feature = FEATURES["nut_slot"].model_validate(GIVEN["nut_slot"], context={"units": "mm"})
    board = {"width": {"nut": 40, 12: 50}, "overhang": 10, "thickness": 6}
    keys = {"scale_length": 600, "frets": 20, "strings": 6, "board": board, "neck": NECK, **more}
    stock = {"length": 640, "width": 100, "thickness": 26}
    s = context(feature, setup={"nut_at": 170}, part="neck", instrument=keys, stock=stock)
    (d,) = s.setup.features[0].demands(s)
    x0, _, x1, _ = d.asked.bounds
    assert (wall - 3.3, wall) == pytest.approx((x0, x1))
    (o,) = s.setup.features[0].operations(s)
    assert isinstance(o, Channel)
    assert [wall - 1.65] * 2 == pytest.approx(o.ends[0][:, 0].tolist())
    side = "bridge" if wall > 0 else "headstock"
    assert (
        f"bridge's side is {abs(wall):.2f} mm from the nut line toward the {side}"
        in next(s.setup.features[0].by_hand(s, near(s))).what
    )
