"""Kerfs stand evenly from the nut line on, each whole on the shaft."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.neck_builder import PLAIN, WHOLE, instrument
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.kerf_stations import kerf_stations


@given(every=st.floats(3.0, 80.0), width=st.floats(0.5, 12.0))
def test_they_are_every_so_many_mm_and_the_next_would_reach_into_the_heel_s_blend(every: float, width: float) -> None:
    # The shaft keeps its profile up to 330 - 20.
    found = kerf_stations(instrument(WHOLE), every, width)
    assert [every * n for n in range(1, len(found) + 1)] == pytest.approx(found)
    assert all(x + width / 2 <= 310 + 1e-6 for x in found)
    assert every * (len(found) + 1) + width / 2 > 310 - 1e-6


def test_without_a_heel_they_go_on_to_the_board_s_end() -> None:
    # Fret 19 of 584 mm and 8 mm of overhang: 584 (1 - 2^(-19/12)) + 8 = 397.13. Derived.
    found = kerf_stations(instrument(PLAIN), 30.0, 3.0)
    assert (30.0, 390.0, 13) == (found[0], found[-1], len(found))


def test_one_that_ends_right_at_the_blend_is_kept() -> None:
    # 4 * 77 + 2 = 310
    assert [77.0, 154.0, 231.0, 308.0] == kerf_stations(instrument(WHOLE), 77.0, 4.0)


def test_there_may_be_room_for_none() -> None:
    assert [] == kerf_stations(instrument(WHOLE), 309.5, 2.0)


def test_a_board_has_no_back(instrument) -> None:
    with pytest.raises(FeatureError, match="no neck"):
        kerf_stations(instrument, 15.0, 3.0)
