"""A rounded top: how deep its edges lie, and a radius that grows. Table values: tests/outside/test_handbook.py."""

import math

import pytest

from toolpaths.instrument.boards import radius_at, sagitta


def test_a_full_half_circle_is_as_deep_as_its_radius() -> None:
    assert 25.0 == sagitta(25, 50)


def test_the_edge_lies_on_the_circle() -> None:
    # 3-4-5: a circle of 5, 8 wide, stands 3 from its centre at the edge.
    assert 2.0 == pytest.approx(sagitta(5, 8), abs=1e-15)
    assert 0.0 == sagitta(305, 0)


def test_a_very_large_radius_keeps_its_digits() -> None:
    # For R >> w the sagitta is w^2 / (8 R).
    assert 42**2 / 8e9 == pytest.approx(sagitta(1e9, 42), rel=1e-9)


@pytest.mark.parametrize(("width", "says"), [(50.1, "wider than a circle"), (-1, "not less than 0")])
def test_an_impossible_width_is_an_error(width: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        sagitta(25, width)


def test_one_radius_holds_along_the_board(make_instrument) -> None:
    instrument = make_instrument(radius=305)
    assert 305 == radius_at(instrument.board, instrument, 0) == radius_at(instrument.board, instrument, 400)


def test_a_flat_board_has_none(instrument) -> None:
    assert radius_at(instrument.board, instrument, 100) is None


def test_a_compound_radius_grows_linearly_to_the_end(make_instrument) -> None:
    instrument = make_instrument(radius={"nut": 254, "end": 406})
    # The board ends at 648 x 3/4 + 8 = 494.
    assert 254 == radius_at(instrument.board, instrument, 0)
    assert 330 == pytest.approx(radius_at(instrument.board, instrument, 247))
    assert 406 == pytest.approx(radius_at(instrument.board, instrument, 494))


def test_a_wider_board_is_deeper_at_its_edge() -> None:
    assert sagitta(305, 43) < sagitta(305, 56) < sagitta(254, 56)
    assert math.isclose(sagitta(305, 56), 305 - math.sqrt(305**2 - 28**2), rel_tol=1e-9)
