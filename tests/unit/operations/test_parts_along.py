"""Which of a long blank's places cuts what: every piece once, whole or divided, and none in a seam."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import CUTTING, flat
from toolpaths.common.errors import FeatureError
from toolpaths.geometry.loop import Area, Loop
from toolpaths.job.placed import OVERLAP, Lie, Placed, fault_of, seams
from toolpaths.operations.operation import Bore, Channel, Clear, Contour, Lines, Raster
from toolpaths.operations.parts_along import parts_along

BIT = flat(6.0)
COMMON: dict[str, Any] = {
    "feature": "f", "job_line": 1, "bit": "six", "cutting": CUTTING, "title": "t", "top": 8.0, "floor": 2.0,
}  # fmt: skip


def places(*at: float) -> tuple[Lie, ...]:
    """Places whose parts meet there."""
    borders = [-math.inf, *at, math.inf]
    placed = [
        Placed.model_validate({"name": f"p{k}", "shift": 100.0 * k, "from": "start", "to": "end"})
        for k in range(len(borders) - 1)
    ]
    return tuple(
        Lie(one, k + 1, len(placed), low, high)
        for k, (one, low, high) in enumerate(zip(placed, borders[:-1], borders[1:], strict=True))
    )


def bores(*xs: float, diameter: float = 6.0) -> Bore:
    names = tuple(f"hole {i}" for i in range(len(xs)))
    centres = np.array([(x, 0.0) for x in xs])
    return Bore(**COMMON, centres=centres, diameters=np.full(len(xs), diameter), names=names)


@given(st.lists(st.floats(-400, 600), min_size=1, max_size=12), st.lists(st.integers(-3, 5), min_size=1, max_size=4))
def test_every_hole_is_bored_once_and_none_in_a_seam(xs: list[float], at: list[int]) -> None:
    lies = places(*(100.0 * k for k in sorted(set(at))))
    in_seam = any(abs(x - seam) < 3.0 for x in xs for seam in seams(lies))
    if in_seam:
        with pytest.raises(FeatureError, match="lies across the seam"):
            parts_along(bores(*xs), BIT, lies, "mm")
        return
    parts = parts_along(bores(*xs), BIT, lies, "mm")
    cut = [(lie, float(x)) for lie, part in zip(lies, parts, strict=True) if part for x in part.centres[:, 0]]  # type: ignore[union-attr]
    assert sorted(xs) == sorted(x for _, x in cut)
    assert all(lie.low - OVERLAP / 2 <= x - 3 and x + 3 <= lie.high + OVERLAP / 2 for lie, x in cut)


def test_lines_keep_their_names_and_floors() -> None:
    lines = np.array([[[50, -20], [50, 20]], [[150, -20], [152, 20]], [[90, -20], [80, 20]]], dtype=float)
    floors = tuple(np.array([[0.0, z], [40.0, z]]) for z in (1.0, 2.0, 3.0))
    near, far = parts_along(
        Lines(**COMMON, lines=lines, names=("a", "b", "c"), floors=floors), BIT, places(110.0), "mm"
    )
    assert isinstance(near, Lines)
    assert isinstance(far, Lines)
    assert (("a", "c"), ("b",)) == (near.names, far.names)
    assert [1.0, 3.0] == [float(f[0, 1]) for f in near.floors]
    assert (near.within, far.within) == (None, None)


def test_a_fanned_line_across_a_seam_is_refused_with_its_name() -> None:
    line = np.array([[[90.0, -30], [130, 30]]])
    with pytest.raises(FeatureError, match=r"fret 3 lies across the seam at x 110\.00 mm, from 87\.00 mm to 133"):
        parts_along(Lines(**COMMON, lines=line, names=("fret 3",)), BIT, places(110.0), "mm")


def test_planing_and_a_long_outline_are_divided_with_an_overlap() -> None:
    lies = places(100.0, 300.0)
    loop = Loop.polygon([(-50, -30), (420, -30), (420, 30), (-50, 30)])
    for operation in (
        Raster(**COMMON, box=(-60, -40, 440, 40), skim=0.3),
        Contour(**COMMON, loop=loop, kerf=6.0, tabs=()),
    ):
        parts = parts_along(operation, BIT, lies, "mm")
        assert [(-math.inf, 110.0), (90.0, 310.0), (290.0, math.inf)] == [p.within for p in parts if p is not None]


def test_a_channel_goes_only_where_it_reaches() -> None:
    ends = np.array([[[4.0, 0], [250, 0]]])
    operation = Channel(**COMMON, ends=ends, names=("rod",), width=6.0, floor_line=np.array([[0, 2.0], [246, 2.0]]))
    near, middle, far = parts_along(operation, BIT, places(100.0, 300.0), "mm")
    assert near is not None
    assert middle is not None
    assert far is None


def test_a_pocket_that_ends_short_of_a_seam_is_whole_and_one_in_it_is_not() -> None:
    def pocket(x: float) -> Clear:
        return Clear(**COMMON, areas=(Area(Loop.circle(x, 0.0, 5.0), (), "marker at fret 5"),))

    near, far = parts_along(pocket(94.0), BIT, places(100.0), "mm")
    assert near is not None
    assert far is None
    with pytest.raises(FeatureError, match="marker at fret 5 lies across the seam"):
        parts_along(pocket(97.0), BIT, places(100.0), "mm")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({1: {"shift": 0}}, "must lie further left"),
        ({0: {"shift": 5}}, "write `shift: 0` in near"),
        ({1: {"from": 210}}, "far must begin where near ends"),
        ({1: {"name": "near"}}, "two places have one name"),
        ({1: {"to": 400}}, "the last end with `to: end`"),
    ],
)
def test_places_that_do_not_follow_each_other(changes: dict[int, dict[str, Any]], words: str) -> None:
    typed: list[dict[str, Any]] = [
        {"name": "near", "shift": 0, "from": "start", "to": "fret 7"},
        {"name": "far", "shift": 200, "from": "fret 7", "to": "end"},
    ]
    for k, change in changes.items():
        typed[k] |= change
    assert words in str(fault_of([Placed.model_validate(t) for t in typed]))


def test_one_place_is_no_move() -> None:
    one = Placed.model_validate({"name": "near", "shift": 0, "from": "start", "to": "end"})
    assert "at least two" in str(fault_of([one]))


def test_a_long_slot_beside_a_short_one_is_divided_and_the_short_one_is_cut_too() -> None:
    ends = np.array([[[4.0, 6], [250, 6]], [[20.0, -6], [60, -6]]])
    floor = np.array([[0, 2.0], [246, 2.0]])
    operation = Channel(**COMMON, ends=ends, names=("long", "short"), width=6.0, floor_line=floor)
    near, far = parts_along(operation, BIT, places(100.0), "mm")
    assert isinstance(near, Channel)
    assert isinstance(far, Channel)
    assert (("long", "short"), (-math.inf, 110.0)) == (near.names, near.within)
    assert (90.0, math.inf) == far.within
