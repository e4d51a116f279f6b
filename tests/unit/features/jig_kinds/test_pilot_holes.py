"""A pilot hole under each screw of the jobs that lie on a jig."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.jig_scene import FACE, jig_context, lying, screws
from toolpaths.common.errors import FeatureError
from toolpaths.features.jig_kinds.jig_pins import JigPins
from toolpaths.features.jig_kinds.pilot_holes import PilotHoles

PLACES = ((-90.0, -38.0), (-90.0, 38.0), (170.0, -38.0), (170.0, 38.0))


def test_each_screw_has_one_through_all_setups_that_share_it() -> None:
    both = (lying("neck", "face", screws=(screws(*PLACES),)), lying("neck", "back", screws=(screws(*PLACES[:2]),)))
    feature = PilotHoles(bit="pilot", diameter=2.5, depth=14.0)
    seen = jig_context(feature, served=both)
    found = list(feature.demands(seen))
    assert [(round(d.asked.centroid.x, 6), round(d.asked.centroid.y, 6)) for d in found] == list(PLACES)
    assert {round(d.asked.area, 2) for d in found} == {round(math.pi * 2.5**2 / 4, 2)}
    # The rim of a drill's cone lies at the depth; its point (118 degrees: r / tan 59) below that.
    assert float(found[0].floor.height(np.array([-90.0 + 1.25]), np.array([-38.0]))[0]) == pytest.approx(FACE - 14)
    (bore,) = feature.operations(seen)
    assert bore.floor == pytest.approx(FACE - 14 - 1.25 / math.tan(math.radians(59)))


@pytest.mark.parametrize(
    ("keys", "into", "key", "says"),
    [
        ({"diameter": 2.5, "depth": 11.9}, 12.0, "depth", "their holes are only"),
        ({"diameter": 4.0, "depth": 14.0}, 12.0, "diameter", "does not hold"),
        ({"diameter": 2.5, "depth": 18.8}, 12.0, "depth", "would be left under it"),
    ],
)
def test_a_hole_that_no_screw_suits_is_refused(keys: dict[str, float], into: float, key: str, says: str) -> None:
    feature = PilotHoles(bit="pilot", **keys)  # type: ignore[arg-type]
    seen = jig_context(feature, served=(lying(screws=(screws(*PLACES, into_bed=into),)),))
    with pytest.raises(FeatureError, match=says) as told:
        list(feature.operations(seen))
    assert told.value.key == key


def test_a_screw_through_a_pin_is_refused() -> None:
    feature = PilotHoles(bit="pilot", diameter=2.5, depth=14.0)
    served = (lying(screws=(screws((20.0, 3.0)),), pins=((20.0, 0.0, 6.0),)),)
    seen = jig_context(JigPins(bit="pinner", depth=8.0), feature, served=served)
    with pytest.raises(FeatureError, match=r"the pilot hole at .* and the pin at .* overlap"):
        list(seen.setup.features[2].demands(seen))  # type: ignore[attr-defined]
