"""The strings over the body at the bridge: by a neck that is turned, point by point, in a plane of its own."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.common.units import Units
from toolpaths.instrument.string_run import over_bridge
from toolpaths.job.job import Instrument
from toolpaths.verification.fits.fit_parts import Verdict
from toolpaths.verification.fits.strings_at_bridge import strings_at_bridge


def guitar(pocket: float | None = 16.0, *, units: Units = "mm", scale: float = 648.0, **run: float) -> Instrument:
    """A bolt-on neck: its heel from 400 to 475, 25 thick."""
    heel: dict[str, Any] = {"from": 400, "to": 475, "width": 56, "thickness": 25}
    typed: dict[str, Any] = {
        "scale_length": scale,
        "frets": 22,
        "board": {"width": {"nut": 42, "12": 52}, "overhang": 8, "thickness": 6},
        "neck": {"thickness": {1: 21, 12: 22}, "heel": heel},
        "string_run": {"nut": 1.5, "fret": 1.1, "action": 1.7, "bridge": 16.0, **run},
    }
    typed["board"]["width"] = {"nut": 42, 12: 52}
    if pocket is not None:
        heel["pocket"] = {"depth": pocket}
    return Instrument.model_validate(typed, context={"units": units})


def test_the_worked_example_of_the_page() -> None:
    # docs/fit.md: 4.1 above the board, 13.1 above the body; atan(2.9 / 248), 75 * 2.9 / 248. By hand.
    neck = guitar()
    assert neck.string_run is not None
    assert neck.neck is not None
    assert neck.neck.heel is not None
    found = over_bridge(neck, neck.string_run, neck.neck.heel, 16.0)
    assert pytest.approx((13.1, -2.9, 13.1)) == (found.height, found.off, found.depth)
    assert pytest.approx((0.67, 0.877), abs=5e-4) == (round(found.angle, 3), found.shim)
    assert "toward the bridge" == found.end


@given(st.floats(5, 20), st.floats(8, 24), st.floats(0.8, 3.0), st.floats(560, 880))
def test_turned_by_the_shim_the_string_meets_the_bridge(
    pocket: float, bridge: float, action: float, scale: float
) -> None:
    neck = guitar(pocket, scale=scale, bridge=bridge, action=action)
    assert neck.string_run is not None
    assert neck.neck is not None
    assert neck.neck.heel is not None
    found = over_bridge(neck, neck.string_run, neck.neck.heel, pocket)
    # The string at nut and bridge over the body's top, then the whole neck turned about the heel's lower edge.
    octave = scale / 2
    slope = (1.1 + action - 1.5) / octave
    string = np.array([[0.0, 25 - pocket + 1.5], [scale, 25 - pocket + 1.5 + slope * scale]])
    pivot = np.array([400.0 if found.off < 0 else 475.0, -pocket])
    turn = math.radians(found.angle)
    turned = (string - pivot) @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + pivot
    (x0, y0), (x1, y1) = turned
    at_bridge = y0 + (y1 - y0) * (scale - x0) / (x1 - x0)
    # The formula takes the turn as small: of 2 degrees a part in a thousand of the way.
    assert bridge == pytest.approx(at_bridge, abs=0.02 + abs(turn) ** 2 * 60)
    # A pocket of the depth that is named brings it there without a shim.
    assert over_bridge(neck, neck.string_run, neck.neck.heel, found.depth).off == pytest.approx(0, abs=1e-9)


def test_fit_says_what_to_do_in_the_job_s_units() -> None:
    (row,) = strings_at_bridge(guitar(), "mm")
    assert (Verdict.look, "bridge 16.00 mm", "strings 13.10 mm", "-2.90 mm") == (
        row.verdict, row.board, row.neck, row.difference,
    )  # fmt: skip
    assert row.todo == (
        "make the pocket 13.10 mm deep, or tilt the neck back by 0.67 degrees with a shim under the heel, 0.877 mm "
        "thick at the end toward the bridge and nothing at the other"
    )
    (high,) = strings_at_bridge(guitar(bridge=10.0), "mm")
    assert "tilt the neck forward" in high.todo
    assert "at the end toward the nut" in high.todo


def test_what_the_bridge_makes_up_for_fits_and_what_is_not_given_is_not_compared() -> None:
    (row,) = strings_at_bridge(guitar(bridge=13.9), "mm")
    assert Verdict.fits is row.verdict
    assert [] == list(strings_at_bridge(guitar(None), "mm"))
