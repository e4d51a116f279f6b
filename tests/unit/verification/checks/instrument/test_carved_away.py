"""What lies in wood that goes: the headstock ends 14 below its face, the heel 19 below the glue face, and the round
back of the shaft hangs between. Blank 25 thick (`neck_builder.WHOLE`, `two_sides`)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box
from shapely.geometry.base import BaseGeometry

from tests.support.neck_builder import WHOLE, instrument
from tests.support.two_sides import THICK, Sides, disc, feature
from toolpaths.instrument.necks import depth_on_centre
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand, Groove
from toolpaths.verification.checks.instrument import carved_away
from toolpaths.verification.finding import Entry, Finding, Severity

HEAD = box(-192, -50, -8, 50)
BACK = box(-192, -50, -25, 50)
SPOT = box(-110, -5, -100, 5)
NECK = instrument(WHOLE)


def told(
    sides: Sides, face: tuple[Demand, ...] = (), back: tuple[Demand, ...] = (), last: str = "back", bit: str = "six"
) -> list[Finding]:
    return sides.asked(carved_away.check, face, back, last=last, bit=bit)


def engraved(
    deep: float, *, back_at: float | None = None, shape: BaseGeometry = SPOT, left: bool = False, bit: str = "six"
) -> list[Finding]:
    """An engraving from the back; `back_at`: where the headstock's back is cut before it."""
    own = [feature("engraving", "engraving", bit="vee60", drawing="a.dxf", depth=deep)]
    own += [] if back_at is None else [feature("headstock_back", "headstock's back")]
    sides = Sides(back=own, handed="left" if left else "right")
    line = sides.cut(CutKind.engraving, shape, deep, back=True)
    step = () if back_at is None else (sides.cut(CutKind.head_back, BACK, back_at, back=True),)
    return told(sides, (), (*step, line), bit=bit)


@pytest.mark.parametrize("left", [False, True])
def test_an_engraving_of_which_nothing_remains_is_stopped(left: bool) -> None:
    # From the blank's back at 25 to 24.6; the headstock's back ends at 14. A bit of 3 mm does not reach 13.6 from 25.
    (finding,) = engraved(24.6, left=left, bit="thin")
    assert (Severity.stop, "carved-away") == (finding.severity, finding.code)
    assert ("floor 24.60 mm", "back 14.00 mm") == (finding.said.measured, finding.said.limit)
    assert "cut `headstock_back` first, with `depth: 13.6`" == finding.said.todo
    assert () == finding.remedies


def test_one_on_the_finished_back_passes_and_a_shallower_one_says_what_would_be_right() -> None:
    assert [] == engraved(13.6, back_at=14.0)
    # Cut only to 16: the carver takes 2 more, and 0.4 of depth were meant.
    (finding,) = engraved(15.6, back_at=16.0)
    assert Severity.stop is finding.severity
    assert ((Entry("depth", "13.6"),),) == finding.remedies
    assert "set `depth: 13.6`" == finding.said.todo


@pytest.mark.parametrize(("back_at", "severity"), [(14.09, None), (14.11, Severity.warn), (14.3, Severity.warn)])
def test_one_that_loses_depth_is_warned_of(back_at: float, severity: Severity | None) -> None:
    found = engraved(13.6, back_at=back_at)
    if severity is None:
        assert [] == found
        return
    (finding,) = found
    assert severity is finding.severity
    assert ("0.40 mm stays", f"cut {back_at - 13.6:.2f} mm deep") == (finding.said.measured, finding.said.limit)


def test_what_lies_in_waste_is_not_asked() -> None:
    # The headstock is 66 wide and 150 long.
    assert [] == engraved(24.6, shape=box(-110, 34, -100, 44))
    assert [] == engraved(24.6, shape=box(-165, -5, -155, 5))


def test_what_goes_through_is_not_asked() -> None:
    sides = Sides(back=[feature("bores", "hole", **{"for": "cables"}, diameter=5, at=[[-60, 0]])])
    hole = sides.cut(CutKind.hole, disc(-60, 0, 5), 0.0, back=True, reach=0.2)
    assert [] == told(sides, (), (hole,))


@given(
    x=st.floats(20, 300),
    deep=st.floats(1, 24),
    kind=st.sampled_from([CutKind.pocket, CutKind.marker, CutKind.hole, CutKind.engraving]),
    left=st.booleans(),
)
def test_on_the_shaft_the_carved_back_decides(x: float, deep: float, kind: CutKind, left: bool) -> None:
    """A hole of 0.2 mm on the centreline: its own depth is 25 - deep, and what remains the carved depth - deep."""
    sides = Sides(handed="left" if left else "right")
    hole = sides.cut(kind, disc(x, 0.0, 0.2), deep, back=True)
    carved = float(depth_on_centre(NECK, np.array([x]))[0])
    remains, lost = carved - deep, min(THICK - carved, THICK - deep)
    if min(abs(remains - 0.01), abs(lost - 0.1)) < 0.02:
        return
    found = told(sides, (), (hole,))
    if lost <= 0.1:
        assert [] == found
        return
    (finding,) = found
    assert (Severity.stop if remains <= 0.01 else Severity.warn) is finding.severity


def test_a_groove_that_leaves_the_headstock_is_judged_where_it_loses_most() -> None:
    """Along the centreline from the level headstock into the blend, where the back is carved away to the shaft's."""
    sides = Sides(back=[feature("headstock_back", "headstock's back")])
    path = LineString([(-60, 0), (-10, 0)])
    floor = Groove(path, 13.0, 0.2, math.sqrt(3.0), 1.0)
    line = sides.cut(CutKind.engraving, path.buffer(0.7), 13.0, back=True, floor=floor)
    step = sides.cut(CutKind.head_back, BACK, 14.0, back=True)
    (finding,) = told(sides, (), (step, line))
    assert Severity.warn is finding.severity
    assert finding.x is not None
    assert finding.x >= -25.0


# From the face: a lowered headstock counts


FACE_KINDS = [CutKind.pocket, CutKind.marker, CutKind.engraving, CutKind.hole]


def from_face(deep: float, kind: CutKind, *, first: bool) -> list[Finding]:
    """A cut from the face where the headstock's face is lowered by 4, before it, or after it in the same setup."""
    lower = feature("headstock_face", "step", drop=4, **{"from": -8})
    keys: dict[str, Any] = {"drawing": "a.dxf", "depth": deep}
    sides = Sides(face=[*([lower] if first else []), feature("pocket", kind.value, **keys)])
    spot = sides.cut(kind, SPOT, deep)
    step = sides.cut(CutKind.step, HEAD, 4.0)
    return told(sides, (step, spot), (), last="face")


@pytest.mark.parametrize("kind", FACE_KINDS)
def test_a_cut_into_a_lowered_headstock_counts_from_its_face(kind: CutKind) -> None:
    assert [] == from_face(5.5, kind, first=True)
    # Cut before the face is lowered, it was 5.5 deep, and 1.5 of it stay.
    (short,) = from_face(5.5, kind, first=False)
    assert Severity.warn is short.severity
    assert ("1.50 mm stays", "cut 5.50 mm deep") == (short.said.measured, short.said.limit)
    (gone,) = from_face(3.5, kind, first=False)
    assert Severity.stop is gone.severity
    assert "face 4.00 mm" == gone.said.limit
    assert ((Entry("depth", "7.5"),),) == gone.remedies


def test_a_bore_from_the_face_that_the_carving_opens_is_as_it_was_meant() -> None:
    sides = Sides(face=[feature("bores", "hole", **{"for": "cables"}, diameter=5, depth=20, at=[[100, 0]])])
    assert [] == told(sides, (sides.cut(CutKind.hole, disc(100, 0, 5), 20.0),), (), last="face")


def test_a_later_setup_lowers_the_headstock() -> None:
    """The step stands in the other side's list of a job: what is asked of one side knows the whole job."""
    sides = Sides(face=[feature("pocket", "pocket", drawing="a.dxf", depth=3)])
    spot = sides.cut(CutKind.pocket, SPOT, 3.0)
    assert [] == told(sides, (spot,), (), last="face")
    step = sides.cut(CutKind.step, HEAD, 4.0)
    (finding,) = told(sides, (spot, step), (), last="face")
    assert ("pocket", "nothing of it stays on the neck") == (finding.feature, finding.said.wrong)
