from __future__ import annotations

import io
from functools import lru_cache

import numpy as np
import pytest
from PIL import Image

from tests.support.plain_outcome import _outcome
from toolpaths.reports.pictures.depth_picture import DepthPicture, depth_picture
from toolpaths.reports.pictures.picture_keys import key_entries, key_lines


@lru_cache(maxsize=4)
def _pixels(picture: DepthPicture) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(picture.png)).convert("RGB")).astype(int)


def _at(picture: DepthPicture, x: float, y: float) -> np.ndarray:
    left, top, width, height = picture.panel
    x0, y0, x1, y1 = picture.box
    column = left + (x - x0) / (x1 - x0) * width
    row = top + (y1 - y) / (y1 - y0) * height
    return _pixels(picture)[round(row), round(column)]


@pytest.fixture(scope="module")
def picture() -> DepthPicture:
    outcome = _outcome()
    return depth_picture(outcome, outcome.setups[0])


def test_the_picture_is_as_large_as_it_says(picture) -> None:
    assert picture.size == Image.open(io.BytesIO(picture.png)).size
    assert 2400 == picture.size[0]


def test_the_map_is_drawn_where_the_picture_says(picture) -> None:
    # Fret 5 of a 520 mm scale stands at 520 (1 - 2^(-5/12)) = 130.43 mm.
    face, line, pocket = _at(picture, 100, 10), _at(picture, 130.43, 10), _at(picture, 69.9, 0)
    assert 100 < np.abs(face - line).sum()
    assert 100 < np.abs(line - pocket).sum()
    assert pocket.sum() < line.sum() < face.sum()


def test_the_finished_outline_is_drawn_around_the_board(picture) -> None:
    # The board's end: fret 16 at 313.64 mm and 8 mm of overhang.
    assert _at(picture, 321.64, 5).sum() < 200


def test_the_same_outcome_gives_the_same_bytes(outcome, picture) -> None:
    assert picture.png == depth_picture(outcome, outcome.setups[0]).png


def test_a_hostile_title_is_drawn_as_text(make_outcome) -> None:
    outcome = make_outcome(title="$\\frac{ %s \x07 日本 <b>" + "x" * 100)
    assert depth_picture(outcome, outcome.setups[0]).png.startswith(b"\x89PNG")


def test_a_finding_is_ringed_where_it_lies(make_outcome, gouge) -> None:
    outcome = make_outcome(findings=(gouge,))
    plain, ringed = (depth_picture(o, o.setups[0]) for o in (make_outcome(), outcome))
    red = (_pixels(ringed) == (212, 0, 0)).all(axis=2) & ~(_pixels(plain) == (212, 0, 0)).all(axis=2)
    left, top, width, height = ringed.panel
    rows, columns = np.nonzero(red[top : top + height, left : left + width])
    x0, y0, x1, y1 = ringed.box
    # The ring's middle; its number stands up and to the right of it.
    middle = (x0 + columns.min() / width * (x1 - x0), y1 - rows.max() / height * (y1 - y0))
    assert pytest.approx(130.2, abs=5) == middle[0]
    assert pytest.approx(-4.0, abs=5) == middle[1]


def test_a_board_that_is_not_cut_out_still_shows_where_it_will_lie(without_outline) -> None:
    picture = depth_picture(without_outline, without_outline.setups[0])
    assert picture.png != b""
    dark = [_at(picture, 321.64, y / 10).sum() < 250 for y in range(20, 160)]
    assert 0.2 < np.mean(dark) < 0.9, "the outline is dashed"


def test_an_outcome_in_inches_has_axes_in_inches(make_outcome) -> None:
    mm, inch = (make_outcome(units=u) for u in ("mm", "in"))
    assert depth_picture(mm, mm.setups[0]).png != depth_picture(inch, inch.setups[0]).png


@pytest.mark.parametrize(("units", "top"), [("mm", "6.00 mm"), ("in", "0.236 in")])
def test_the_key_names_what_holds_in_the_units_of_the_job(make_outcome, units, top) -> None:
    outcome = make_outcome(units=units)
    entries = key_entries(outcome, outcome.setups[0])
    assert ["waste", "through", "edge", "keep_out", "tape"] == [e.mark for e in entries]
    assert f"keep out: end stop, top {top} above the bed" == entries[3].words


def test_the_lines_of_the_key_are_no_wider_than_the_picture(outcome) -> None:
    entries = key_entries(outcome, outcome.setups[0]) * 5
    lines = key_lines(entries, 1500)
    assert entries == [e for line in lines for e in line]
    assert 1 < len(lines)
    assert all(sum(e.width for e in line) <= 1500 for line in lines)


def test_waste_is_paler_than_the_part(picture) -> None:
    # Both level at the face: within the board, and beside its kerf in the blank (tests/support/plain_outcome.py).
    part, waste = _at(picture, 100, 10), _at(picture, -25, 25)
    assert 60 < np.abs(part - waste).sum()
    assert np.ptp(waste) < np.ptp(part), "nearer to grey"
