"""The shapes of bits: what each is, what it refuses, how wide and how high it cuts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

import toolpaths.bits
from toolpaths.bits import BITS
from toolpaths.bits.flat import Flat
from toolpaths.bits.vee import Vee

COMMON = {"cutting_length": 12, "shank": 6, "stickout": 30}


def vee(**keys: object) -> Vee:
    return Vee.model_validate({"shape": "vee", "diameter": 6, "angle": 60, **COMMON, **keys})


def test_the_table_holds_every_file_of_the_folder() -> None:
    folder = Path(toolpaths.bits.__file__).parent
    assert sorted(f.stem for f in folder.glob("*.py") if f.stem != "__init__") == sorted(BITS)


@pytest.mark.parametrize(("name", "bit"), BITS.items())
def test_a_shape_is_written_as_the_table_calls_it(name: str, bit: type) -> None:
    assert name == bit.kind
    assert {"const": name, "title": "Shape", "type": "string"} == bit.model_json_schema()["properties"]["shape"]


# V-bit width 2 d tan(a/2) at d = 1: derived from the formula, worked by hand to five places.
@pytest.mark.parametrize(("angle", "width"), [(30, 0.53590), (60, 1.15470), (90, 2.0)])
def test_a_vee_cuts_two_depths_times_the_tangent_of_half_its_angle(angle: float, width: float) -> None:
    assert width == pytest.approx(vee(angle=angle).width_at(1.0), abs=5e-6)


def test_a_vee_with_a_flat_tip_cuts_wider_by_the_tip() -> None:
    assert 1.15470 + 0.2 == pytest.approx(vee(tip=0.2).width_at(1.0), abs=5e-6)


def test_a_vee_never_cuts_wider_than_its_rim() -> None:
    assert vee().width_at(50) == 6.0


@pytest.mark.parametrize("bit", [vee(tip=0.4), Flat(shape="flat", diameter=6, **COMMON)], ids=["vee", "flat"])
def test_a_bit_out_of_the_wood_cuts_no_line(bit: Vee | Flat) -> None:
    assert [0.0, 0.0] == [bit.width_at(0.0), bit.width_at(-1.0)]


def test_a_vee_rises_by_its_angle_and_ends_at_its_rim() -> None:
    # A 90 degree point rises as fast as it widens.
    heights = vee(angle=90, tip=1).height_at(np.array([[0.0, 0.5], [1.5, 3.0], [3.001, 9.0]]))
    assert [[0, 0], [1, 2.5], [math.inf, math.inf]] == [pytest.approx(row) for row in heights.tolist()]


def test_the_cones_height_is_where_its_width_is_the_diameter() -> None:
    # 3 / tan 30 deg = 5.19615.
    assert vee().cone_height == pytest.approx(5.19615, abs=5e-6)
    assert vee().width_at(vee().cone_height) == pytest.approx(6.0)


def test_a_flat_bit_is_level_to_its_edge() -> None:
    bit = Flat(shape="flat", diameter=6, **COMMON)
    assert [0.0, 0.0, 0.0, math.inf] == bit.height_at(np.array([0, 2, 3, 3.001])).tolist()


def test_a_flat_bit_cuts_what_its_test_slot_measured() -> None:
    bit = Flat(shape="flat", diameter=6, measured_diameter=6.04, **COMMON)
    assert bit.width_at(1.0) == 6.04
    assert bit.height_at(np.array([3.01]))[0] == 0.0


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"measured_diameter": 5.9}, "a V-bit takes no measured_diameter, because its width depends on the depth"),
        ({"tip": 6}, "the flat of the tip must be smaller than the diameter"),
        ({"cutting_length": 4}, "the cone of this angle and diameter is 5.20 mm high"),
        ({"angle": 9}, "greater than or equal to 10"),
        ({"angle": 171}, "less than or equal to 170"),
        ({"tip": -0.1}, "must not be less than 0"),
        ({"shape": "flat"}, "Input should be 'vee'"),
    ],
)
def test_a_vee_that_cannot_be_is_refused_in_words(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        vee(**keys)


def test_a_refusal_speaks_the_jobs_units() -> None:
    keys = {"shape": "vee", "diameter": 0.5, "angle": 60, "cutting_length": 0.2, "shank": 0.25, "stickout": 1}
    # 0.25 / tan 30 deg = 0.433.
    with pytest.raises(ValidationError, match=r"0\.433 in high"):
        Vee.model_validate(keys, context={"units": "in"})


def test_a_cutting_length_that_was_written_rounded_is_taken() -> None:
    assert vee(cutting_length=5.2).cutting_length == 5.2
    assert vee(cutting_length=5.15).cutting_length == 5.15
