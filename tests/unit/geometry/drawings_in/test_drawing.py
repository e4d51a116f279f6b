"""DXF drawings come in as outlines and lines in mm; arcs stay arcs; what cannot be followed is named."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely

from tests.support.said import said
from toolpaths.common.errors import DrawingError, FeatureError
from toolpaths.geometry.drawings_in import dxf_file as dxffile
from toolpaths.geometry.drawings_in.drawing import Drawing, areas, outlines, placed, read_drawing
from toolpaths.geometry.loop import Loop

Draw = Callable[[Any, dict[str, str]], None]
CUT = {"layer": "CUT"}


def saved(folder: Path, draw: Callable[[Any], None], units: int = 4) -> Path:
    """A DXF file with what `draw` puts into its model space."""
    document = ezdxf.new("R2000")
    document.units = units
    document.layers.add("CUT")
    document.layers.add("NOTES")
    draw(document.modelspace())
    path = folder / "shape.dxf"
    document.saveas(path)
    return path


@pytest.fixture
def dxf(tmp_path: Path) -> Callable[..., Drawing]:
    def made(draw: Callable[[Any], None], layer: str | None = None, units: int = 4) -> Drawing:
        return read_drawing(saved(tmp_path, draw, units), layer)

    return made


def fault(dxf: Callable[..., Drawing], draw: Callable[[Any], None], layer: str | None = None) -> DrawingError:
    with pytest.raises(DrawingError) as caught:
        outlines(dxf(draw, layer))
    return caught.value


# Entities


def test_a_circle_is_a_circle(dxf: Callable[..., Drawing]) -> None:
    found = dxf(lambda m: m.add_circle((3, -4), 2.5))
    assert (3.0, -4.0, 2.5) == found.closed[0].as_circle()


def test_a_closed_polyline_keeps_its_arcs(dxf: Callable[..., Drawing]) -> None:
    # A slot 20 between centres, 5 wide: area 20 * 5 + pi * 2.5^2, by hand.
    places = [(0, 0, 0), (20, 0, 1), (20, 5, 0), (0, 5, 1)]
    for add in ("add_lwpolyline", "add_polyline2d"):
        loop = dxf(lambda m, add=add: getattr(m, add)(places, format="xyb", close=True)).closed[0]
        assert 4 == len(loop.points)
        assert 2 == int(np.count_nonzero(loop.bulges == 1.0))
        assert 100 + math.pi * 6.25 == pytest.approx(loop.shape(1e-6).area, rel=1e-6)


def test_outlines_run_counter_clockwise_however_they_were_drawn(dxf: Callable[..., Drawing]) -> None:
    loop = dxf(lambda m: m.add_lwpolyline([(0, 0, 0), (0, 5, -1), (20, 5, 0), (20, 0, -1)], format="xyb", close=True))
    assert loop.closed[0].shape().exterior.is_ccw
    back = dxf(lambda m: m.add_lwpolyline([(0, 0), (0, 5), (9, 5), (9, 0)], close=True)).closed[0]
    assert [0.0] * 4 == back.bulges.tolist()
    assert back.shape().exterior.is_ccw


def test_an_ellipse_strays_nowhere_by_more_than_a_thousandth(dxf: Callable[..., Drawing]) -> None:
    loop = dxf(lambda m: m.add_ellipse((5, 6), (10, 0), 0.4)).closed[0]
    assert loop.bulges.any()
    t = np.linspace(0, 2 * math.pi, 20_001)
    true = shapely.linearrings(np.stack([5 + 10 * np.cos(t), 6 + 4 * np.sin(t)], axis=1))
    assert 0.001 + 1e-6 >= shapely.hausdorff_distance(loop.shape(1e-5).exterior, true)


@pytest.mark.parametrize("closed", [False, True])
def test_a_spline_strays_nowhere_by_more_than_a_thousandth(dxf: Callable[..., Drawing], closed: bool) -> None:
    control = [(0, 0, 0), (10, 20, 0), (20, -10, 0), (30, 5, 0), (40, 0, 0), (20, -30, 0)]
    kept: list[Any] = []

    def draw(m: Any) -> None:
        kept.append(m.add_spline(degree=3))
        (kept[0].set_closed if closed else kept[0].set_open_uniform)(control)

    found = dxf(draw)
    tool = kept[0].construction_tool()
    # The library's own evaluation of the curve, between its first and last useful knot.
    knots = tool.knots()
    first, last = (knots[tool.degree], knots[-tool.degree - 1]) if closed else (knots[0], knots[-1])
    true = np.array([(p.x, p.y) for p in tool.points(np.linspace(first, last, 8001))])
    line = shapely.LineString(found.closed[0].shape(1e-5).exterior if closed else found.lines[0])
    assert 0.001 + 2e-5 >= float(shapely.distance(line, shapely.points(true)).max())


def test_a_weighted_spline_of_a_quarter_circle_is_one(dxf: Callable[..., Drawing]) -> None:
    # A quarter circle is exactly a quadratic curve with weights 1, cos 45, 1 (any text on such curves).
    def draw(m: Any) -> None:
        spline = m.add_spline(degree=2)
        spline.control_points = [(10, 0), (10, 10), (0, 10)]
        spline.knots = [0, 0, 0, 1, 1, 1]
        spline.weights = [1, math.sqrt(0.5), 1]

    line = dxf(draw).lines[0]
    assert np.full(len(line), 10.0) == pytest.approx(np.hypot(line[:, 0], line[:, 1]), abs=0.001)


def test_arcs_seen_from_below_are_mirrored(dxf: Callable[..., Drawing]) -> None:
    # With its axis pointing down, an arc's x runs the other way (DXF reference, arbitrary axis algorithm).
    line = dxf(lambda m: m.add_arc((10, 0), 5, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})).lines[0]
    assert {(-15.0, 0.0), (-10.0, 5.0)} == {tuple(np.round(p, 9).tolist()) for p in (line[0], line[-1])}


def test_blocks_are_taken_apart_where_they_stand(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        block = m.doc.blocks.new("DOT")
        block.add_circle((1, 0), 2)
        m.add_blockref("DOT", (10, 5), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 90, "layer": "CUT"})
        m.add_circle((100, 100), 1)

    (loop,) = dxf(draw, "CUT").closed
    assert (10.0, 7.0, 4.0) == pytest.approx(loop.as_circle(), abs=1e-9)


# Units and layers


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_units_are_the_file_s(dxf: Callable[..., Drawing], code: int, mm: float) -> None:
    # $INSUNITS: 1 inches, 2 feet, 4 millimetres, 5 centimetres, 6 metres; DXF reference, from memory.
    found = dxf(lambda m: m.add_line((0, 0), (3, 4)), units=code)
    assert 5 * mm == pytest.approx(float(np.hypot(*(found.lines[0][1] - found.lines[0][0]))))
    assert () == found.notes


def test_a_drawing_without_units_is_in_mm_and_says_so(dxf: Callable[..., Drawing]) -> None:
    found = dxf(lambda m: m.add_circle((0, 0), 3), units=0)
    assert (0.0, 0.0, 3.0) == found.closed[0].as_circle()
    assert ("names no units; its numbers are taken as mm",) == found.notes


def test_other_units_are_refused(dxf: Callable[..., Drawing]) -> None:
    with pytest.raises(DrawingError, match=r"its units \(\$INSUNITS 3\) cannot be read"):
        dxf(lambda m: m.add_circle((0, 0), 3), units=3)


def test_one_layer_is_read_and_the_rest_left_alone(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        m.add_circle((0, 0), 3, dxfattribs=CUT)
        m.add_text("Made on a Sunday", dxfattribs={"layer": "NOTES"})

    assert ("CIRCLE 31 on layer CUT",) == dxf(draw, "cut").closed_names
    error = fault(dxf, draw)
    assert "TEXT 32 on layer NOTES is not a line or curve that can be followed" == error.problem


def test_a_layer_that_is_not_there_is_answered_with_those_that_are(dxf: Callable[..., Drawing]) -> None:
    error = fault(dxf, lambda m: m.add_circle((0, 0), 3, dxfattribs=CUT), "CUTS")
    assert "it has no layer `CUTS`" == error.problem
    assert "its layers: 0, CUT, Defpoints, NOTES" == error.hint


def test_hidden_layers_count_only_when_they_are_asked_for(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        m.add_circle((0, 0), 3, dxfattribs=CUT)
        m.add_circle((9, 0), 2, dxfattribs={"layer": "NOTES"})
        m.doc.layers.get("NOTES").off()

    assert ("CIRCLE 31 on layer CUT",) == dxf(draw).closed_names
    assert ("CIRCLE 32 on layer NOTES",) == dxf(draw, "NOTES").closed_names


# Chains


def square(m: Any, gap: float = 0.0, layer: str = "CUT") -> None:
    """Four lines about a square of 10 mm, drawn in no order, the last one short by a gap."""
    at = {"layer": layer}
    m.add_line((0, 0), (10, 0), dxfattribs=at)
    m.add_line((0, 10), (0, gap), dxfattribs=at)
    m.add_line((10, 10), (10, 0), dxfattribs=at)
    m.add_line((10, 10), (0, 10), dxfattribs=at)


@pytest.mark.parametrize("gap", [0.0, 0.0099])
def test_lines_whose_ends_meet_make_an_outline(dxf: Callable[..., Drawing], gap: float) -> None:
    found = dxf(lambda m: square(m, gap))
    assert ("LINE 31 on layer CUT and 3 more joined to it",) == found.closed_names
    assert 100.0 == pytest.approx(found.closed[0].shape().area, abs=0.06)


def test_a_wider_gap_is_named_with_its_place(dxf: Callable[..., Drawing]) -> None:
    error = fault(dxf, lambda m: square(m, 0.02))
    assert (
        "LINE 31 on layer CUT and 3 more joined to it is open: it ends at x 0.00 mm, y 0.020 mm, "
        "0.020 mm from where it begins"
    ) == said(error)
    assert "close the outline" == error.hint
    assert isinstance(error, FeatureError)
    assert "drawing" == error.key


def test_arcs_in_a_chain_stay_arcs(dxf: Callable[..., Drawing]) -> None:
    # A half disc of radius 5 on a square of 10: area 100 + 12.5 pi, by hand.
    def draw(m: Any) -> None:
        m.add_arc((10, 5), 5, 270, 90)
        m.add_line((10, 10), (0, 10))
        m.add_line((0, 0), (10, 0))
        m.add_line((0, 0), (0, 10))

    loop = dxf(draw).closed[0]
    assert 1 == int(np.count_nonzero(loop.bulges))
    assert 100 + 12.5 * math.pi == pytest.approx(loop.shape(1e-6).area, rel=1e-6)


def test_a_line_drawn_twice_is_found(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        square(m)
        m.add_line((0, 0), (10, 0), dxfattribs=CUT)

    error = fault(dxf, draw)
    assert "where more than two lines meet" in error.problem
    assert "check whether a line is drawn twice" == error.hint


# Outlines that cannot be used


def test_an_outline_that_crosses_itself_is_named(dxf: Callable[..., Drawing]) -> None:
    error = fault(dxf, lambda m: m.add_lwpolyline([(0, 0), (10, 10), (10, 0), (0, 10)], close=True, dxfattribs=CUT))
    assert "LWPOLYLINE 31 on layer CUT crosses or touches itself at x 5.00 mm, y 5.00 mm" == said(error)


def test_outlines_that_cross_are_named_both(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        m.add_circle((0, 0), 5, dxfattribs=CUT)
        m.add_circle((6, 0), 5, dxfattribs=CUT)

    error = fault(dxf, draw)
    assert said(error).startswith("CIRCLE 31 on layer CUT crosses or touches CIRCLE 32 on layer CUT at x 3.00 mm, y ")


def test_crossing_lines_are_no_fault_where_lines_are_wanted(dxf: Callable[..., Drawing]) -> None:
    found = dxf(lambda m: m.add_lwpolyline([(0, 0), (10, 10), (10, 0), (0, 10)], close=True))
    ((points, name),) = found.as_lines()
    assert points[0].tolist() == points[-1].tolist()
    assert "LWPOLYLINE 31 on layer 0" == name


def test_an_empty_drawing_is_refused(dxf: Callable[..., Drawing]) -> None:
    with pytest.raises(DrawingError, match="it has nothing to cut"):
        dxf(lambda m: None)


# Limits


def test_more_entities_than_the_limit_are_refused(dxf: Callable[..., Drawing], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dxffile, "MOST_ENTITIES", 5)
    assert 5 == len(dxf(lambda m: [m.add_circle((9 * i, 0), 2) for i in range(5)]).closed)
    with pytest.raises(DrawingError, match="more than 5 entities"):
        dxf(lambda m: [m.add_circle((9 * i, 1), 2) for i in range(6)])


def test_splines_of_more_control_points_than_the_limit_are_refused(
    dxf: Callable[..., Drawing], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dxffile, "MOST_CONTROL_POINTS", 7)
    wave = [(3.0 * i, float(i % 2)) for i in range(4)]
    assert 1 == len(dxf(lambda m: m.add_open_spline(wave)).lines)
    with pytest.raises(DrawingError, match="its splines have more than 7 control points"):
        dxf(lambda m: [m.add_open_spline(wave), m.add_open_spline([(x, y + 9) for x, y in wave])])


def test_blocks_that_multiply_are_stopped(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        for depth in range(7):
            block = m.doc.blocks.new(f"B{depth}")
            for i in range(10):
                if depth == 0:
                    block.add_circle((i, 0), 0.3)
                else:
                    block.add_blockref(f"B{depth - 1}", (i, 0))
        m.add_blockref("B6", (0, 0))

    with pytest.raises(DrawingError, match="more than 20000 entities"):
        dxf(draw)


def test_a_larger_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "big.dxf"
    path.write_bytes(b" " * (8 * 1024 * 1024 + 1))
    with pytest.raises(DrawingError, match="it is larger than 8 MiB"):
        read_drawing(path)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("shape.dwf", b"", "`shape.dwf` is neither a .dxf nor a .svg file"),
        ("shape.dxf", None, "there is no file `shape.dxf`"),
        ("shape.dxf", b"", "it cannot be read as a DXF file"),
        ("shape.dxf", b"\x00\x01" * 40, "this is a binary DXF file"),
    ],
)
def test_what_is_no_drawing_is_said_in_words(tmp_path: Path, name: str, content: bytes | None, words: str) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(DrawingError) as caught:
        read_drawing(tmp_path / name)
    assert caught.value.problem.startswith(words)


def test_a_folder_is_no_drawing(tmp_path: Path) -> None:
    (tmp_path / "shape.svg").mkdir()
    with pytest.raises(DrawingError, match="there is no file"):
        read_drawing(tmp_path / "shape.svg")


# Placed


def test_a_drawing_is_scaled_then_turned_then_moved() -> None:
    drawing = Drawing((Loop.circle(10, 0, 2),), (np.array([[10.0, 0.0], [10.0, 5.0]]),), ("c",), ("l",))
    found = placed(drawing, (100, 50), rotate=90, scale=2)
    # (10, 0) doubled is (20, 0), turned (0, 20), moved (100, 70).
    assert (100.0, 70.0, 4.0) == pytest.approx(found.closed[0].as_circle())
    assert np.array([[100, 70], [90, 70]]) == pytest.approx(found.lines[0])


def test_a_mirrored_drawing_is_turned_over_about_its_x_axis() -> None:
    corner = Loop(np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 3.0]]), np.array([0.0, 0.5, 0.0]))
    found = placed(Drawing((corner,), (), ("c",), ()), (0, 0), mirror=True).closed[0]
    assert found.shape().exterior.is_ccw
    assert corner.shape().area == pytest.approx(found.shape().area)
    assert corner.mirrored().shape().equals_exact(found.shape(), 1e-9)


# Areas


def test_outlines_within_outlines_are_islands_and_what_lies_in_those_is_cut_again(dxf: Callable[..., Drawing]) -> None:
    def draw(m: Any) -> None:
        for r in (10, 6, 3):
            m.add_circle((0, 0), r, dxfattribs=CUT)
        m.add_circle((40, 0), 5, dxfattribs=CUT)

    found = areas(dxf(draw))
    assert [1, 0, 0] == [len(a.islands) for a in found]
    assert ["CIRCLE 31 on layer CUT", "CIRCLE 33 on layer CUT", "CIRCLE 34 on layer CUT"] == [a.name for a in found]
    # pi (10^2 - 6^2 + 3^2 + 5^2), by hand.
    assert 98 * math.pi == pytest.approx(sum(a.shape().area for a in found), rel=1e-4)
