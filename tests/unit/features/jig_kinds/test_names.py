"""Letters as high as asked, on one level, clear of holes and screws; refused where they have no room."""

from __future__ import annotations

import pytest
import shapely
from shapely import LineString, Point, box

from tests.support.jig_scene import FACE, jig_context, lying
from toolpaths.common.errors import FeatureError
from toolpaths.features.jig_kinds.jig_pins import JigPins
from toolpaths.features.jig_kinds.names import Names, letters
from toolpaths.features.jig_kinds.seat import Seat
from toolpaths.operations.operation import Engrave

PINS = ((-90.0, 0.0, 6.0), (170.0, 0.0, 8.0))
SEAT = Seat.model_validate({"bit": "quarter", "for": "neck", "depth": 2.0, "room": 4.0})


@pytest.mark.parametrize("height", [3.0, 6.0, 11.5])
def test_a_capital_is_as_high_as_asked(height: float) -> None:
    """The letter H has straight ends, so that its bounds are its height."""
    _, y0, _, y1 = shapely.union_all(letters("H", height)).bounds
    assert y1 - y0 == pytest.approx(height, rel=1e-3)


def test_letters_are_closed_outlines_and_a_ring_has_two() -> None:
    assert [line.is_closed for line in letters("HO", 6.0)] == [True, True, True]


@pytest.mark.parametrize("seated", [False, True])
@pytest.mark.parametrize("handed", ["right", "left"])
def test_title_and_pins_have_their_names_clear_of_all_else(seated: bool, handed: str) -> None:
    names = Names(bit="vee60", depth=0.3)
    features = [SEAT] * seated
    seen = jig_context(*features, JigPins(bit="pinner", depth=8.0), names, served=(lying(pins=PINS),), handed=handed)
    found = [o for o in names.operations(seen) if isinstance(o, Engrave)]
    assert {o.top for o in found} == ({FACE, FACE - 2} if seated else {FACE})
    lines = shapely.union_all([LineString(p) for o in found for p in o.paths])
    seen_lines = lines if seen.mirror > 0 else shapely.affinity.scale(lines, yfact=-1.0, origin=(0, 0))
    assert box(-148, -83, 268, 83).covers(seen_lines)
    assert min(Point(x, y).distance(seen_lines) - d / 2 for x, y, d in PINS) >= 1.0
    for x, y in ((-140, -76), (-140, 76), (260, -76), (260, 76)):
        assert Point(x, y).distance(seen_lines) >= 4.0 + 1.0
    # Both names stand next to their pins.
    for x, y, d in PINS:
        assert Point(x, y).distance(seen_lines) - d / 2 < 5.0


def test_without_room_it_is_refused() -> None:
    names = Names(bit="vee60", depth=0.3, height=60.0)
    with pytest.raises(FeatureError, match="there is no room for the title") as told:
        list(names.demands(jig_context(names, served=(lying(),))))
    assert told.value.key == "height"
