"""Lengths, feeds, speeds and accelerations against pint, a general-purpose library of units."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Literal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.closed_forms import corner_speed, trapezoid_seconds
from toolpaths.common.units import MM_PER_INCH, length, show, show_feed
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.job.files.machine_file import machine_folder, read_machine
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.machine import Machine
from toolpaths.operations.chip_load import chip_load, surface_speed

UNITS = pint.UnitRegistry()
Unit = Literal["mm", "in"]


def pints(number: float, unit: str) -> float:
    return float(UNITS.Quantity(number, unit).to("mm").magnitude)


def test_an_inch_is_what_pint_says() -> None:
    assert pints(1, "inch") == pytest.approx(MM_PER_INCH, rel=1e-15)


@given(st.floats(-1e6, 1e6), st.sampled_from(["mm", "in"]))
def test_numbers_are_converted_as_pint_converts_them(number: float, unit: Unit) -> None:
    assert pints(number, unit) == pytest.approx(length(number, unit), rel=1e-14)


@given(
    st.decimals(-10_000, 10_000, places=4),
    st.sampled_from(["mm", "in", "inch", "inches"]),
    st.sampled_from(["mm", "in"]),
)
def test_text_with_its_own_unit_is_converted_as_pint_converts_it(number: object, own: str, units: Unit) -> None:
    assert pints(float(str(number)), own) == pytest.approx(length(f"{number:f} {own}", units), rel=1e-14)


@given(st.integers(0, 90), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from(["mm", "in"]))
def test_fractions_are_converted_as_pint_converts_them(whole: int, over: int, under: int, unit: Unit) -> None:
    expected = pints(float(whole + Fraction(over, under)), unit)
    assert expected == pytest.approx(length(f"{whole} {over}/{under} {unit}", "mm"), rel=1e-14)


@given(st.floats(-5000, 5000), st.sampled_from(["mm", "in"]), st.integers(1, 6))
def test_what_is_shown_reads_as_the_same_length_in_pint(mm: float, unit: Unit, digits: int) -> None:
    shown = float(UNITS.Quantity(show(mm, unit, digits)).to("mm").magnitude)
    half_digit = 0.5 * 10.0**-digits * pints(1, unit)
    assert mm == pytest.approx(shown, abs=half_digit * (1 + 1e-6) + 1e-9)


# Speeds and accelerations


def quantity(number: float, unit: str, wanted: str) -> float:
    return float(UNITS.Quantity(number, unit).to(wanted).magnitude)


RATES = {
    "travel": ("inch", "mm"),
    "rapid": ("inch/minute", "mm/minute"),
    "feed_limit": ("inch/minute", "mm/minute"),
    "acceleration": ("inch/second**2", "mm/second**2"),
}
LENGTHS = ("corner_deviation", "chord_tolerance", "safe_height", "bed_allowance", "runout")


def by_name(machine: Machine, key: str) -> dict[str, float]:
    return dict(zip("xyz", getattr(machine, key).as_tuple(), strict=True))


def test_a_machine_file_in_inches_is_read_as_pint_converts_it() -> None:
    """The shipped file of the machine whose programs are in inches, each rate of each axis."""
    path = machine_folder() / "hand-dial.yaml"
    raw, machine = read_document(path).data, read_machine(path)
    assert "in" == raw["units"]
    for key, (written, inside) in RATES.items():
        assert {axis: quantity(raw[key][axis], written, inside) for axis in "xyz"} == pytest.approx(
            by_name(machine, key), rel=1e-14
        ), key
    for key in LENGTHS:
        if key in raw:
            assert quantity(raw[key], "inch", "mm") == pytest.approx(getattr(machine, key), rel=1e-14), key


def machine_of(units: Unit, **rates: Any) -> Machine:
    """A machine of an invented workshop with those rates, the rest in text that carries its own unit."""
    many = {"x": "800 mm", "y": "800 mm", "z": "80 mm"}
    keys: dict[str, Any] = {
        "name": "invented", "units": units, "travel": many, "rapid": many, "feed_limit": many, "acceleration": many,
        "spindle": {"min_rpm": 8000, "max_rpm": 24000, "set_by": "program"}, "offsets": {"G54": None}, "decimals": 4,
        "safe_height": "5 mm", "park": {"x": 0, "y": 0},
        "collet": {"nut_diameter": "20 mm", "nut_height": "15 mm", "holder_diameter": "50 mm"}, "ending": "nc",
    }  # fmt: skip
    return Machine.model_validate({**keys, **rates}, context={"units": units})


@given(st.sampled_from(list(RATES)), st.floats(1e-3, 3e4), st.floats(1e-3, 3e4), st.floats(1e-3, 3e4))
def test_any_rate_in_inches_is_what_pint_makes_of_it(key: str, x: float, y: float, z: float) -> None:
    written, inside = RATES[key]
    given_in = {"x": x, "y": y, "z": z}
    expected = {axis: quantity(value, written, inside) for axis, value in given_in.items()}
    assert expected == pytest.approx(by_name(machine_of("in", **{key: given_in}), key), rel=1e-14)
    own = {axis: f"{value:.6f} in" for axis, value in given_in.items()}
    assert expected == pytest.approx(by_name(machine_of("mm", **{key: own}), key), rel=1e-3)


@given(st.floats(1, 20_000), st.sampled_from(["mm", "in"]))
def test_a_feed_in_a_program_and_in_a_table_is_the_same_feed_in_pint(mm_min: float, unit: Unit) -> None:
    written = quantity(
        float(GcodeFormat(machine_of(unit)).feed(mm_min)), f"{unit}/minute".replace("in/", "inch/"), "mm/minute"
    )
    # The text carries a tenth of a millimetre, or a hundredth of an inch, a minute.
    assert mm_min == pytest.approx(written, abs=0.0501 if unit == "mm" else 0.00501 * 25.4)
    number, _, of = show_feed(mm_min, unit).partition(" ")
    shown = quantity(float(number), {"mm/min": "mm/minute", "in/min": "inch/minute"}[of], "mm/minute")
    assert mm_min == pytest.approx(shown, abs=0.501 if unit == "mm" else 0.0501 * 25.4)


@given(st.floats(1, 200), st.integers(5000, 30_000), st.integers(1, 4))
def test_chip_load_of_a_feed_in_inches_is_what_pint_makes_of_it(inches: float, rpm: int, flutes: int) -> None:
    # Feed over turns a minute and teeth a turn; pint counts a turn as a dimension of its own.
    turns = UNITS.Quantity(rpm, "count/minute") * flutes
    expected = (UNITS.Quantity(inches, "inch/minute") / turns).to("mm/count").magnitude
    assert float(expected) == pytest.approx(chip_load(length(inches, "in"), rpm, flutes), rel=1e-12)


@given(st.floats(0.01, 2), st.integers(5000, 30_000))
def test_surface_speed_of_a_bit_in_inches_is_what_pint_makes_of_it(inches: float, rpm: int) -> None:
    # The rim's speed is the angular speed times the radius.
    turning = UNITS.Quantity(rpm, "revolution/minute").to("radian/minute").magnitude
    feet = quantity(float(turning) * inches / 2, "inch/minute", "foot/minute")
    assert feet == pytest.approx(
        quantity(surface_speed(length(inches, "in"), rpm), "m/minute", "foot/minute"), rel=1e-12
    )


@given(st.floats(0.01, 30), st.floats(1, 100), st.floats(1, 40))
def test_a_move_takes_as_long_in_inches_as_in_millimetres(distance: float, speed: float, acceleration: float) -> None:
    inside = trapezoid_seconds(
        quantity(distance, "inch", "mm"),
        quantity(speed, "inch/minute", "mm/second"),
        quantity(acceleration, "inch/second**2", "mm/second**2"),
    )
    assert inside == pytest.approx(trapezoid_seconds(distance, speed / 60, acceleration), rel=1e-9)


@given(st.floats(20, 170), st.floats(1, 40), st.floats(1e-4, 5e-3))
def test_a_corner_is_as_fast_in_inches_as_in_millimetres(angle: float, acceleration: float, deviation: float) -> None:
    inches = corner_speed(angle, acceleration, deviation)
    inside = corner_speed(
        angle, quantity(acceleration, "inch/second**2", "mm/second**2"), quantity(deviation, "inch", "mm")
    )
    assert quantity(inches, "inch/second", "mm/second") == pytest.approx(inside, rel=1e-9)
