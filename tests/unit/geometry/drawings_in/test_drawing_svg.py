"""SVG drawings come in as outlines and lines in mm with y turned up; circular arcs stay arcs."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.support.said import said
from toolpaths.common.errors import DrawingError
from toolpaths.geometry.drawings_in import svg_file as svgfile
from toolpaths.geometry.drawings_in.drawing import Drawing, areas, outlines, read_drawing

MM = 'width="100mm" height="100mm" viewBox="0 0 100 100"'


@pytest.fixture
def svg(tmp_path: Path) -> Callable[..., Drawing]:
    def made(body: str, root: str = MM, layer: str | None = None, before: str = "") -> Drawing:
        path = tmp_path / "shape.svg"
        path.write_text(f'{before}<svg xmlns="http://www.w3.org/2000/svg" {root}>\n{body}\n</svg>', encoding="utf-8")
        return read_drawing(path, layer)

    return made


def fault(svg: Callable[..., Drawing], body: str, **more: str) -> str:
    with pytest.raises(DrawingError) as caught:
        svg(body, **more)
    return caught.value.problem


# Shapes


def test_a_circle_is_a_circle_with_y_turned_up(svg: Callable[..., Drawing]) -> None:
    assert (30.0, -20.0, 5.0) == pytest.approx(svg('<circle cx="30" cy="20" r="5"/>').closed[0].as_circle())


def test_two_half_turns_of_a_path_are_a_circle(svg: Callable[..., Drawing]) -> None:
    found = svg('<path d="M10 10 a5 5 0 0 1 10 0 a5 5 0 01-10 0z"/>').closed[0]
    assert (15.0, -10.0, 5.0) == pytest.approx(found.as_circle())


def test_a_rounded_rectangle_has_four_arcs(svg: Callable[..., Drawing]) -> None:
    loop = svg('<rect x="1" y="2" width="20" height="10" rx="2"/>').closed[0]
    assert 4 == int(np.count_nonzero(loop.bulges))
    # 20 * 10 less the corners, 2^2 (4 - pi); by hand.
    assert 200 - 4 * (4 - math.pi) == pytest.approx(loop.shape(1e-6).area, rel=1e-6)
    assert (1.0, -12.0, 21.0, -2.0) == pytest.approx(loop.shape().bounds)


def test_a_rectangle_whose_rounding_takes_its_whole_ends_is_a_slot(svg: Callable[..., Drawing]) -> None:
    loop = svg('<rect width="20" height="4" rx="9" ry="2"/>').closed[0]
    assert 20 * 4 - (4 * 9 * 2 - math.pi * 9 * 2) == pytest.approx(loop.shape(1e-6).area, rel=1e-4)


def test_polygons_close_and_polylines_do_not(svg: Callable[..., Drawing]) -> None:
    found = svg('<polygon points="0,0 10,0 10,10"/><polyline points="20 0 30 0 30 10"/><line x1="50" y1="1" x2="60"/>')
    assert ("polygon on line 2",) == found.closed_names
    assert ("polyline on line 2", "line on line 2") == found.line_names
    assert [[20, 0], [30, 0], [30, -10]] == found.lines[0].tolist()
    assert [[50, -1], [60, 0]] == found.lines[1].tolist()


def test_every_command_of_a_path_is_followed(svg: Callable[..., Drawing]) -> None:
    # A square of 10, once with absolute and once with relative commands, each edge by another command.
    absolute = "M0 0 H10 C10 3 10 7 10 10 Q5 10 0 10 L0 5 V0 Z"
    relative = "m 0 0 h10 c0 3 0 7 0 10 q-5 0-10 0 l0-5 v-5 z"
    for d in (absolute, relative):
        loop = svg(f'<path d="{d}"/>').closed[0]
        assert 100.0 == pytest.approx(loop.shape().area)
        assert not loop.bulges.any()


def test_smooth_curves_go_on_as_they_came(svg: Callable[..., Drawing]) -> None:
    # T mirrors the control point: two parabolas of height 4 over 10, up and down; by hand.
    line = svg('<path d="M0 50 q5 -8 10 0 t10 0"/>').lines[0]
    assert (-50 + 4, -50 - 4) == pytest.approx((line[:, 1].max(), line[:, 1].min()), abs=0.002)
    whole = svg('<path d="M0 50 C 0 40 10 40 10 50 S 20 60 20 50"/>').lines[0]
    written = svg('<path d="M0 50 C 0 40 10 40 10 50 C 10 60 20 60 20 50"/>').lines[0]
    assert np.array_equal(written, whole)


def test_numbers_may_stand_without_spaces(svg: Callable[..., Drawing]) -> None:
    line = svg('<path d="M.5.5L10.5-9.5L-.5,1e-1"/>').lines[0]
    assert np.array([[0.5, -0.5], [10.5, 9.5], [-0.5, -0.1]]) == pytest.approx(line)


def test_a_curve_strays_nowhere_by_more_than_a_thousandth(svg: Callable[..., Drawing]) -> None:
    line = svg('<path d="M0 0 C 30 60 40 -50 90 20"/>').lines[0]
    t = np.linspace(0, 1, 20_001)[:, None]
    p = [np.array(q, dtype=float) for q in ((0, 0), (30, -60), (40, 50), (90, -20))]
    true = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    a, b = line[:-1], line[1:]
    # The nearest chord of each of the curve's points is one of those about the same x.
    i = np.clip(np.searchsorted(line[:, 0], true[:, 0]) - 1, 0, len(a) - 1)
    d = b[i] - a[i]
    off = np.abs((true - a[i])[:, 0] * d[:, 1] - (true - a[i])[:, 1] * d[:, 0]) / np.hypot(*d.T)
    assert 0.001 >= float(off.max())


# Transforms, units, groups


@pytest.mark.parametrize(
    ("transform", "x", "y"),
    [
        ("translate(10)", 13.0, -4.0),
        ("translate(10, 20)", 13.0, -24.0),
        ("rotate(90)", -4.0, -3.0),
        ("rotate(90 3 0)", 3 - 4.0, -0.0),
        ("scale(2)", 6.0, -8.0),
        ("scale(2 3)", 6.0, -12.0),
        ("skewX(45)", 7.0, -4.0),
        ("skewY(45)", 3.0, -7.0),
        ("matrix(1 2 3 4 5 6)", 3 + 12 + 5.0, -(6 + 16 + 6.0)),
        ("translate(10) scale(2)", 16.0, -8.0),
    ],
)
def test_transforms_are_those_of_the_standard(svg: Callable[..., Drawing], transform: str, x: float, y: float) -> None:
    # The point (3, 4), by the matrices of SVG 2 (CSS Transforms, section 9), by hand.
    line = svg(f'<g transform="{transform}"><line x1="3" y1="4" x2="99" y2="70"/></g>').lines[0]
    assert (x, y) == pytest.approx(tuple(line[0]), abs=1e-9)


def test_a_circle_turned_and_scaled_alike_stays_a_circle_and_else_becomes_an_ellipse(
    svg: Callable[..., Drawing],
) -> None:
    whole = svg('<g transform="rotate(30) scale(-2 2)"><circle r="3"/></g>').closed[0]
    assert (0.0, 0.0, 6.0) == pytest.approx(whole.as_circle())
    flat = svg('<circle r="3" transform="scale(2 1)"/>').closed[0]
    assert flat.as_circle() is None
    assert math.pi * 18 == pytest.approx(flat.shape(1e-6).area, abs=0.02)
    back = svg('<ellipse rx="6" ry="3" transform="scale(.5 1)"/>').closed[0]
    assert (0.0, 0.0, 3.0) == pytest.approx(back.as_circle())


@pytest.mark.parametrize(
    ("root", "mm"),
    [
        ('width="50mm" height="50mm" viewBox="0 0 100 100"', 0.5),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 1.0),
        ('width="2in" height="2in" viewBox="0 0 100 100"', 0.508),
        ('width="96px" height="96" viewBox="0 0 96 96"', 25.4 / 96),
        ('width="72pt" height="6pc" viewBox="0 0 10 10"', 2.54),
        # The smaller of the two, as a drawing keeps its proportions (preserveAspectRatio); SVG 2, 8.6.
        ('width="100mm" height="50mm" viewBox="0 0 100 100"', 0.5),
        ('width="100mm" viewBox="0 0 200 100"', 0.5),
    ],
)
def test_units_are_the_page_s(svg: Callable[..., Drawing], root: str, mm: float) -> None:
    found = svg('<circle cx="8" cy="4" r="6"/>', root)
    assert (8 * mm, -4 * mm, 6 * mm) == pytest.approx(found.closed[0].as_circle())
    assert () == found.notes


@pytest.mark.parametrize("root", ["", 'viewBox="0 0 10 10"', 'width="100%" height="100%" viewBox="0 0 9 9"'])
def test_a_page_without_size_has_96_units_to_the_inch_and_says_so(svg: Callable[..., Drawing], root: str) -> None:
    found = svg('<circle r="96"/>', root)
    assert (0.0, 0.0, 25.4) == pytest.approx(found.closed[0].as_circle())
    assert ("names no size; 96 of its units are taken as an inch",) == found.notes


def test_lengths_within_the_drawing_may_carry_units(svg: Callable[..., Drawing]) -> None:
    assert (0.0, 0.0, 5.0) == pytest.approx(svg('<circle r="5mm"/>', "").closed[0].as_circle())


def test_a_layer_is_a_group_with_that_id(svg: Callable[..., Drawing]) -> None:
    body = '<g id="a"><g><circle id="dot" r="1"/></g></g><g id="b"><text>no lines</text></g><rect id="a2"/>'
    assert ("circle dot in group a",) == svg(body, layer="a").closed_names
    assert "text on line 2 in group b is not a line or curve that can be followed" == fault(svg, body, layer="b")
    assert "it has no group with the id `c`" == fault(svg, body, layer="c")


def test_what_is_hidden_or_only_defined_is_not_cut(svg: Callable[..., Drawing]) -> None:
    body = (
        '<defs><circle r="9"/></defs><g style="display: none"><circle r="8"/></g><circle r="7" display="none"/>'
        "<script>alert(1)</script><style>circle {r: 3}</style><clipPath><rect width='3' height='3'/></clipPath>"
        '<circle r="1"/>'
    )
    assert [1.0] == [loop.as_circle()[2] for loop in svg(body).closed]  # type: ignore[index]


def test_edges_from_several_shapes_make_one_outline(svg: Callable[..., Drawing]) -> None:
    found = svg('<path id="a" d="M0 0 H10 V10"/><path d="M0 0.005 V10 H10"/>')
    assert ("path a and 1 more joined to it",) == found.closed_names
    assert 1 == len(areas(found))


# Faults


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('<path id="k" d="L 3 4"/>', "path k: it does not begin with a move (M)"),
        ('<path id="k" d="M 3"/>', "path k: a number is expected at its end"),
        ('<path id="k" d="M 3 4 X 5"/>', "path k: a number is expected at `X 5`"),
        ('<path id="k" d="M 0 0 A 5 5 0 2 1 9 9"/>', "path k: a flag of an arc must be 0 or 1, at `2 1 9 9`"),
        ('<path id="k" d="M 0 0 L 1e999 4"/>', "path k has a number that is not finite"),
        ('<path id="k" d="M 0 0 L 1e9 4"/>', "path k reaches further than 100 m"),
        ('<circle id="k" r="0"/>', "circle k: it has no radius"),
        ('<circle id="k" r="5%"/>', "circle k: its r is not a length"),
        ('<polygon id="k" points="1 2 3"/>', "polygon k: its points are not two or more pairs of numbers"),
        ('<g id="k" transform="turn(3)"/>', "g k: its transform has turn with 1 numbers"),
        ('<g id="k" transform="rotate(3"/>', "g k: its transform cannot be read"),
        ('<g id="k" style="transform: rotate(3deg)"/>', "g k: a transform in a style cannot be read"),
        ('<use id="k" href="http://example.invalid/a.svg#b"/>', "use k is not a line or curve that can be followed"),
        ('<image id="k" href="a.png"/>', "image k is not a line or curve that can be followed"),
        ("<g><circle r='1'/>", "it cannot be read as an SVG file (line 3)"),
        ("", "it has nothing to cut"),
    ],
)
def test_a_fault_names_its_shape(svg: Callable[..., Drawing], body: str, words: str) -> None:
    assert words == fault(svg, body)


def test_open_and_crossing_outlines_are_named(svg: Callable[..., Drawing]) -> None:
    with pytest.raises(DrawingError) as caught:
        outlines(svg('<g id="cut"><path id="bow" d="M0 0 L10 10 V0 L0 10 Z"/></g>'))
    assert "path bow in group cut crosses or touches itself at x 5.00 mm, y -5.00 mm" == said(caught.value)
    with pytest.raises(DrawingError) as caught:
        outlines(svg('<path id="hook" d="M0 0 L10 10 V0"/>'))
    assert "path hook is open: it ends at x 10.00 mm, y 0.00 mm, 10.00 mm from where it begins" == said(caught.value)


BOMB = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha"}">' for i in range(10))


@pytest.mark.parametrize(
    "before",
    [
        f"<!DOCTYPE svg [{BOMB}]>",
        '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE svg [<!ENTITY % a SYSTEM "http://example.invalid/a.dtd"> %a;]>',
    ],
)
def test_entities_are_refused_before_they_grow_or_reach_outside(svg: Callable[..., Drawing], before: str) -> None:
    assert "it declares entities or refers to something outside" == fault(
        svg, '<text id="x">&a9;</text><circle r="3"/>', before=before
    )


def test_a_plain_document_type_is_no_harm(svg: Callable[..., Drawing]) -> None:
    before = '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://example.invalid/svg11.dtd">'
    assert 1 == len(svg('<circle r="3"/>', before=before).closed)


def test_deep_groups_and_many_pieces_are_refused(svg: Callable[..., Drawing], monkeypatch: pytest.MonkeyPatch) -> None:
    assert "its groups are nested deeper than 100" == fault(svg, "<g>" * 5000 + "</g>" * 5000)
    monkeypatch.setattr(svgfile, "MOST_ENTITIES", 10)
    assert "it has more than 10 pieces" in fault(svg, f'<path id="k" d="M0 0{" h1" * 11}"/>')
    assert "more than 10 shapes and pieces" in fault(svg, '<circle r="1"/>' * 11)


def test_a_file_that_is_something_else_is_no_drawing(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text("<html><svg/></html>")
    with pytest.raises(DrawingError, match="this is not an SVG drawing"):
        read_drawing(tmp_path / "a.svg")


def test_curves_are_counted_while_followed(svg: Callable[..., Drawing], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(svgfile, "MOST_POINTS", 50)
    with pytest.raises(DrawingError, match="it has more than 50 points"):
        svg(f'<path d="M0 0 {"C 900 900 -900 900 0 0 " * 400}"/>')
