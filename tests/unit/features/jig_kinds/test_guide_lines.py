"""The centreline, the nut line and the blanks, in the jig's top and in its seat, each at its own height."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, box

from tests.support.jig_scene import FACE, jig_context, lying
from toolpaths.common.errors import FeatureError
from toolpaths.features.feature import Feature
from toolpaths.features.jig_kinds.guide_lines import GuideLines
from toolpaths.features.jig_kinds.seat import Seat
from toolpaths.operations.operation import Engrave

BLANK = (-110.0, -45.0, 190.0, 45.0)
SEAT = Seat.model_validate({"bit": "quarter", "for": "neck", "depth": 2.0, "room": 4.0})


def engraved(*features: Feature, **keys: Any) -> list[Engrave]:
    lines = GuideLines.model_validate({"bit": "vee60", "depth": 0.3, **keys})
    seen = jig_context(*features, lines, served=(lying(box=BLANK),))
    return [o for o in lines.operations(seen) if isinstance(o, Engrave)]


def drawn(operation: Engrave) -> shapely.MultiLineString:
    return shapely.MultiLineString([LineString(path) for path in operation.paths])


def test_on_a_plain_top_they_go_right_across() -> None:
    (one,) = engraved(lines=["centreline", "nut"])
    assert (one.top, one.floor) == pytest.approx((FACE, FACE - 0.3))
    # From 2 mm inside the jig's ends to 2 mm inside its other: it is 420 x 170, its nut line 150 from the left.
    assert sorted(LineString(p).length for p in one.paths) == pytest.approx([166, 416])
    ends = {tuple(np.round(end, 6).tolist()) for p in one.paths for end in (p[0], p[-1])}
    assert {(-148.0, 0.0), (268.0, 0.0), (0.0, -83.0), (0.0, 83.0)} == ends


def test_the_blank_s_outline_is_as_it_lies() -> None:
    (one,) = engraved(lines=["blank"])
    assert drawn(one).hausdorff_distance(box(*BLANK).exterior) < 1e-6


def test_lines_shared_by_two_are_cut_once() -> None:
    served = (lying(box=BLANK), lying("board", "face", box=(-110.0, -30.0, 190.0, 30.0)))
    lines = GuideLines(bit="vee60", depth=0.3, lines=("blank",))
    (one,) = lines.operations(jig_context(lines, served=served))
    assert isinstance(one, Engrave)
    # Two ends of 90 and four edges of 300; the shorter ends lie in the longer ones.
    assert drawn(one).length == pytest.approx(2 * 90 + 4 * 300, abs=0.01)


def test_in_a_seat_they_lie_that_much_lower_and_clear_of_its_wall() -> None:
    top, low = engraved(SEAT)
    assert (top.top, low.top) == pytest.approx((FACE, FACE - 2))
    wall = box(-112, -47, 192, 47).exterior
    for one in (top, low):
        assert drawn(one).distance(wall) >= 6.35 / 2


def test_they_keep_clear_of_what_stands_on_the_jig() -> None:
    hold = {"screws": {"at": [[-60.0, 0.0]], "sunk": 0}}
    lines = GuideLines(bit="vee60", depth=0.3)
    seen = jig_context(lines, served=(lying(box=BLANK),))
    setup = seen.setup.model_copy(
        update={"hold": type(seen.setup.holders).model_validate(hold, context={"units": "mm"})}
    )
    (one,) = lines.operations(replace(seen, setup=setup))
    assert isinstance(one, Engrave)
    # A head of 8, the bit's radius and the clearance.
    assert drawn(one).distance(shapely.Point(-60, 0)) >= 4 + 6.35 / 2 + 1


def test_a_jig_beside_its_own_nut_line_is_refused() -> None:
    lines = GuideLines(bit="vee60", depth=0.3)
    seen = jig_context(lines, served=(lying(box=BLANK),))
    setup = seen.setup.model_copy(update={"nut_at": -5.0})
    with pytest.raises(FeatureError, match="is not on the jig"):
        list(lines.demands(replace(seen, setup=setup)))
