"""Drawings read back by libraries that had no part in writing them: trimesh (DXF), svgelements (SVG), pdfplumber (PDF).

Every place is measured from the nut line and the centreline of the drawing itself, as a maker would with a rule.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from tests.support.paired_jobs import pair
from toolpaths.cli import app

MICRON = 0.001
# d = L (1 - 2^(-n/12)), L 650 mm: the table of fret places, derived apart from the code.
TABLE = {1: 36.482, 2: 70.916, 3: 103.417, 5: 163.050, 7: 216.177, 9: 263.508, 12: 325.000, 15: 376.709, 19: 433.089}


@dataclass
class Seen:
    """What a reader found, mm: straight lines (x0, y0, x1, y1), every vertex (N, 2), circles (x, y, radius)."""

    lines: list[tuple[float, float, float, float]]
    points: np.ndarray
    circles: list[tuple[float, float, float]]

    def upright(self) -> dict[float, float]:
        """Length of each upright line by its x."""
        return {x0: abs(y1 - y0) for x0, y0, x1, y1 in self.lines if abs(x0 - x1) < 1e-6}


def by_trimesh(data: bytes) -> Seen:
    import trimesh

    path = trimesh.load_path(io.BytesIO(data), file_type="dxf")
    assert "millimeters" == path.units
    v = path.vertices
    lines, circles, points = [], [], []
    for e in path.entities:
        kind = type(e).__name__
        if kind == "Text":
            continue
        points += [v[i] for i in e.points]
        if kind == "Line" and len(e.points) == 2:
            lines.append((*v[e.points[0]], *v[e.points[1]]))
        elif kind == "Arc":
            centre = e.center(v)
            circles.append((*centre.center, centre.radius))
    return Seen(lines, np.array(points), circles)


def by_svgelements(data: bytes) -> Seen:
    import svgelements as se

    # 25.4 dots an inch: one dot a mm.
    svg = se.SVG.parse(io.BytesIO(data), ppi=25.4)
    lines, circles, points = [], [], []
    for e in svg.elements():
        if isinstance(e, se.SimpleLine):
            x0, y0, x1, y1 = e.implicit_x1, e.implicit_y1, e.implicit_x2, e.implicit_y2
            lines.append((x0, -y0, x1, -y1))
            points += [(x0, -y0), (x1, -y1)]
        elif isinstance(e, se.Circle):
            circles.append((e.implicit_center.x, -e.implicit_center.y, e.implicit_r))
        elif isinstance(e, se.Path):
            for segment in e:
                points.append((segment.end.x, -segment.end.y))
                if isinstance(segment, se.Arc):
                    circles.append((segment.center.x, -segment.center.y, segment.rx))
    return Seen(lines, np.array(points), circles)


def by_pdfplumber(data: bytes) -> Seen:
    import pdfplumber

    mm = 25.4 / 72
    with pdfplumber.open(io.BytesIO(data)) as book:
        assert 1 == len(book.pages)
        page = book.pages[0]
        lines = [(x0 * mm, -y0 * mm, x1 * mm, -y1 * mm) for (x0, y0), (x1, y1) in (line["pts"] for line in page.lines)]
        points = [(x0, y0) for x0, y0, _, _ in lines] + [(x1, y1) for _, _, x1, y1 in lines]
        circles = []
        for shape in [*page.curves, *page.rects]:
            ends = [(step[-1][0] * mm, -step[-1][1] * mm) for step in shape["path"] if step[0] in ("m", "l", "c")]
            points += ends
            if "l" not in {step[0] for step in shape["path"]}:
                around = np.array(list(_on_curves(shape["path"]))) * [mm, -mm]
                middle = (around.min(axis=0) + around.max(axis=0)) / 2
                away = np.hypot(*(around - middle).T)
                assert away.max() - away.min() < MICRON, "a circle of cubic curves is round"
                circles.append((*middle, away.mean()))
    return Seen(lines, np.array(points), circles)


def _on_curves(path: list[tuple]) -> Iterator[np.ndarray]:  # type: ignore[type-arg]
    at = np.zeros(2)
    for step in path:
        if step[0] == "c":
            one, two, end = (np.array(p) for p in step[1:])
            for t in np.linspace(0, 1, 9):
                yield (1 - t) ** 3 * at + 3 * t * (1 - t) ** 2 * one + 3 * t * t * (1 - t) * two + t**3 * end
        if step[0] in ("m", "l", "c"):
            at = np.array(step[-1])


READERS = pytest.mark.parametrize(
    ("ending", "reader"), [("dxf", by_trimesh), ("svg", by_svgelements), ("pdf", by_pdfplumber)]
)
Reader = Callable[[bytes], Seen]


def drawn(job: Path, ending: str, *more: str) -> bytes:
    out = job.with_suffix(f".{ending}")
    result = CliRunner().invoke(app, ["draw", str(job), "-o", str(out), *more])
    assert 0 == result.exit_code, result.output
    return out.read_bytes()


def seen_from_nut(seen: Seen, nut_width: float) -> Seen:
    """Moved so that the nut line is x 0 and the centreline y 0."""
    nut = next(line for line in seen.lines if abs(line[0] - line[2]) < 1e-6 and _is(line, nut_width))
    dx, dy = nut[0], (nut[1] + nut[3]) / 2
    return Seen(
        [(a - dx, b - dy, c - dx, d - dy) for a, b, c, d in seen.lines],
        seen.points - [dx, dy],
        [(x - dx, y - dy, r) for x, y, r in seen.circles],
    )


def _is(line: tuple[float, float, float, float], width: float) -> bool:
    return abs(abs(line[3] - line[1]) - width) < 2 * MICRON


def width_at(x: float, octave: float) -> float:
    """36 mm at the nut, 44 at fret 12, straight on."""
    return 36 + 8 * x / octave


@READERS
def test_frets_stand_where_the_table_says(tmp_path: Path, ending: str, reader: Reader) -> None:
    job, _ = pair(tmp_path, board={"scale_length: 584": "scale_length: 650"})
    seen = seen_from_nut(reader(drawn(job, ending)), 36)
    upright = seen.upright()
    for fret, table in TABLE.items():
        x = min(upright, key=lambda at, table=table: abs(at - table))
        assert table == pytest.approx(x, abs=MICRON + 5e-4), f"fret {fret}; the table is rounded to 0.001"
        assert 650 * (1 - 2 ** (-fret / 12)) == pytest.approx(x, abs=MICRON)
        assert width_at(table, 325) == pytest.approx(upright[x], abs=MICRON)


@READERS
def test_corners_of_the_board_and_its_pins(tmp_path: Path, ending: str, reader: Reader) -> None:
    job, _ = pair(tmp_path)
    seen = seen_from_nut(reader(drawn(job, ending)), 36)
    end = 584 * (1 - 2 ** (-19 / 12)) + 8
    half = width_at(end, 292) / 2
    for corner in [(0, -18), (0, 18), (end, half), (end, -half)]:
        assert MICRON > np.hypot(*(seen.points - corner).T).min()
    # Pins of 4 mm and markers of 6, as the job says.
    for x, y, radius in [
        (20, 14.5, 2),
        (380, -14.5, 2),
        (-16, 0, 2),
        (584 * (2 ** (-2 / 12) + 2 ** (-3 / 12)) / -2 + 584, 0, 3),
    ]:
        assert MICRON > min(math.dist((x, y, radius), c) for c in seen.circles)


@READERS
def test_the_100_mm_line_is_100_mm(tmp_path: Path, ending: str, reader: Reader) -> None:
    job, _ = pair(tmp_path)
    seen = reader(drawn(job, ending))
    lengths = [math.dist(line[:2], line[2:]) for line in seen.lines]
    assert MICRON > min(abs(length - 100) for length in lengths)
    assert MICRON > min(abs(length - 50) for length in lengths)


@READERS
def test_corners_and_channels_of_the_neck(tmp_path: Path, ending: str, reader: Reader) -> None:
    _, job = pair(tmp_path)
    seen = seen_from_nut(reader(drawn(job, ending)), 36)
    # Headstock 150 x 66, heel 52 wide from 330 to 400: the numbers of the instrument.
    for corner in [(-150, 33), (-150, -33), (330, 26), (400, 26), (400, -26)]:
        assert MICRON > np.hypot(*(seen.points - corner).T).min()
    # The bars' slots: 3.4 wide from x 12 to 340 at 11 mm, with round ends; the rod's channel 6.4 wide from -5 to 350.
    for place in [(13.7, 12.7), (13.7, 9.3), (338.3, -12.7), (-1.8, 3.2), (346.8, -3.2)]:
        assert MICRON > np.hypot(*(seen.points - place).T).min()
    for x, y, radius in [(-60, 22, 5), (-100, -22, 5), (20, 14.5, 2)]:
        assert MICRON > min(math.dist((x, y, radius), c) for c in seen.circles)


@pytest.mark.parametrize(("ending", "reader"), [("dxf", by_trimesh), ("svg", by_svgelements)])
def test_round_ends_leave_as_arcs(tmp_path: Path, ending: str, reader: Reader) -> None:
    _, job = pair(tmp_path)
    seen = seen_from_nut(reader(drawn(job, ending)), 36)
    for arc in [(13.7, 11, 1.7), (338.3, -11, 1.7), (-1.8, 0, 3.2), (346.8, 0, 3.2)]:
        assert MICRON > min(math.dist(arc, c) for c in seen.circles)
    assert 4 <= sum(abs(r - 12) < 2 * MICRON for _, _, r in seen.circles), "the hollow corners, 12 mm round"


@pytest.mark.parametrize("fret", [1, 12])
def test_a_gauge_is_half_an_ellipse(tmp_path: Path, fret: int) -> None:
    """The finished back of a round neck, board taken off: 20.5 - 6 mm deep at fret 1, 22 - 6 at fret 12."""
    import svgelements as se

    _, job = pair(tmp_path)
    svg = se.SVG.parse(io.BytesIO(drawn(job, "svg", "--templates")), ppi=25.4)
    depth = {1: 14.5, 12: 16.0}[fret]
    x = 584 * (1 - 2 ** (-fret / 12))
    half = width_at(x, 292) / 2
    card = [e for e in svg.elements() if isinstance(e, se.Path)][{1: 0, 12: 3}[fret]]
    arcs = [s for s in card if isinstance(s, se.Arc)]
    points = np.array([(p.x, -p.y) for s in arcs for p in (s.point(t) for t in np.linspace(0, 1, 40))])
    middle = (points[:, 0].min() + points[:, 0].max()) / 2
    y, down = points[:, 0] - middle, points[:, 1].max() - points[:, 1]
    assert half == pytest.approx(np.abs(y).max(), abs=MICRON)
    assert depth == pytest.approx(down.max(), abs=MICRON)
    # Distance from the ellipse to first order: f / |grad f|.
    f = (y / half) ** 2 + (down / depth) ** 2 - 1
    away = np.abs(f) / (2 * np.hypot(y / half**2, down / depth**2))
    assert MICRON > away.max()
