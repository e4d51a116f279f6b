"""`fret_slots` asks for slots where the frets belong, as deep and as wide as the tang wants, open or blind."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pydantic import ValidationError

from tests.support.setup_builder import RACK, context, flat
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.fret_slots import FretSlots
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Lines
from toolpaths.target_shape.demand import Demand

BITS = {**RACK, "slotter": flat(0.6, cutting_length=4.0, shank=3.175, stickout=15.0)}
TABLE = {1: 36.482, 5: 163.050, 12: 325.000, 22: 467.600}
"""Scale 650: distances from the nut, mm. Derived: L (1 - 2^(-n/12)), rounded."""


def slotted(radius: object = None, **keys: object) -> tuple[FretSlots, SetupContext]:
    given = {"bit": "slotter", **({} if "tang" in keys else {"depth": 2.0}), **keys}
    feature = FretSlots.model_validate(given, context={"units": "mm"})
    s = context(Plane(bit="planer", leave=6), feature, bits=BITS, board={"radius": radius} if radius else None)
    placed = s.setup.features[1]
    assert isinstance(placed, FretSlots)
    return placed, s


def demands(radius: object = None, **keys: object) -> dict[str, Demand]:
    feature, s = slotted(radius, **keys)
    return {d.name: d for d in feature.demands(s)}


def lines(radius: object = None, **keys: object) -> Lines:
    feature, s = slotted(radius, **keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Lines)
    return found


def test_slots_stand_where_the_formula_puts_them() -> None:
    found = demands()
    assert 22 == len(found)
    for fret, x in TABLE.items():
        x0, _, x1, _ = found[f"fret {fret}"].asked.bounds
        assert (x - 0.3, x + 0.3) == pytest.approx((x0, x1), abs=1e-3)


def test_open_slots_run_out_at_the_edges_and_blind_ones_stop_short() -> None:
    # 42 mm at the nut, 52 at fret 12.
    edge = 26.0
    _, y0, _, y1 = demands()["fret 12"].asked.bounds
    assert (-edge, edge) == pytest.approx((y0, y1), abs=0.3 * 5 / 325 + 1e-6)  # and the taper over half its width
    blind = demands(ends={"blind": 2.5})["fret 12"]
    assert (-edge + 2.5, edge - 2.5) == pytest.approx((blind.asked.bounds[1], blind.asked.bounds[3]), abs=1e-3)
    # A rectangle with half circles at its ends: w l - w^2 (1 - pi / 4). Derived.
    assert 0.6 * 47 - 0.36 * (1 - math.pi / 4) == pytest.approx(blind.asked.area, abs=1e-3)
    assert blind.run_out is None
    ends = lines(ends={"blind": 2.5}).lines[11]
    assert [-23.2, 23.2] == pytest.approx(ends[:, 1].tolist(), abs=1e-3)


def test_the_tang_gives_depth_and_width() -> None:
    given = lines(tang={"height": 1.6, "width": 0.6}, clearance=0.3)
    assert 6 - 1.9 == pytest.approx(given.floor)
    assert 22 == len(given.lines)
    wide = lines(tang={"height": 1.6, "width": 0.75}, fit=-0.05)
    assert 44 == len(wide.lines)
    assert [0.1] == pytest.approx(np.diff(wide.lines[:2, 0, 0]).tolist())
    assert ("fret 1, nut side", "fret 1, bridge side") == wide.names[:2]
    x0, _, x1, _ = demands(tang={"height": 1.6, "width": 0.75}, fit=-0.05)["fret 12"].asked.bounds
    assert 0.7 == pytest.approx(x1 - x0)


def test_below_the_radius_the_floor_differs_across_the_board_by_the_sagitta() -> None:
    # R 304.8, 52 mm wide at fret 12: 304.8 - sqrt(304.8^2 - 26^2) = 1.1110. Derived.
    floor = demands(304.8, below="radius")["fret 12"].floor
    middle, edge = floor.height(np.full(2, 325.0), np.array([0.0, 26.0]))
    assert 4.0 == pytest.approx(float(middle))
    assert 1.1110 == pytest.approx(float(middle - edge), abs=1e-4)
    own = lines(304.8, below="radius")
    assert len(own.floors) == len(own.lines)
    assert own.floor < 4.0 - 1.1


@pytest.mark.parametrize(
    ("radius", "keys", "words"),
    [
        (None, {"below": "radius"}, "no radius to follow"),
        (304.8, {"below": "radius", "depth": 3.2}, "the cutting edges of slotter are 4.00 mm long"),
        (None, {"depth": 5.2, "bit": "eighth"}, "of wood would be left under the slots"),
        (None, {"tang": {"height": 1.6, "width": 0.5}}, "no bit cuts a slot narrower than itself"),
        (None, {"tang": {"height": 1.6, "width": 1.5}}, "would leave a ridge"),
        (None, {"frets": (23,)}, "there is no fret 23"),
        (None, {"ends": {"blind": 21}}, "nothing would be left of the slot"),
        (None, {"bit": "vee60"}, "not a flat bit"),
    ],
)
def test_what_cannot_be_cut_is_refused(radius: object, keys: dict[str, object], words: str) -> None:
    feature, s = slotted(radius, **keys)
    with pytest.raises(FeatureError, match=words):
        (list(feature.demands(s)), list(feature.operations(s)))


@pytest.mark.parametrize("keys", [{}, {"depth": 2, "tang": {"height": 1.6, "width": 0.6}}])
def test_either_depth_or_tang(keys: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match="either the depth of the slots or the tang"):
        FretSlots.model_validate({"bit": "slotter", **keys}, context={"units": "mm"})
