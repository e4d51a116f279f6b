"""The neck sawn through on the pages: where it is sawn, what is cut away there, and how much wall is left."""

import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.section_drawing import neck_sections, section_drawing, section_drawings

ROOT = Path(__file__).parents[4]


@pytest.fixture(scope="module")
def outcome():
    return make(ROOT / "tests" / "cases" / "walled_neck.yaml", Changes(pitch=0.1))


def test_the_thinnest_place_comes_first_then_four_frets(outcome) -> None:
    sections = neck_sections(outcome)
    assert ["at the thinnest wall", "fret 1", "fret 5", "fret 9", "fret 12"] == [s.title for s in sections]
    # The bars begin at x 12 with round ends of 1.7 mm: their wall is thinnest at 13.7, nearest to the narrow end.
    assert 13.7 == pytest.approx(sections[0].x, abs=0.6)
    assert 292.0 == pytest.approx(sections[4].x)


def test_what_is_cut_away_is_drawn_to_size(outcome) -> None:
    twelfth = neck_sections(outcome)[4]
    # A channel 6.4 x 9.5 and two slots 3.4 x 6.5; a cell of the map is 0.1 mm wide.
    assert 6.4 * 9.5 + 2 * 3.4 * 6.5 == pytest.approx(twelfth.cuts.area, abs=0.1 * (9.5 + 2 * 6.5))
    assert -9.5 == pytest.approx(twelfth.cuts.bounds[1], abs=1e-4)


def test_the_wall_in_a_section_is_the_least_way_to_the_ellipse(outcome) -> None:
    twelfth = neck_sections(outcome)[4]
    assert twelfth.wall is not None
    (y, z), _, left = twelfth.wall
    assert (3.2, -9.5) == pytest.approx((abs(y), z), abs=0.06)
    # Half width 22, depth 16 at fret 12: the least over half an ellipse from (3.2, 9.5), less 0.5 for the carver.
    least = min(math.hypot(22 * math.sin(t / 1e4) - 3.2, 16 * math.cos(t / 1e4) - 9.5) for t in range(15708))
    assert least - 0.5 == pytest.approx(left, abs=0.06)


def test_the_drawing_is_one_whole_svg_with_its_figure(outcome) -> None:
    twelfth = neck_sections(outcome)[4]
    root = ET.fromstring(section_drawing(twelfth, "mm"))
    said = [t.text for t in root.iter("text")]
    assert "fret 12, x 292.00 mm" in said
    assert f"wall {twelfth.wall[2]:.1f} mm" in said
    # Neck, board, three cuts.
    assert 5 == len(list(root.iter("polygon")))


def test_the_page_says_what_the_figures_leave_out(outcome) -> None:
    page = section_drawings(outcome)
    assert "0.50 mm of carving allowance is already subtracted" in page
    assert 5 == page.count("<svg")


def test_a_boards_pages_have_none() -> None:
    board = make(ROOT / "tests" / "cases" / "short_board.yaml", Changes(pitch=0.5))
    assert "" == section_drawings(board)


@pytest.mark.parametrize("thick", [13.0, 13.9])
def test_a_wall_in_a_section_is_never_more_than_the_blank_leaves(tmp_path: Path, thick: float) -> None:
    text = (ROOT / "tests" / "cases" / "walled_neck.yaml").read_text(encoding="utf-8")
    assert "width: 90, thickness: 25}" in text
    path = tmp_path / "thin.yaml"
    text = text.replace("width: 90, thickness: 25}", f"width: 90, thickness: {thick}}}")
    text = text.replace("width: 66, thickness: 14}", "width: 66, thickness: 7}")
    path.write_text(text, encoding="utf-8")
    fifth = neck_sections(make(path, Changes(pitch=0.2)))[2]
    assert fifth.wall is not None
    # The channel is 9.5 mm deep; the finished back lies deeper than the blank, from which no carver takes.
    assert thick - 9.5 == pytest.approx(fifth.wall[2], abs=0.01)
