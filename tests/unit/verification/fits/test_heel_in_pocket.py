"""The heel in the body's pocket: how far the glue face comes to stand above the body, and the corners.

The heel is 25 thick with a board of 6, so 19 without (`neck_builder.WHOLE`); the board ends at 397.11, before the heel.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.neck_builder import WHOLE, instrument
from toolpaths.verification.fits.fit_parts import FitRow, Verdict
from toolpaths.verification.fits.heel_in_pocket import heel_in_pocket

FITS, LOOK, NO = Verdict.fits, Verdict.look, Verdict.no


def rows(pocket: dict[str, Any] | None, units: Any = "mm", **heel: Any) -> dict[str, FitRow]:
    given_heel = {**WHOLE["heel"], **heel, **({} if pocket is None else {"pocket": pocket})}
    neck = instrument({**WHOLE, "heel": given_heel})
    return {row.what: row for row in heel_in_pocket(neck, neck, units)}


def test_without_a_pocket_nothing_is_compared() -> None:
    assert {} == rows(None)
    bare = instrument({"thickness": {1: 20}})
    assert [] == list(heel_in_pocket(bare, bare, "mm"))


@pytest.mark.parametrize(
    ("depth", "to", "verdict", "difference"),
    [
        (16.0, 400, FITS, "+3.00 mm"),
        (19.0, 400, FITS, "0 mm"),
        (19.02, 400, FITS, "-0.02 mm"),
        (19.03, 400, NO, "-0.03 mm"),
        # The board reaches 7.11 mm past a heel that ends at 390: it wants half a millimetre of air.
        (18.5, 390, FITS, "+0.50 mm"),
        (18.6, 390, LOOK, "+0.40 mm"),
        (19.0, 390, LOOK, "0 mm"),
        (19.5, 390, NO, "-0.50 mm"),
    ],
)
def test_the_glue_face_stands_above_the_body(depth: float, to: float, verdict: Verdict, difference: str) -> None:
    row = rows({"depth": depth}, to=to)["glue face above the body"]
    assert (verdict, difference) == (row.verdict, row.difference)
    assert (f"pocket {depth:.2f} mm", "heel 19.00 mm") == (row.board, row.neck)
    assert bool(row.todo) == (verdict is not FITS)
    if verdict is LOOK:
        assert "the board reaches 7.11 mm past the heel, " in row.todo


def test_a_board_wider_than_the_heel_lies_over_the_body_too() -> None:
    # The board is 36 at the nut and 44 at fret 12 (292 mm): 45.04 at 330 and 46.88 at its end, 397.11.
    row = rows({"depth": 18.8}, width=46)["glue face above the body"]
    assert LOOK is row.verdict
    assert "reaches 0.44 mm past the heel" in row.todo
    assert FITS is rows({"depth": 18.8}, width=47)["glue face above the body"].verdict


@pytest.mark.parametrize(("corner", "verdict"), [(0, FITS), (0.5, LOOK), (6.35, LOOK)])
def test_the_corners(corner: float, verdict: Verdict) -> None:
    row = rows({"depth": 16, "corner": corner})["corners of heel and pocket"]
    assert verdict is row.verdict
    assert (f"a radius of {corner:.2f} mm" in row.todo) == (corner > 0)
    assert "corners of heel and pocket" not in rows({"depth": 16})


@given(depth=st.floats(5, 30), thick=st.floats(12, 34), to=st.floats(350, 430))
def test_the_verdict_is_that_of_the_heights(depth: float, thick: float, to: float) -> None:
    row = rows({"depth": depth}, thickness=thick, to=to)["glue face above the body"]
    above, over = thick - 6 - depth, 397.11 - to
    if min(abs(above + 0.02), abs(above - 0.5), abs(over)) < 0.02:
        return
    assert (NO if above < -0.02 else LOOK if over > 0 and above < 0.5 else FITS) is row.verdict


def test_in_inches() -> None:
    row = rows({"depth": 16}, "in")["glue face above the body"]
    assert ("pocket 0.630 in", "heel 0.748 in", "+0.118 in") == (row.board, row.neck, row.difference)
