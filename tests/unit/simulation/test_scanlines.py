"""Cells that a moving disc covers in each row, against the distance of every cell from the move's line."""

from __future__ import annotations

import numpy as np
import pytest

from toolpaths.simulation.level_sweep import listed, lower_level
from toolpaths.simulation.scanlines import Strokes, blocks


def some_strokes(count: int, rows: int, columns: int, seed: int, radius: tuple[float, float]) -> Strokes:
    rng = np.random.default_rng(seed)
    start = rng.uniform((-20, -20), (columns + 20, rows + 20), (count, 2))
    end = start + rng.normal(0, columns / 4, (count, 2))
    end[::5, 1] = start[::5, 1]
    end[1::5, 0] = start[1::5, 0]
    end[2::5] = start[2::5]
    return Strokes.of(start, end, rng.uniform(*radius, count))


def covered(s: Strokes, k: int, rows: int, columns: int) -> np.ndarray:
    """Cells (rows, cols) whose centres lie within the radius of a stroke's line."""
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float64)
    dx, dy = s.x1[k] - s.x0[k], s.y1[k] - s.y0[k]
    square = dx * dx + dy * dy
    t = np.clip(((x - s.x0[k]) * dx + (y - s.y0[k]) * dy) / square, 0, 1) if square > 0 else 0.0
    return np.hypot(x - s.x0[k] - t * dx, y - s.y0[k] - t * dy) <= s.radius[k]


@pytest.mark.parametrize("radius", [(0.2, 0.8), (2.0, 15.0)])
def test_spans_are_the_cells_within_the_radius_of_the_line(radius: tuple[float, float]) -> None:
    rows, columns = 40, 60
    strokes = some_strokes(60, rows, columns, 1, radius)
    found = np.zeros((len(strokes), rows, columns), dtype=int)
    for block in blocks(strokes, (0, rows - 1), columns, pairs=200):
        for stroke, row, column in listed(block, block.first, block.last):
            np.add.at(found, (stroke, row, column), 1)
    assert np.array_equal([covered(strokes, k, rows, columns) for k in range(len(strokes))], found)


def test_spans_keep_to_the_rows_asked_for() -> None:
    strokes = some_strokes(60, 40, 60, 2, (2.0, 15.0))
    rows = np.concatenate([b.rows[b.last >= b.first] for b in blocks(strokes, (10, 20), 60)])
    assert (10, 20) == (rows.min(), rows.max())


@pytest.mark.parametrize(("rows", "columns"), [(1, 700), (70, 1300), (200, 33), (1, 1)])
def test_level_spans_lower_every_cell_that_they_cover(rows: int, columns: int) -> None:
    strokes = some_strokes(80, rows, columns, 3, (0.3, 40.0))
    z = np.random.default_rng(4).uniform(0, 5, 80).astype(np.float32)
    heights = np.full((rows, columns), 4.0, dtype=np.float32)
    expected = heights.copy()
    for k in range(80):
        expected[covered(strokes, k, rows, columns)] = np.minimum(z[k], expected)[covered(strokes, k, rows, columns)]
    lower_level(heights, strokes, z)
    assert np.array_equal(expected, heights)


def test_many_cells_are_listed_in_parts_without_losing_one() -> None:
    strokes = Strokes.of(np.array([[10.0, 200.0]]), np.array([[390.0, 200.0]]), np.array([150.0]))
    parts = [p for b in blocks(strokes, (0, 399), 400) for p in listed(b, b.first, b.last)]
    assert len(parts) > 1
    cells = np.concatenate([row * 400 + column for _, row, column in parts])
    assert np.array_equal(np.flatnonzero(covered(strokes, 0, 400, 400)), np.sort(cells))
