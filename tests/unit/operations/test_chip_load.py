"""Chip load and its bands. Band values: common practice, no source, as in docs/sources.md."""

import pytest

from toolpaths.operations.chip_load import (
    bit_band,
    chip_band,
    chip_load,
    softness,
    surface_speed,
)

SIZES = [1.5875, 3.175, 6.35, 12.7]
HARD = [(0.01, 0.03), (0.02, 0.06), (0.05, 0.13), (0.08, 0.15)]
SOFT = [(0.015, 0.04), (0.03, 0.08), (0.06, 0.18), (0.10, 0.20)]


def test_chip_load_is_feed_over_edges_a_minute() -> None:
    # Derived.
    assert 0.05 == chip_load(1800, 18000, 2)


def test_surface_speed_is_the_rim_in_metres_a_minute() -> None:
    # A metre around, once a minute.
    assert 1.0 == pytest.approx(surface_speed(318.3098862, 1), rel=1e-9)


@pytest.mark.parametrize(("size", "band"), list(zip(SIZES, HARD, strict=True)))
def test_hard_wood_follows_the_table(size: float, band: tuple[float, float]) -> None:
    got = chip_band(size, 1450)
    assert band == pytest.approx((got.low, got.high))


@pytest.mark.parametrize(("size", "band"), list(zip(SIZES, SOFT, strict=True)))
def test_soft_wood_follows_the_table(size: float, band: tuple[float, float]) -> None:
    got = chip_band(size, 500)
    assert band == pytest.approx((got.low, got.high))


def test_between_two_diameters_the_band_lies_between() -> None:
    # Halfway from 1/8 to 1/4 in, hard: (0.02 + 0.05) / 2, (0.06 + 0.13) / 2.
    got = chip_band(4.7625, 1450)
    assert (0.035, 0.095) == pytest.approx((got.low, got.high))


def test_between_hard_and_soft_the_band_lies_between() -> None:
    # 800 lbf is halfway from 600 to 1000.
    got = chip_band(6.35, 800)
    assert (0.055, 0.155) == pytest.approx((got.low, got.high))


def test_above_half_an_inch_the_band_stays() -> None:
    assert chip_band(12.7, 1450) == chip_band(25.4, 1450)


def test_a_scoring_bit_has_a_band_that_goes_with_its_diameter() -> None:
    # 0.0063 D to 0.019 D; 0.6 mm: 0.004 to 0.011, so 140 to 400 mm/min at 18000 rpm and 2 flutes.
    got = chip_band(0.6, 1450)
    assert (0.0063 * 0.6, 0.019 * 0.6) == pytest.approx((got.low, got.high), rel=0.01)
    assert (140, 400) == pytest.approx((got.low * 36000, got.high * 36000), rel=0.05)


@pytest.mark.parametrize("janka", [400, 800, 1450])
@pytest.mark.parametrize("size", SIZES)
def test_the_band_makes_no_jump_at_any_row(size: float, janka: float) -> None:
    below, above = chip_band(size - 1e-6, janka), chip_band(size + 1e-6, janka)
    assert (below.low, below.high) == pytest.approx((above.low, above.high), abs=1e-6)


def test_hardness_counts_between_600_and_1000() -> None:
    assert [1, 1, 0.5, 0, 0] == [softness(j) for j in (300, 600, 800, 1000, 3000)]


def test_the_band_says_that_no_source_stands_behind_it() -> None:
    assert "common practice for hard wood, no source" == chip_band(6.35, 1450).origin
    assert "common practice for wood of middling hardness, no source" == chip_band(6.35, 800).origin


def test_a_bit_without_diameter_has_no_band() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        chip_band(0, 1450)


def test_a_pointed_bit_is_judged_halfway_between_tip_and_rim(make_bit) -> None:
    assert 6.35 == make_bit(6.35).working_diameter
    assert 3.175 == pytest.approx(make_bit(6.35, pointed=True).working_diameter, abs=1e-3)
    assert chip_band(3.175, 1450).low == pytest.approx(bit_band(make_bit(6.35, pointed=True), 1450).low, rel=1e-3)
