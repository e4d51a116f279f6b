"""`marker_pockets` of other shapes, and with inlays: what is asked for, what is handed over, what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError
from shapely import LineString, Point, Polygon

from tests.support.said import said
from tests.support.setup_builder import context, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.inlay_pieces import InlayPieces
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.plane import Plane
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.frets import fret_distance
from toolpaths.job.job import Fan
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.operations.operation import Clear, Corners
from toolpaths.target_shape.demand import Level

LEAF = Path(__file__).parents[4] / "demo_jobs" / "drawings"
BLOCK = {"shape": "block", "length": 10, "width": 6}


def pockets(**keys: Any) -> tuple[MarkerPockets, SetupContext]:
    whole = {"bit": "sixteenth", "depth": 1.5, "frets": (5,), **keys}
    feature = MarkerPockets.model_validate(whole, context={"units": "mm"})
    s = replace(context(Plane(bit="planer", leave=6), feature), folder=LEAF)
    placed = s.setup.features[1]
    assert isinstance(placed, MarkerPockets)
    return placed, s


def test_a_block_is_a_level_rectangle_that_leaves_its_corners_to_filler() -> None:
    feature, s = pockets(**BLOCK)
    (d,) = feature.demands(s)
    assert (60.0, Level(4.5), False) == (d.asked.area, d.floor, d.corners)
    (o,) = feature.operations(s)
    assert isinstance(o, Clear)
    assert d.asked.equals(o.areas[0].outer.shape())
    words = [h.what for h in feature.by_hand(s, near(s))]
    assert (
        "Inlay or fill 1 marker pocket: 1.50 mm deep from the face, 0.09 ml of filler in all. Level them." == words[0]
    )
    assert f"({4 * 0.79375**2 * (1 - math.pi / 4):.2f} mm² of wood in all)" in words[1]


def test_a_second_bit_takes_corners_of_blocks() -> None:
    feature, s = pockets(**BLOCK, bit="eighth", then="sixteenth")
    first, second = feature.operations(s)
    assert (Clear, Corners, "sixteenth") == (type(first), type(second), second.bit)
    assert 1.5875 / 2 == next(feature.demands(s)).radius


def test_a_gap_makes_it_as_long_as_its_frets_allow() -> None:
    feature, s = pockets(shape="block", gap=3, width=6)
    x0, _, x1, _ = next(feature.demands(s)).asked.bounds
    assert fret_distance(650, 4) + 3 == pytest.approx(x0)
    assert fret_distance(650, 5) - 3 == pytest.approx(x1)


def test_a_trapezoid_follows_the_taper() -> None:
    feature, s = pockets(shape="trapezoid", gap=3, inset=6, frets=(3, 12))
    first, octave = feature.demands(s)
    assert ("marker at fret 3", "marker at fret 12") == (first.name, octave.name)
    x0, _, x1, y1 = octave.asked.bounds
    instrument = s.job.instrument
    run, rise = x1 - x0, float(half_width(instrument, x1) - half_width(instrument, x0))
    assert float(half_width(instrument, x1)) - 6 * math.hypot(run, rise) / run == pytest.approx(y1)


def test_a_drawn_marker_s_middle_lies_at_its_place() -> None:
    feature, s = pockets(shape="drawn", drawing="leaf.svg", rotate=90, scale=0.5)
    (d,) = feature.demands(s)
    x0, y0, x1, y1 = d.asked.bounds
    assert ((fret_distance(650, 4) + fret_distance(650, 5)) / 2, 0.0) == pytest.approx(
        ((x0 + x1) / 2, (y0 + y1) / 2), abs=1e-3
    )
    assert 7.0 == pytest.approx(y1 - y0, abs=2e-3)


def test_with_an_inlay_corners_are_rounded_to_the_bit_alike_in_both_halves() -> None:
    feature, s = pockets(**BLOCK, inlay={"clearance": 0.05})
    (d,) = feature.demands(s)
    radius = 1.5875 / 2 + 0.002
    assert 60 - 4 * radius**2 * (1 - math.pi / 4) == pytest.approx(d.asked.area, abs=2e-3)
    assert 2e-3 > d.asked.symmetric_difference(next(feature.operations(s)).areas[0].outer.shape()).area  # type: ignore[union-attr]
    assert any("No setup of this job cuts the pieces" in h.what for h in feature.by_hand(s, near(s)))


def with_pieces(sheet: dict[str, Any] | None = None, piece: dict[str, Any] | None = None, **keys: Any) -> Any:
    """(pieces, their setup, pockets, theirs)."""
    feature, s = pockets(**{**BLOCK, "inlay": {"clearance": 0.05}, **keys})
    pieces = InlayPieces.model_validate(
        {"bit": "eighth", "of": "marker_pockets", **(piece or {})}, context={"units": "mm"}
    ).placed("inlay_pieces", 60)
    setup = s.setup.model_validate(
        {
            "name": "sheet",
            "zero": {"x": "stock end", "y": "stock edge", "z": "bed"},
            "stock": {"length": 80, "width": 40, "thickness": 2, **(sheet or {})},
            "features": [pieces],
        },
        context={"units": "mm"},
    )
    named = s.setup.model_copy(update={"features": (s.setup.features[0], feature.placed("marker_pockets", 31))})
    job = s.job.model_copy(update={"setups": (named, setup)})
    face = setup_context_of(job, s.machine, s.wood, named, s.folder)
    own = setup_context_of(job, s.machine, s.wood, setup, s.folder)
    return setup.features[0], own, named.features[1], face


def test_the_larger_bit_of_pocket_and_piece_rounds_both() -> None:
    pieces, own, feature, face = with_pieces()
    radius = 3.175 / 2 + 0.002
    assert radius == feature.corner_radius(face)
    (band, waste) = pieces.demands(own)
    assert ("piece for marker at fret 5", False) == (band.name, waste.must)
    piece = Polygon(band.asked.interiors[0])
    # 10 x 6 drawn in by 0.05 all around, corners of the radius less 0.05.
    assert 9.9 * 5.9 - 4 * (radius - 0.05) ** 2 * (1 - math.pi / 4) == pytest.approx(piece.area, abs=3e-3)
    (contour,) = pieces.operations(own)
    assert 2e-3 > piece.symmetric_difference(contour.loop.shape()).area
    assert (2.0, -0.2) == (contour.top, contour.floor)


def test_a_skin_keeps_the_pieces_in_their_sheet() -> None:
    pieces, own, _, _ = with_pieces(piece={"skin": 0.3})
    assert 0.3 == next(pieces.operations(own)).floor
    assert [Level(0.3)] * 2 == [d.floor for d in pieces.demands(own)]
    assert (
        "Sand the skin of 0.30 mm off the back of the sheet, until its pieces come free: 1."
        == next(pieces.by_hand(own, near(own))).what
    )


def test_pieces_lie_apart_in_rows() -> None:
    pieces, own, _, _ = with_pieces(frets=(3, 5, 7, 9, 12), doubles=(), sheet={"length": 70, "width": 60})
    bands = [d.asked for d in pieces.demands(own) if d.must]
    assert 5 == len(bands)
    for i, a in enumerate(bands):
        assert all(a.distance(b) > 1.9 for b in bands[i + 1 :])
    assert len({round(b.centroid.y, 3) for b in bands}) > 1


@pytest.mark.parametrize(
    ("more", "words", "key"),
    [
        ({"sheet": {"length": 24, "width": 20}}, "the sheet of setup sheet has room for 0 of 1 pieces", "margin"),
        ({"sheet": {"thickness": 1.4}}, "pieces 1.40 mm thick do not fill pockets 1.50 mm deep", "of"),
        ({"piece": {"of": "pocket"}}, "no feature is called `pocket`", "of"),
        ({"piece": {"of": "plane"}}, "plane cannot have inlays", "of"),
        ({"piece": {"skin": 2}}, "a skin of 2.00 mm is as thick as the sheet", "skin"),
        ({"piece": {"bit": "vee60"}}, "vee60 is not a flat bit; the edge would not be square", "bit"),
        ({"inlay": None}, "marker_pockets has no inlays", "of"),
        ({"inlay": {"clearance": 3.1}}, "a piece is too narrow for a clearance of", "inlay"),
    ],
)
def test_pieces_that_cannot_be_cut_are_refused(more: dict[str, Any], words: str, key: str) -> None:
    pieces, own, _, _ = with_pieces(**more)
    with pytest.raises(FeatureError) as caught:
        list(pieces.operations(own))
    assert (words, key) == (said(caught.value)[: len(words)], caught.value.key)


@pytest.mark.parametrize(
    ("keys", "words", "key"),
    [
        ({**BLOCK, "width": 60}, "the marker at fret 5 would reach 6.79 mm past the board's edge", "shape"),
        (
            {**BLOCK, "frets": (12,), "double_spacing": 4},
            "the marker at fret 12, bass side and the marker at fret 12, treble side overlap",
            "shape",
        ),
        ({"shape": "block", "gap": 20, "width": 5}, "the gap leaves no length for the marker at fret 5", "gap"),
        (
            {**BLOCK, "length": 1.5, "inlay": {"clearance": 0.05}},
            "the marker has an edge too short for two corners of radius 0.80 mm",
            "bit",
        ),
        ({"shape": "drawn", "drawing": "gone.svg"}, "gone.svg: there is no file `gone.svg`", "drawing"),
        (
            {"shape": "drawn", "drawing": "leaf.svg", "scale": 0.2, "inlay": {"clearance": 0.02}},
            "marker at fret 5 has parts too narrow or too sharp for corners of radius 0.80 mm",
            "inlay",
        ),
    ],
)
def test_markers_that_cannot_be_are_refused(keys: dict[str, Any], words: str, key: str) -> None:
    feature, s = pockets(**keys)
    with pytest.raises(FeatureError) as caught:
        list(feature.operations(s))
    assert (words, key) == (said(caught.value)[: len(words)], caught.value.key)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({}, "a round marker needs a `diameter`"),
        ({"shape": "block", "length": 4}, "a block marker needs a `width`"),
        ({"shape": "block", "width": 4}, "a block marker needs a `length` or a `gap`"),
        ({**BLOCK, "gap": 2}, "give a `length` or a `gap`, not both"),
        ({**BLOCK, "diameter": 4}, "a block marker has no `diameter`"),
        ({"diameter": 6, "drawing": "a.svg"}, "a round marker has no `drawing`"),
        ({"shape": "drawn"}, "a drawn marker needs a `drawing`"),
        ({"shape": "trapezoid", "gap": 2, "inset": 5, "doubles": (12,)}, "leave out `doubles` and `row`"),
    ],
)
def test_keys_of_another_shape_are_refused(keys: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        MarkerPockets.model_validate({"bit": "eighth", "depth": 1, **keys}, context={"units": "mm"})


def test_drawn_markers_without_an_inlay_keep_their_islands() -> None:
    feature, s = pockets(shape="drawn", drawing="../../tests/cases/drawings/medallion.svg", layer="inlay", scale=0.8)
    (o,) = feature.operations(s)
    assert isinstance(o, Clear)
    assert 1 == len(o.areas[0].islands)
    (d,) = feature.demands(s)
    assert not d.asked.covers(Point(d.asked.centroid))
    inlaid, s = pockets(
        shape="drawn", drawing="../../tests/cases/drawings/medallion.svg", layer="inlay", inlay={"clearance": 0.1}
    )
    with pytest.raises(FeatureError, match="has an island"):
        list(inlaid.operations(s))


@pytest.mark.parametrize("keys", [{"gap": 3}, {"length": 14}])
def test_a_trapezoid_on_a_fanned_board_has_the_ends_of_its_frets(keys: dict[str, float]) -> None:
    """Distances from the frets' lines, by a general-purpose geometry library."""
    feature, s = pockets(shape="trapezoid", inset=6, frets=(3,), **keys)
    fanned = s.job.instrument.model_copy(update={"scale_length": Fan(bass=680, treble=640, square_fret=7)})
    s = replace(s, job=s.job.model_copy(update={"instrument": fanned}))
    (d,) = feature.demands(s)
    before, behind = (
        LineString([(line.at(y), y) for y in (-60.0, 60.0)]) for line in (fret_line(fanned, n) for n in (2, 3))
    )
    away = (before.distance(d.asked), behind.distance(d.asked))
    near = [Point(p) for p in d.asked.exterior.coords[:4]]
    if "gap" in keys:
        assert (3.0, 3.0) == pytest.approx(away, abs=1e-9)
        assert [3.0, 3.0] == pytest.approx([before.distance(near[0]), before.distance(near[3])], abs=1e-9)
    else:
        x = [LineString([(-10, 0), (400, 0)]).intersection(d.asked).bounds[i] for i in (0, 2)]
        assert 14.0 == pytest.approx(x[1] - x[0])
        # Between the lean of one fret and the next one's.
        lean = (near[3].x - near[0].x) / (near[3].y - near[0].y)
        leans = sorted(fret_line(fanned, n).lean for n in (2, 3))
        assert leans[0] <= lean <= leans[1]
