"""Frets stand where twelve equal steps an octave put them. Check numbers: derived, except where said."""

import numpy as np
import pytest

from toolpaths.instrument.frets import cents_between, cents_off, fret_distance, fret_distances, spacing


def test_the_octave_lies_halfway() -> None:
    assert 325.0 == pytest.approx(fret_distance(650, 12), abs=1e-12)
    assert 0.0 == fret_distance(650, 0)


def test_the_second_octave_leaves_a_quarter() -> None:
    assert 650 * 3 / 4 == pytest.approx(fret_distance(650, 24), abs=1e-12)


def test_the_first_fret_is_the_scale_over_17_817154() -> None:
    # 1 / (1 - 2^(-1/12)), the fret maker's divisor; derived.
    assert 650 / 17.817154 == pytest.approx(fret_distance(650, 1), abs=1e-5)


def test_distances_are_those_of_each_fret_in_turn() -> None:
    assert [fret_distance(584, n) for n in range(1, 20)] == list(fret_distances(584, 19))
    assert (0,) == fret_distances(584, 0).shape


def test_spacing_starts_at_the_nut_and_adds_up() -> None:
    gaps = spacing(648, 22)
    assert fret_distance(648, 1) == pytest.approx(gaps[0])
    np.testing.assert_allclose(np.cumsum(gaps), fret_distances(648, 22), rtol=1e-13)


def test_each_space_is_a_twelfth_root_of_two_narrower_than_the_last() -> None:
    gaps = spacing(648, 22)
    np.testing.assert_allclose(gaps[:-1] / gaps[1:], 2 ** (1 / 12), rtol=1e-10)


def test_an_octave_has_1200_cents_and_down_is_negative() -> None:
    assert 1200 == pytest.approx(cents_between(220, 440))
    assert -1200 == pytest.approx(cents_between(440, 220))


def test_a_tenth_of_a_millimetre_at_the_octave_is_half_a_cent() -> None:
    # Derived: 1200 log2(324 / 323.9).
    assert 0.534 == pytest.approx(cents_off(648, 12, 0.1), abs=5e-4)


def test_towards_the_bridge_is_sharp_towards_the_nut_is_flat() -> None:
    assert cents_off(648, 5, 0.05) > 0 > cents_off(648, 5, -0.05)
    assert 0 == cents_off(648, 5, 0.0)


def test_a_whole_fret_of_error_is_a_hundred_cents() -> None:
    error = fret_distance(648, 8) - fret_distance(648, 7)
    assert 100 == pytest.approx(cents_off(648, 7, error))


def test_a_fret_beyond_the_bridge_has_no_pitch() -> None:
    with pytest.raises(ValueError, match="at the bridge or beyond"):
        cents_off(648, 12, 324.0)
