"""How a job's headstock lies below the glue face, and where holes begin in it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.support.setup_builder import context
from tests.support.turned_neck import turned_over
from toolpaths.common.errors import FeatureError
from toolpaths.features.feature import Feature
from toolpaths.features.neck_kinds.headstock_back import HeadstockBack
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.features.neck_kinds.heel_face import HeelFace
from toolpaths.instrument.headstocks import head_drop, level_back_from, lowered, wood_top
from toolpaths.job.neck import Neck
from toolpaths.job.setup_context import SetupContext, setup_context_of

FACE = HeadstockFace.model_validate({"bit": "planer", "drop": 3, "from": -8, "ramp": 12})


def both_sides(back: Feature, head: bool = True) -> SetupContext:
    """The second side of a blank of 18 whose headstock is 13 thick and its face 3 lower."""
    one = context(FACE, stock={"length": 510, "width": 70, "thickness": 18}, setup={"nut_at": 100})
    face = one.job.setups[0]
    turned = face.model_copy(update={"name": "back", "flip": "about x", "features": (back.placed(back.key, 40),)})
    neck: dict[str, Any] = {"thickness": {1: 20}}
    if head:
        neck["headstock"] = {"length": 90, "width": 60, "thickness": 13, "blend": 22}
    instrument = one.job.instrument.model_copy(update={"neck": Neck.model_validate(neck)})
    job = one.job.model_copy(update={"setups": (face, turned), "instrument": instrument, "part": "neck"})
    return setup_context_of(job, one.machine, one.wood, turned)


def test_holes_begin_on_the_lowered_face_where_it_is_level() -> None:
    of = context(FACE, stock={"length": 510, "width": 70, "thickness": 18}, setup={"nut_at": 100})
    head = lowered(of)
    assert head is not None
    assert (-8.0, 3.0, 12.0) == (head.start, head.drop, head.ramp)
    # The ramp's foot is at -20; a hole of radius 4 must lie wholly beyond it.
    assert 15.0 == wood_top(of, -24.0, 4.0)
    assert 18.0 == wood_top(of, -23.9, 4.0)
    assert None is lowered(context())


@pytest.mark.parametrize("kind", [HeadstockBack, HeadstockFace])
def test_from_the_back_they_begin_on_the_headstock_s_back(kind: type[Feature]) -> None:
    of = both_sides(kind.model_validate({"bit": "planer", "ramp": 10}))
    assert 3.0 == head_drop(of.job)
    assert -22.0 == level_back_from(of.job.instrument)
    # The back lies 3 + 13 below the glue face, level from -22 - 10 on.
    assert 16.0 == wood_top(of, -36.0, 4.0)
    assert 18.0 == wood_top(of, -35.9, 4.0)


def test_a_back_without_a_headstock_is_refused() -> None:
    with pytest.raises(FeatureError, match="the instrument's neck has no headstock"):
        lowered(both_sides(HeadstockBack(bit="planer"), head=False))


def test_without_a_lowered_face_there_is_no_drop() -> None:
    of = context(stock={"length": 510, "width": 70, "thickness": 18})
    assert 0.0 == head_drop(replace(of).job)


@pytest.mark.parametrize(
    ("x", "y", "radius", "top"),
    [(370, 0, 4, 19.0), (334, 22, 4, 19.0), (333.9, 0, 4, 25.0), (370, 22.1, 4, 25.0), (396.1, 0, 4, 25.0)],
)
def test_on_the_heel_s_seat_they_begin_there(x: float, y: float, radius: float, top: float) -> None:
    # The seat: x 330 to 400, 52 wide, 19 above the bed; the blank's back at 25.
    of = turned_over(HeelFace(bit="quarter"))
    assert top == wood_top(of, x, radius, y)
    assert 25.0 == wood_top(of, x, radius)
    assert 25.0 == wood_top(turned_over(), x, radius, y)
