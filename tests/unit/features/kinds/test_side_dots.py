"""`side_dots` bores into the upper edge of a board that stands on the other: places along that edge, from its face."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.side_dots import SideDots
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.frets import fret_distance
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.operations.operation import Bore
from toolpaths.target_shape.demand import Level


def dots(
    stand: str = "bass edge up", stock: dict[str, Any] | None = None, job: dict[str, Any] | None = None, **keys: Any
) -> tuple[SideDots, SetupContext]:
    feature = SideDots.model_validate(
        {"bit": "sixteenth", "diameter": 2, "depth": 2.5, "frets": (5, 12), **keys}, context={"units": "mm"}
    ).placed("side_dots", 60)
    s = context(**(job or {}))
    setup = s.setup.model_validate(
        {
            "name": "edge",
            "zero": {"x": "nut", "y": "stock edge", "z": "stock top"},
            "nut_at": 0,
            "stand": stand,
            "stock": {"length": 480, "width": 6, "thickness": {"min": 42, "max": 56}, **(stock or {})},
            "features": [feature],
        },
        context={"units": "mm"},
    )
    whole = s.job.model_copy(update={"setups": (s.setup, setup)})
    own = setup_context_of(whole, s.machine, s.wood, setup)
    placed = own.setup.features[0]
    assert isinstance(placed, SideDots)
    return placed, own


def test_each_is_a_disc_along_the_edge_down_to_its_depth() -> None:
    feature, s = dots()
    first, low, high = feature.demands(s)
    grows = float(half_width(s.job.instrument, 100.0)) - float(half_width(s.job.instrument, 0.0))
    middle = (fret_distance(650, 4) + fret_distance(650, 5)) / 2 * np.hypot(1.0, grows / 100)
    assert (middle, 0.0) == pytest.approx((first.asked.centroid.x, first.asked.centroid.y), abs=1e-6)
    assert np.pi == pytest.approx(first.asked.area, rel=1e-3)
    # Zeroed on the top, which stands 56 high.
    assert Level(53.5) == first.floor
    assert 7.0 == pytest.approx(high.asked.centroid.x - low.asked.centroid.x)


def test_it_is_bored_where_it_is_wanted() -> None:
    feature, s = dots()
    (o,) = feature.operations(s)
    assert isinstance(o, Bore)
    wanted = [(d.asked.centroid.x, d.asked.centroid.y) for d in feature.demands(s)]
    assert np.array(wanted) == pytest.approx(o.centres, abs=1e-6)
    assert (56.0, 53.5, "side dot at fret 5") == (o.top, o.floor, o.names[0])


@pytest.mark.parametrize(
    ("stand", "handed", "y"),
    # Seen with the nut on the left: a right-handed board with its bass edge up turns its face away, to higher y.
    # 2 from a face that lies 3 from the middle: 1 from the middle, on the face's side.
    [
        ("bass edge up", "right", 1.0),
        ("treble edge up", "right", -1.0),
        ("bass edge up", "left", -1.0),
        ("treble edge up", "left", 1.0),
    ],
)
def test_the_face_s_side_follows_from_which_edge_is_up(stand: str, handed: str, y: float) -> None:
    feature, s = dots(stand=stand, at=2, job={"handed": handed})
    assert y == pytest.approx(s.mirror * next(feature.demands(s)).asked.centroid.y)
    assert (y > 0) == s.faces_away


@pytest.mark.parametrize(
    ("keys", "words", "key"),
    [
        ({"depth": 6.1}, "6.10 mm is too deep: side dots are at most 6.00 mm deep", "depth"),
        ({"at": 1.7}, "a hole of 2.00 mm at 1.70 mm from the face of a board 6.00 mm thick leaves less than", "at"),
        ({"diameter": 1}, "sixteenth is 1.59 mm wide, and a hole only 1.00 mm", "bit"),
        ({"stock": {"length": 400}}, "the edge is 477.", ""),
        ({"frets": (30,)}, "there is no fret 30", "frets"),
    ],
)
def test_what_cannot_be_bored_is_refused(keys: dict[str, Any], words: str, key: str) -> None:
    feature, s = dots(**keys)
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert (words, key) == (caught.value.problem[: len(words)], caught.value.key)


def test_the_edge_is_levelled_before_and_the_dots_after() -> None:
    feature, s = dots()
    before, after = (h.what for h in feature.by_hand(s, near(s)))
    assert "Run a dial indicator along the upper edge" in before
    # Three cylinders of 2 x 2.5: 3 pi 2.5 mm3.
    assert "3 side dots: 2.00 mm across, 2.50 mm deep from the board's edge, 0.02 ml of filler in all" in after
