"""Drawings against libraries and closed forms from elsewhere: bulges, SVG arcs and curves, areas, units."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pint
import pytest
import shapely
import svgpathtools
from ezdxf.math import bulge_to_arc
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.geometry.drawings_in.drawing import areas, read_drawing
from toolpaths.geometry.drawings_in.dxf_file import read_dxf
from toolpaths.geometry.drawings_in.polyline import Polyline, chained
from toolpaths.geometry.drawings_in.svg_file import read_svg
from toolpaths.geometry.drawings_in.svg_path import pieces_of
from toolpaths.geometry.loop import arc_centre

UNITS = pint.UnitRegistry()
ERROR = 0.001
FIGURES = st.floats(-80, 80).map(lambda v: round(v, 3))


def dxf(document: object) -> bytes:
    text = io.StringIO()
    document.write(text)  # type: ignore[attr-defined]
    return text.getvalue().encode()


def svg(body: str) -> list[Polyline]:
    page = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
    return read_svg(f"<svg {page}>{body}</svg>".encode(), None, ERROR)[0]


def sampled(path: Iterable[Any], per_piece: int = 400) -> np.ndarray:
    """Points of a path by the other library, y turned up."""
    t = np.linspace(0, 1, per_piece)
    points = np.array([piece.point(v) for piece in path for v in t])
    return np.stack([points.real, -points.imag], axis=1)


@pytest.mark.parametrize("bulge", [-2.5, -1.0, -0.3, 0.05, 0.41421356, 1.0, 3.0])
def test_arcs_of_bulges_have_the_radius_of_the_closed_formula(bulge: float) -> None:
    # radius = c (1 + b^2) / (4 |b|), c the chord: from the sagitta b c / 2 (derived).
    document = ezdxf.new("R2000")
    document.units = 4
    a, b = (3.0, -2.0), (10.0, 5.0)
    document.modelspace().add_lwpolyline([(*a, bulge), (*b, 0)], format="xyb")
    (trail,), _ = read_dxf(dxf(document), None, ERROR)
    chord = math.dist(a, b)
    cx, cy, radius = arc_centre(trail.points[0], trail.points[1], float(trail.bulges[0]))
    assert chord * (1 + bulge**2) / (4 * abs(bulge)) == pytest.approx(radius)
    # The library's own account of the same arc.
    centre, _, _, theirs = bulge_to_arc(a, b, bulge)
    assert (centre.x, centre.y, theirs) == pytest.approx((cx, cy, radius))


@pytest.mark.slow
@settings(max_examples=60)
@given(
    ends=st.tuples(FIGURES, FIGURES, FIGURES, FIGURES).filter(lambda e: math.dist(e[:2], e[2:]) > 0.1),
    radii=st.tuples(st.floats(0.5, 60), st.floats(0.5, 60)),
    turn=st.floats(-180, 180).map(lambda v: round(v, 2)),
    large=st.booleans(),
    sweep=st.booleans(),
)
def test_elliptical_arcs_run_where_another_library_has_them(
    ends: tuple[float, float, float, float], radii: tuple[float, float], turn: float, large: bool, sweep: bool
) -> None:
    d = f"M{ends[0]} {ends[1]}A{radii[0]:.4f} {radii[1]:.4f} {turn} {int(large)} {int(sweep)} {ends[2]} {ends[3]}"
    (arc,) = svgpathtools.parse_path(d)
    theirs = sampled([arc], 600)
    ours = shapely.LineString(svg(f'<path d="{d}"/>')[0].chords(1e-4))
    assert ERROR + 2e-4 >= float(shapely.distance(ours, shapely.points(theirs)).max())
    # And the other way round, so that nothing is drawn beyond; their own chords stray by at most r (dt)^2 / 8.
    chords = max(arc.radius.real, arc.radius.imag) * (math.radians(arc.delta) / 599) ** 2 / 8
    assert ERROR + 2e-4 + chords >= float(shapely.hausdorff_distance(ours, shapely.LineString(theirs)))


@settings(max_examples=100)
@given(st.lists(st.tuples(st.sampled_from("LHVCSQTlhvcsqtz"), st.lists(FIGURES, min_size=6, max_size=6)), max_size=8))
def test_paths_of_any_commands_run_where_another_library_has_them(commands: list[tuple[str, list[float]]]) -> None:
    takes = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
    d = "M 1 2 " + " ".join(f"{c} {' '.join(map(str, v[: takes[c.upper()]]))}" for c, v in commands)
    theirs = [s for part in svgpathtools.parse_path(d).continuous_subpaths() for s in part if s.length() > 1e-6]
    if not theirs:
        return
    points = sampled(svgpathtools.Path(*theirs), 100)
    if np.abs(points).max() > 5000:
        return
    ours = shapely.union_all([shapely.LineString(t.chords(1e-4)) for t in svg(f'<path d="{d}"/>')])
    assert ERROR + 2e-4 >= float(shapely.distance(ours, shapely.points(points)).max())


def test_the_length_of_a_path_is_the_other_library_s() -> None:
    d = "M10 10 C 20 40 60 -30 80 20 S 90 60 40 60 Q 10 60 10 40 A 8 15 20 0 1 30 30"
    ours = float(np.sum(np.hypot(*np.diff(svg(f'<path d="{d}"/>')[0].chords(1e-5), axis=0).T)))
    assert svgpathtools.parse_path(d).length() == pytest.approx(ours, rel=1e-5)
    assert 4 == len(pieces_of(d, 100)[0])


@pytest.mark.parametrize(
    ("body", "shape"),
    [
        ('<circle cx="20" cy="20" r="7"/>', shapely.Point(20, -20).buffer(7, 2000)),
        ('<rect x="3" y="4" width="30" height="12" rx="5"/>', shapely.box(8, -11, 28, -9).buffer(5, 2000)),
        ('<polygon points="0 0 30 0 25 9 4 22"/>', shapely.Polygon([(0, 0), (30, 0), (25, -9), (4, -22)])),
    ],
)
def test_areas_are_shapely_s(body: str, shape: shapely.Polygon) -> None:
    (loop,) = [t.loop() for t in chained(svg(body))]
    assert shape.area == pytest.approx(loop.shape(1e-6).area, rel=2e-6)
    assert shape.symmetric_difference(loop.shape(1e-6)).area == pytest.approx(0, abs=1e-3)


def test_the_demo_headstock_is_as_large_as_its_parts() -> None:
    path = Path(__file__).parents[2] / "demo_jobs" / "drawings" / "headstock.dxf"
    (area,) = areas(read_drawing(path, "OUTLINE"))
    # Straight parts by shapely; each bulge adds a segment r^2 (s - sin s) / 2, each flare the area under a cubic.
    corners = [
        (0, -18),
        (-8, -18),
        (-34, -36),
        (-136, -36),
        (-154, -24),
        (-154, 24),
        (-136, 36),
        (-34, 36),
        (-8, 18),
        (0, 18),
    ]
    total = shapely.Polygon(corners).area
    for a, b, bulge in [
        ((-34, 36), (-136, 36), 2 / 102),
        ((-136, 36), (-154, 24), 0.22),
        ((-154, 24), (-154, -24), 22 / 48),
    ]:
        r, s = math.dist(a, b) * (1 + bulge**2) / (4 * bulge), 4 * math.atan(bulge)
        total += r * r * (s - math.sin(s)) / 2 * (1 if a[0] == b[0] else 2)
    t = np.linspace(0, 1, 200_001)
    x, y = (
        (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
        for p in ((-8, -20, -22, -34), (18, 18, 36, 36))
    )
    chord = 18 + (y[-1] - 18) * (x + 8) / -26
    total += 2 * float(np.trapezoid(chord - y, x))
    assert total == pytest.approx(area.shape().area, abs=0.05)
    x0, y0, x1, y1 = area.shape().bounds
    assert (165, 74) == pytest.approx((x1 - x0, y1 - y0), abs=0.002)


@given(st.floats(0.5, 50).map(lambda v: round(v, 3)), st.sampled_from(["mm", "cm", "in", "pt", "pc"]))
def test_page_units_are_pint_s(number: float, unit: str) -> None:
    # A point is 1/72 in and a pica 12 points in SVG (CSS); pint's `point` and `pica` are the same.
    theirs = UNITS.Quantity(number, {"pt": "point", "pc": "pica", "in": "inch"}.get(unit, unit)).to("mm").magnitude
    page = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number}{unit}" viewBox="0 0 100 100"><circle r="100"/></svg>'
    )
    (trail,), _ = read_svg(page.encode(), None, ERROR)
    assert float(theirs) == pytest.approx(float(np.ptp(trail.points[:, 0])) / 2, rel=1e-9)


@pytest.mark.parametrize(("code", "unit"), [(1, "inch"), (2, "foot"), (4, "mm"), (5, "cm"), (6, "m")])
def test_drawing_units_are_pint_s(code: int, unit: str) -> None:
    document = ezdxf.new("R2000")
    document.units = code
    document.modelspace().add_line((0, 0), (1, 0))
    (trail,), _ = read_dxf(dxf(document), None, ERROR)
    assert float(UNITS.Quantity(1, unit).to("mm").magnitude) == pytest.approx(float(trail.points[1, 0]))
