"""Where the formulas of moisture hold, and what is told beyond. Figures: tests/outside/test_moisture.py."""

from __future__ import annotations

import pytest

from toolpaths.instrument.wood_movement import change_of_width, moisture_at, movement, movement_by_shrinkage


@pytest.mark.parametrize(("humidity", "temperature"), [(4.9, 21), (95.1, 21), (50, -1.2), (50, 132.3)])
def test_outside_its_range_the_moisture_is_refused(humidity: float, temperature: float) -> None:
    with pytest.raises(ValueError, match="must be from"):
        moisture_at(humidity, temperature)


@pytest.mark.parametrize(("humidity", "temperature"), [(5, -1.1), (95, 132.2)])
def test_at_the_ends_of_its_range_it_is_told(humidity: float, temperature: float) -> None:
    assert 0 < moisture_at(humidity, temperature) < 30


@pytest.mark.parametrize(("start", "end"), [(5.9, 8), (8, 14.1), (14.1, 8), (15, 16)])
def test_the_coefficients_are_refused_outside_6_to_14_percent(start: float, end: float) -> None:
    with pytest.raises(ValueError, match="from 6 to 14 %"):
        movement(50, 0.003, start, end)


@pytest.mark.parametrize("arguments", [(50, 9.9, -1, 8), (50, 9.9, 8, 30.1), (50, 0, 8, 10), (50, 100, 8, 10)])
def test_a_movement_beyond_what_wood_does_is_refused(arguments: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError):
        movement_by_shrinkage(*arguments)


def test_beyond_the_coefficients_range_the_shrinkage_behind_them_is_taken() -> None:
    # C = 0.00353 stands for S = 9.9 % (hard maple): 50 (5 - 9) / (3000 / 9.9 - 30 + 9) = -0.709, derived by hand.
    assert -0.709 == pytest.approx(change_of_width(50, 0.00353, 9, 5), abs=1e-3)
    assert movement(50, 0.00353, 9, 6) == change_of_width(50, 0.00353, 9, 6)
    # No jump at the edge of the range: the two differ by a hundredth of what they tell.
    assert change_of_width(50, 0.00353, 9, 6) == pytest.approx(change_of_width(50, 0.00353, 9, 5.9999), rel=0.01)
