"""No rule of speeds, feeds, depths or step-overs jumps: a slightly wider bit or harder wood changes each a little.

Each bound is Lipschitz's: |f(b) - f(a)| <= steepest |b - a| + rounding. Steepest slopes are those of the rules' own
tables; rounding is what makes figures read well (100 rpm, 10 mm/min, 0.5 in/min).
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from toolpaths.instrument.woods import WOODS
from toolpaths.job.wood import Wood
from toolpaths.operations.chip_load import bit_band, chip_load
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Cutting
from toolpaths.verification.checks.loads.bit_rules import bearable_pass

DIAMETERS = np.arange(0.3, 30.0, 0.04).tolist()
STIFF = {"stiffness": 2000}
SLOW = {"feed_limit": {"x": 1000, "y": 1000, "z": 150}, **STIFF}
# By mm of diameter and by lbf of hardness, and the rounding.
# Pass depth: 0.4 to 3 mm between 1.6 and 3 mm; 0.5 to 1 of 8 mm between 1000 and 600 lbf. Edges of 40 mm bound thin
# bits, which bend, and stout ones not at all: from next to nothing to 3 mm, evenly more over those 1.4 mm.
# Feed: 2 flutes at 18,000 rpm take 36,000 chips a minute; a default chip rises by 0.018 mm a mm and 0.0001 a lbf.
# Speed: 720 m/min fall by 1420 rpm a mm at 12.7 mm; a slow machine's by its thinnest chip, 0.0094 a mm at 3.2 mm.
BOUNDS: dict[str, tuple[float, float, float]] = {
    "pass_depth": (4.1, 0.0101, 0.003),
    "step_over": (0.0, 0.0, 0.0),
    "ramp_angle": (5.8, 0.0176, 1e-9),
    "feed": (800.0, 4.0, 75.0),
    "ramp": (750.0, 3.2, 75.0),
    "plunge": (250.0, 1.3, 35.0),
    "rpm": (6500.0, 30.0, 100.0),
    "chip": (0.021, 0.00012, 0.0045),
    "bearable": (2.1, 0.04, 1e-9),
}


_BITS: dict[tuple[float, bool], Any] = {}
"""Bits by diameter and whether they are pointed, each made once."""


def figures(cutting: Cutting, bit: Any, janka: float) -> dict[str, float]:
    """Every figure that a rule gives."""
    own = {key: float(getattr(cutting, key)) for key in BOUNDS if hasattr(cutting, key)}
    chip = chip_load(cutting.feed, cutting.rpm, 2)
    return {**own, "chip": chip, "bearable": bearable_pass(bit, janka)}


def assert_even(walk: list[tuple[float, dict[str, float]]], which: int) -> None:
    for (a, before), (b, after) in pairwise(walk):
        for key, bound in BOUNDS.items():
            allowed = bound[which] * abs(b - a) + bound[2]
            assert abs(after[key] - before[key]) <= allowed, (key, a, b, before[key], after[key])


@pytest.fixture
def sized(make_bit: Callable[..., Any]) -> Callable[..., Any]:
    def of(d: float, pointed: bool = False) -> Any:
        if (d, pointed) not in _BITS:
            _BITS[d, pointed] = make_bit(d, pointed, flutes=2, cutting_length=40.0, stickout=60.0)
        return _BITS[d, pointed]

    return of


@pytest.mark.parametrize("machine_keys", [STIFF, SLOW, {"units": "in"}], ids=["usual", "slow", "inch"])
@pytest.mark.parametrize(("pointed", "slot"), [(False, False), (False, True), (True, False)])
@pytest.mark.parametrize("janka", [300.0, 600.0, 740.0, 1000.0, 3170.0])
def test_over_the_diameter(
    ask: Any, sized: Any, make_machine: Any, janka: float, pointed: bool, slot: bool, machine_keys: dict[str, Any]
) -> None:
    machine, wood = make_machine(**machine_keys), Wood("wood", janka, 600, "test")
    bits = [(d, sized(d, pointed)) for d in DIAMETERS]
    assert_even([(d, figures(settle(ask(), bit, wood, machine, slot), bit, janka)) for d, bit in bits], 0)


@pytest.mark.parametrize("machine_keys", [STIFF, SLOW], ids=["usual", "slow"])
@pytest.mark.parametrize("pointed", [False, True])
@pytest.mark.parametrize("diameter", [0.3, 0.6, 1.0, 1.5875, 2.2, 3.0, 6.35, 8.0, 10.0, 12.7, 25.0])
def test_over_the_hardness(
    ask: Any, sized: Any, make_machine: Any, diameter: float, pointed: bool, machine_keys: dict[str, Any]
) -> None:
    machine, bit = make_machine(**machine_keys), sized(diameter, pointed)
    jankas = sorted([*np.arange(300.0, 3300.0, 7.0).tolist(), *(float(w.janka) for w in WOODS.values())])
    woods = [(j, Wood("wood", j, 600, "test")) for j in jankas]
    assert_even([(j, figures(settle(ask(), bit, wood, machine), bit, j)) for j, wood in woods], 1)


@pytest.mark.parametrize("stiffness", [20.0, 60.0, 150.0])
@pytest.mark.parametrize("janka", [300.0, 740.0, 3170.0])
def test_a_soft_machine_s_passes_do_not_jump_either(
    ask: Any, sized: Any, make_machine: Any, janka: float, stiffness: float
) -> None:
    # The pass goes inversely with the feed, which is rounded to 10 mm/min in at least 300, below that to 5 in 150.
    machine, wood = make_machine(stiffness=stiffness), Wood("wood", janka, 600, "test")
    depths = [settle(ask(), sized(d), wood, machine).pass_depth for d in DIAMETERS]
    for a, b in pairwise(depths):
        assert abs(a - b) <= BOUNDS["pass_depth"][0] * 0.04 + 0.035 * max(a, b)


def test_bands_of_chips_neither_jump_nor_cross(sized: Any) -> None:
    for janka in (300.0, 600.0, 740.0, 1000.0, 3170.0):
        bands = [bit_band(sized(d), janka) for d in DIAMETERS]
        for a, b in pairwise(bands):
            # Steepest: soft wood from 1/8 to 1/4 in, 0.1 in 3.175 mm; below 1/16 in 0.04 in 1.5875.
            assert 0 <= b.low - a.low <= 0.041 * 0.032
            assert 0 <= b.high - a.high <= 0.041 * 0.032
            assert a.low < a.high


def test_a_wider_planing_bit_never_takes_more(ask: Any, sized: Any, machine: Any) -> None:
    for janka in (400.0, 800.0, 1450.0):
        wood = Wood("wood", janka, 600, "test")
        depths = [settle(ask(), sized(d), wood, machine).pass_depth for d in (8, 9, 10, 11, 12, 12.69, 12.7, 12.71, 25)]
        assert depths == sorted(depths, reverse=True)
        assert 1.0 == depths[-1] == depths[-3]
