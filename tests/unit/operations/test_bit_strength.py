"""What a fine bit bears, against elementary mechanics."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import flat
from toolpaths.operations.bit_strength import (
    BENDS,
    SAFETY,
    edge_chip,
    fine_pass,
    force_on,
    limits_of,
    root_stress,
    safety,
)
from toolpaths.operations.cutting_forces import deflection

SLOT = flat(0.58, cutting_length=3.0, shank=3.175, stickout=15.0)
sizes = st.tuples(st.floats(0.3, 1.6), st.floats(2.0, 12.0), st.floats(0.002, 0.02), st.floats(0.0, 0.06))


def test_the_stress_is_that_of_a_bar_held_at_its_root() -> None:
    # 0.5 N, 3 - 0.29 / 2 from the root, a core of 0.6 x 0.58: F l / (pi d^3 / 32). Elementary mechanics, derived.
    expected = 0.5 * (3.0 - 0.145) / (math.pi * 0.348**3 / 32)
    assert expected == pytest.approx(root_stress(SLOT, 0.5, 0.29))


def test_runout_is_taken_by_the_edge_that_stands_out() -> None:
    # Two edges, 0.01 each: with 0.004 of runout one cuts 0.014; with 0.02 one cuts all of a turn. Derived.
    assert [0.01, 0.014, 0.02, 0.02] == pytest.approx([edge_chip(0.01, 2, r) for r in (0.0, 0.004, 0.01, 0.05)])
    assert 0.01 == edge_chip(0.01, 1, 0.05)


def test_a_wobbling_spindle_leaves_less_reserve() -> None:
    assert safety(SLOT, 0.01, 0.29, 0.0) > safety(SLOT, 0.01, 0.29, 0.005) > safety(SLOT, 0.01, 0.29, 0.02)


def test_twice_the_diameter_is_eight_times_as_strong() -> None:
    thick = flat(1.16, cutting_length=3.0, shank=3.175, stickout=15.0)
    assert 8.0 == pytest.approx(safety(thick, 0.01, 0.29, 0.01) / safety(SLOT, 0.01, 0.29, 0.01))


def test_steel_counts_as_stronger_and_blunter_than_carbide() -> None:
    steel = flat(0.58, cutting_length=3.0, shank=3.175, stickout=15.0, material="HSS")
    assert 2500 / 2000 * (0.02 + 0.004) / (0.02 + 0.006) == pytest.approx(
        safety(steel, 0.01, 0.29, 0.02) / safety(SLOT, 0.01, 0.29, 0.02)
    )


@given(sizes)
def test_what_is_chosen_keeps_the_reserve_and_is_the_most_that_does(size: tuple[float, float, float, float]) -> None:
    diameter, long, chip, runout = size
    bit = flat(diameter, cutting_length=long, shank=3.175, stickout=15.0)
    strong, stiff = limits_of(bit, "mm")
    depth = strong.deepest(chip, runout, long / 2)
    assert depth == pytest.approx(long / 2) or safety(bit, chip, depth, runout) == pytest.approx(SAFETY, rel=1e-6)
    assert safety(bit, chip, depth, runout) >= SAFETY * (1 - 1e-9)
    thick = strong.thickest(0.2, runout, 0.05)
    assert thick == 0.0 or safety(bit, thick, 0.2, runout) >= SAFETY * (1 - 1e-9)
    found = stiff.deepest(chip, runout, long / 2)
    assert deflection(bit, force_on(bit, chip, found, runout), found) <= BENDS * (1 + 1e-9)
    found = stiff.thickest(0.2, runout, 0.05)
    assert found == 0.0 or deflection(bit, force_on(bit, found, 0.2, runout), 0.2) <= BENDS * (1 + 1e-9)


def test_a_fine_bit_is_given_half_of_itself_and_at_most_three_tenths() -> None:
    # 0.2 to 0.3 mm a pass is what the trade takes with such bits: from memory.
    assert [0.15, 0.25, 0.29, 0.3, 0.3] == pytest.approx([fine_pass(d) for d in (0.3, 0.5, 0.58, 0.6, 0.9)])
