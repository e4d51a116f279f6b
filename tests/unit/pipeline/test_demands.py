"""Every feature's demands, by setup, as the setup sees them."""

from __future__ import annotations

import pytest

from tests.support.setup_builder import context
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.pipeline.design import target

AT = {"at": [[-8, 5]], "diameter": 4}


def features() -> tuple[object, ...]:
    return (
        Plane(bit="planer", leave=6),
        ScoreLines(bit="scorer", depth=0.5, frets=(3,)),
        MarkerPockets(bit="eighth", diameter=6, depth=1.8, frets=(12,)),
        PinBores.model_validate({"bit": "three", **AT}),
        Outline(bit="quarter", tabs=Tabs(count=3, length=8, height=1.5)),
    )


def test_demands_stand_in_the_job_s_order_under_their_setup() -> None:
    found = target([context(*features())]).demands  # type: ignore[arg-type]
    assert ["face"] == list(found)
    assert ["plane", "score_lines", "marker_pockets", "pin_bores", "outline"] == list(
        dict.fromkeys(d.feature for d in found["face"])
    )
    assert [30, 31, 32, 33, 34] == list(dict.fromkeys(d.job_line for d in found["face"]))


def test_a_left_handed_instrument_is_the_mirror_image() -> None:
    (right,) = target([context(*features())]).demands.values()  # type: ignore[arg-type]
    (left,) = target([context(*features(), handed="left")]).demands.values()  # type: ignore[arg-type]
    assert [d.name for d in right] == [d.name for d in left]
    for r, m in zip(right, left, strict=True):
        x0, y0, x1, y1 = r.asked.bounds
        assert (x0, -y1, x1, -y0) == pytest.approx(m.asked.bounds)
        assert r.floor == m.floor
    odd = [d for d in left if d.name == "tab 1"]
    assert 0 < odd[0].asked.centroid.y  # the first tab stands on the bass side, now away from the operator


def test_what_cannot_be_asked_for_is_refused() -> None:
    with pytest.raises(FeatureError, match="there is no fret 23"):
        target([context(ScoreLines(bit="scorer", depth=0.5, frets=(23,)))])
