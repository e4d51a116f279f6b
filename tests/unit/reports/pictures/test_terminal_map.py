"""The map in a terminal: lines, pockets and the kerf where they belong, in colours or characters."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.setup_drawing import drawing
from toolpaths.reports.pictures.depth_picture import depth_picture
from toolpaths.reports.pictures.terminal_map import terminal_map
from toolpaths.verification.outcome import Outcome

DEMO = Path(__file__).parents[4] / "demo_jobs" / "tenor_board.yaml"


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return make(DEMO, Changes(pitch=0.3))


def test_in_characters_depths_stand_where_they_were_cut(outcome: Outcome) -> None:
    lines = list(terminal_map(outcome, 120, colour=False))
    assert all(len(line) <= 130 for line in lines[:-3])
    rows = [line.ljust(120) for line in lines[2:] if line.strip() and not line.startswith(("'", "Setup"))]
    # The blank is 480 long and begins 30 before the nut: 4 mm a column. Fret 12 lies at 292, column 80.
    middle = rows[len(rows) // 2]
    assert "-" == rows[3][80]
    assert "#" == middle[(30 - 4) // 4]
    assert " " == middle[82]
    # The pockets at fret 3, midway between 63.7 and 92.9, 1.8 deep.
    assert "+" in middle[(30 + 76) // 4 : (30 + 82) // 4]


def test_fret_numbers_stand_over_their_lines(outcome: Outcome) -> None:
    numbers = list(terminal_map(outcome, 120, colour=False))[1]
    assert (30 + 292) // 4 == numbers.index("12")


def test_in_colour_every_line_is_as_wide_as_it_is_asked_to_be(outcome: Outcome) -> None:
    lines = [line for line in terminal_map(outcome, 90, colour=True) if "▀" in line]
    assert all(90 == line.count("▀") for line in lines)
    colours = set(re.findall(r"38;2;(\d+;\d+;\d+)", "".join(lines)))
    # The face, the lines, the pockets, what is cut through, and tabs.
    assert 4 <= len(colours) <= 12
    assert "128;128;128" in colours


def test_the_legend_is_in_the_units_of_the_job(outcome: Outcome) -> None:
    text = "\n".join(terminal_map(outcome, 90, colour=False))
    assert "'@' to 6.00 mm" in text
    assert "'#' cut through" in text


@pytest.mark.parametrize("columns", [1, 30, 500])
def test_it_is_never_too_narrow_nor_too_wide(outcome: Outcome, columns: int) -> None:
    lines = [line for line in terminal_map(outcome, columns, colour=True) if "▀" in line]
    assert max(30, min(columns, 160)) == lines[0].count("▀")


NECK = DEMO.with_name("tenor_neck.yaml")


@pytest.fixture(scope="module")
def neck() -> Outcome:
    return make(NECK, Changes(pitch=0.5))


def test_on_the_back_one_sees_through_the_face_s_holes_in_the_terminal_and_in_the_picture(neck: Outcome) -> None:
    back = neck.setups[1]
    lines = list(terminal_map(neck, 124, colour=False))
    start = next(i for i, line in enumerate(lines) if line.startswith("Setup back"))
    assert "Setup back: depth below the back face" == lines[start]
    # 650 x 100 mm, 192 of them before the nut, in 124 columns and 10 rows. Tuner bores at (-52, 19) and (-98, 14), seen
    # turned over; the outline's slot was cut from both sides until both met: demo_jobs/tenor_neck.yaml.
    rows = [line.ljust(124) for line in lines[start + 2 : start + 12]]
    for x, y in ((-52, -19), (-52, 19), (-98, -14), (-98, 14)):
        assert "#" == rows[int((50 - y) / 10)][int((192 + x) / 650 * 124)]
    assert "#" != rows[5][int((192 + 100) / 650 * 124)]
    picture = depth_picture(neck, back)
    pixels = np.asarray(Image.open(io.BytesIO(picture.png)).convert("RGB")).astype(int)
    left, top, wide, high = picture.panel
    x0, y0, x1, y1 = picture.box

    def at(x: float, y: float) -> set[tuple[int, ...]]:
        col, row = left + (x - x0) / (x1 - x0) * wide, top + (y1 - y) / (y1 - y0) * high
        return {tuple(p) for p in pixels[int(row) - 4 : int(row) + 5, int(col) - 4 : int(col) + 5].reshape(-1, 3)}

    hatch = {(255, 255, 255), (150, 150, 150)}
    assert hatch == at(-52, -19) == at(-98, 14)
    assert not hatch & at(100, 10)


def test_the_back_s_map_is_open_exactly_where_no_wood_is_left(neck: Outcome) -> None:
    face, back = neck.setups
    assert face.beneath is None
    assert face.seen is face.after
    assert back.beneath is not None
    assert back.standing is not None
    assert face.standing is back.beneath[1]
    x, y = np.meshgrid(back.after.xs[::3], back.after.ys[::3])
    points = np.column_stack([x.ravel(), y.ravel()])
    over = back.standing.heights(points)
    # 25 thick once it is planed; the underside is what the face, seen turned over, has lost.
    left = [over - (25.0 - face.standing.heights(points * [1, -1] + [0, d])) for d in (-0.6, 0.0, 0.6)]
    open_ = back.seen.heights[::3, ::3].ravel() == 0
    gone, whole = np.max(left, axis=0) < 0, np.min(left, axis=0) > 0.05
    assert np.all(open_[gone])
    assert not np.any(open_[whole & (over > 0.05)])
    assert (open_ & gone).sum() > 200


def test_the_sheet_names_the_surface_that_its_figure_is_of(neck: Outcome) -> None:
    face, back = (drawing(neck, setup) for setup in neck.setups)
    assert re.search(r'viewBox="(-?\d+\.\d{3} ){4}"', face)
    # Planed to 25 from the face, and not planed from the back: demo_jobs/tenor_neck.yaml.
    assert "blank 26.00 mm to 27.00 mm, finished face 25.00 mm above the bed" in face
    assert "blank 25.00 mm, back face 25.00 mm above the bed" in back
    assert "finished face" not in back
