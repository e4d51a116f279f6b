"""What a bit meets, from the wood before each move: slots, half-width passes, air, ramps and plunges.

The block is 60 x 30 mm, 10 high; the bit 6 mm. Figures are derived from the geometry of each text.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.check_input_builder import inputs, program
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import Engagement, at_places, engagement

SLOT = "G0 X-14 Y0\nG1 Z8 F1000\nG1 X44 F1000\nG0 Z16\n"


def beside(y: float, z: float = 8.0) -> str:
    """A pass along the slot, at another y."""
    return f"G0 X-14 Y{y:g}\nG1 Z{z:g} F1000\nG1 X44 F1000\nG0 Z16\n"


def along(of: CheckInput, y: float, part: float = 0.5) -> Engagement:
    """What is met halfway on the last level move at a y."""
    moves = of.moves
    flat = np.hypot(*(moves.end - moves.start)[:, :2].T) > 40
    at = np.nonzero(flat & (np.abs(moves.start[:, 1] - y) < 1e-9) & (moves.end[:, 2] < 10))[0][-1:]
    return at_places(of, at, np.array([part]))


def test_a_slot_is_as_wide_as_the_bit() -> None:
    met = along(inputs(program(SLOT)), 0)
    assert (1.0, 2.0, True) == pytest.approx((met.radial[0], met.axial[0], bool(met.slot[0])), abs=1e-6)
    # 6 x 2 mm.
    assert 12.0 == pytest.approx(met.section[0], rel=0.01)
    assert met.from_wall[0] >= 0.5


@pytest.mark.parametrize("width", [0.06, 0.3, 0.6, 1.5, 2.4])
def test_a_pass_along_a_wall_is_as_wide_as_its_step(width: float) -> None:
    """From 1 % of the bit's width up; within 1.5 % of the diameter, or a tenth of the width."""
    met = along(inputs(program(SLOT + beside(width))), width)
    assert width / 6 == pytest.approx(met.radial[0], abs=max(0.015, 0.1 * width / 6))
    assert width / 6 == pytest.approx(met.from_wall[0], abs=max(0.015, 0.1 * width / 6))
    assert not met.slot[0]


def test_half_the_width_reaches_the_middle() -> None:
    met = along(inputs(program(SLOT + beside(3.0))), 3.0)
    assert 0.5 == pytest.approx(met.radial[0], abs=0.07)
    assert 0.45 <= met.from_wall[0]


def test_the_same_way_again_meets_air() -> None:
    met = along(inputs(program(SLOT + SLOT)), 0)
    assert (0.0, 0.0, False) == (met.radial[0], met.axial[0], bool(met.cuts[0]))


def test_a_second_level_meets_what_the_first_left() -> None:
    met = along(inputs(program(SLOT + beside(0, 5.5))), 0)
    assert (2.5, 1.0) == pytest.approx((met.axial[0], met.radial[0]), abs=1e-6)


def test_wood_cut_by_an_earlier_program_is_gone() -> None:
    met = along(inputs(program(SLOT), earlier=program(SLOT)), 0)
    assert not met.cuts[0]


def test_beyond_the_wood_is_air() -> None:
    # x = 49.5: three mm of bit ahead lie off the block, which ends at 50.
    met = along(inputs(program("G0 X-14 Y0\nG1 Z8 F1000\nG1 X58 F1000\nG0 Z16\n")), 0, part=(54 + 14) / (58 + 14))
    assert not met.cuts[0]


def test_a_ramp_is_told_by_its_slope() -> None:
    # 2 mm down over 58: 1.975 degrees.
    of = inputs(program("G0 X-8 Y0\nG1 Z10 F1000\nG1 X44 Z8 F700\nG0 Z16\n"))
    met = engagement(of)
    ramp = met.cuts & (met.slope > 0.5) & ~met.plunges
    assert np.degrees(np.arctan2(2, 52)) == pytest.approx(float(met.slope[ramp].mean()))


def test_a_plunge_meets_the_wood_under_it() -> None:
    of = inputs(program("G0 X20 Y0\nG1 Z7 F200\nG0 Z16\n"))
    met = engagement(of)
    down = met.plunges & met.cuts
    assert down.any()
    # At its end: nothing of this very move counts as cut.
    assert 3.0 == pytest.approx(float(met.axial[down].max()), abs=1e-6)


def test_every_kind_of_move_is_looked_at() -> None:
    of = inputs(program(SLOT + beside(0.6) + beside(0.6)))
    met = engagement(of)
    heights = {round(float(r), 1) for r in met.radial[met.level]}
    assert {1.0, 0.1} <= heights
    assert engagement(of) is met, "it is worked out once for all checks"
