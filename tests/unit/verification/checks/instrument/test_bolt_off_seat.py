"""Bolts stand wholly within the heel's seat. The seat: x 330 to 400, y -26 to 26 (`neck_builder.WHOLE`)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from tests.support.two_sides import Sides, disc
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.checks.instrument import bolt_off_seat
from toolpaths.verification.finding import Finding, Severity

SIDES = Sides()
SEAT = SIDES.cut(CutKind.heel_seat, box(330, -26, 400, 26), 19.0, back=True)


def told(*bolts: Demand, seat: Demand | None = SEAT, sides: Sides = SIDES) -> list[Finding]:
    return sides.asked(bolt_off_seat.check, bolts, () if seat is None else (seat,), last="face")


def bolt(x: float, y: float, diameter: float, kind: CutKind = CutKind.bolt_hole) -> Demand:
    return SIDES.cut(kind, disc(x, y, diameter), 8.0)


def test_bolts_within_the_seat_pass() -> None:
    assert [] == told(bolt(370, 17, 5), bolt(370, -17, 5), bolt(370, 17, 12, CutKind.counterbore))


@pytest.mark.parametrize(
    ("x", "y", "over"),
    [(370, 24, 0.5), (370, -24, 0.5), (398.5, 0, 1.0), (331, 0, 1.5), (410, 0, 12.5), (370, 23.52, 0.0)],
)
def test_one_that_reaches_over_its_edge_is_stopped(x: float, y: float, over: float) -> None:
    found = told(bolt(x, y, 5))
    if not over:
        # 0.02 over: a near miss.
        assert [] == found
        return
    (finding,) = found
    assert (Severity.stop, "bolt-off-seat", 7) == (finding.severity, finding.code, finding.job_line)
    assert f"{over:.3f} mm over its edge" == finding.said.measured


def test_its_counterbore_counts_too() -> None:
    (finding,) = told(bolt(370, 21, 5), bolt(370, 21, 12, CutKind.counterbore))
    assert ("counterbore reaches off the heel's seat", "1.000 mm over its edge") == (
        finding.said.wrong, finding.said.measured,
    )  # fmt: skip


def test_other_holes_and_jobs_without_a_seat_are_not_asked() -> None:
    assert [] == told(bolt(410, 0, 5), seat=None)
    assert [] == told(bolt(410, 0, 5, CutKind.pin_hole), bolt(100, 0, 5, CutKind.hole))


@given(x=st.floats(320, 410), y=st.floats(-36, 36), d=st.floats(3, 14), left=st.booleans(), back=st.booleans())
def test_it_is_told_just_where_the_circle_leaves_the_rectangle(
    x: float, y: float, d: float, left: bool, back: bool
) -> None:
    sides = Sides(handed="left" if left else "right")
    seat = sides.cut(CutKind.heel_seat, box(330, -26, 400, 26), 19.0, back=True)
    hole = sides.cut(CutKind.bolt_hole, disc(x, y, d), 8.0, back=back)
    over = max(330 - (x - d / 2), x + d / 2 - 400, abs(y) + d / 2 - 26)
    if abs(over - 0.02) < 0.01:
        return
    face, behind = ((), (seat, hole)) if back else ((hole,), (seat,))
    found = sides.asked(bolt_off_seat.check, face, behind, last="back" if back else "face")
    assert (over > 0.02) == bool(found)
