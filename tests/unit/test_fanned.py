"""Fanned boards and a fanned neck, the whole way: the emitted text against the table of each string, and faults in it.

Places are computed here from equal temperament, L (1 - 2^(-n/12)), and straight lines, apart from the code.
"""

from __future__ import annotations

import html
import math
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.changes import Changes
from toolpaths.job.files.problems import render
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.run import verify
from toolpaths.reports.drawings_out.draw import drawing_of
from toolpaths.reports.drawings_out.marks import Line
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.pictures.landmarks import landmarks_of
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
BOARD = ROOT / "tests" / "cases" / "fanned_board.yaml"
NECK = ROOT / "tests" / "cases" / "fanned_neck.yaml"
DEMO = ROOT / "demo_jobs" / "fanned_seven.yaml"
BASS, TREBLE, SQUARE, FRETS, SPREAD, STRINGS = 430.0, 400.0, 5.5, 14, 44.0, 7
"""Of both cases."""


@pytest.fixture(scope="module")
def board() -> Outcome:
    return make(BOARD, Changes(pitch=0.2))


@pytest.fixture(scope="module")
def neck() -> Outcome:
    return make(NECK, Changes(pitch=0.2))


def stops(outcome: Outcome) -> list[str]:
    return [f.message for f in outcome.findings if f.severity is Severity.stop]


def scored(text: str) -> list[np.ndarray]:
    """Both ends (2, 2) of every line that the text cuts, the bass end first on a left-handed board (y above 0)."""
    moves = flattened(read(text), (0.0, 0.0, 0.0))
    run = np.hypot(*(moves.end - moves.start)[:, :2].T)
    deep = (moves.end[:, 2] < 5.2) & (run > 20)  # along a whole line: no ramp, and no way straight down
    ends = np.round(np.concatenate([moves.start[deep][:, :2], moves.end[deep][:, :2]]), 4)
    lines: list[np.ndarray] = []
    for sign in (1, -1):
        side = np.unique(ends[sign * ends[:, 1] > 0], axis=0)
        lines.append(side[np.argsort(side[:, 0])])
    return [np.stack(pair) for pair in zip(*lines, strict=True)]


def crossed(line: np.ndarray, string: np.ndarray) -> np.ndarray:
    """(x, y) where a line (2, 2) crosses a string (2, 2), mm."""
    return shapely.get_coordinates(shapely.LineString(line).intersection(shapely.LineString(string)))[0]


def test_nothing_stops_board_neck_and_demo(board: Outcome, neck: Outcome) -> None:
    assert ([], []) == (stops(board), stops(neck))
    assert [] == stops(make(DEMO, Changes(pitch=0.5)))


def test_the_text_crosses_every_string_at_the_frets_of_its_own_scale(board: Outcome) -> None:
    lines = scored(board.programs[1].text)
    assert FRETS + 1 == len(lines)  # a zero fret
    # The outer strings, 22 each side at x 0, run 3 mm inside edges that widen by 8 mm from the nut to fret 12.
    twelfth = float(np.mean(lines[12], axis=0)[0])
    slope = 4.0 / twelfth
    treble, bass = (np.array([[x, side * (SPREAD / 2 + x * slope)] for x in (-60.0, 300.0)]) for side in (-1, 1))
    # Where the outer strings meet the first and the last line; the strings between are spread evenly from one
    # to the other on both.
    ends = [[crossed(line, string) for string in (treble, bass)] for line in (lines[0], lines[-1])]
    for k in range(STRINGS):
        part = k / (STRINGS - 1)  # 0 the treble string
        scale = TREBLE + part * (BASS - TREBLE)
        string = np.array([(1 - part) * t + part * b for t, b in ends])
        string = np.array([string[0] - 0.1 * (string[1] - string[0]), string[1] + 0.1 * (string[1] - string[0])])
        xs = [crossed(line, string)[0] for line in lines]
        for n, x in enumerate(xs):
            # The text has three decimals.
            assert scale * (1 - 2 ** (-n / 12)) == pytest.approx(x - xs[0], abs=0.002)


def test_the_square_fret_lies_between_its_neighbours(board: Outcome) -> None:
    lean = [float((a[0] - b[0]) / (a[1] - b[1])) for a, b in scored(board.programs[1].text)]
    # On a left-handed board the bass is above the centreline: before fret 5.5 its end lies nearer to the nut.
    assert lean[5] < 0 < lean[6]
    assert abs(lean[5] + lean[6]) < 0.2 * abs(lean[5])


def test_the_lines_run_out_into_the_waste(board: Outcome) -> None:
    # Past the edge by the bit's radius, half the width of a 60 degree point 0.4 deep with a tip of 0.1, and 1 mm.
    half = (2 * 0.4 * math.tan(math.radians(30)) + 0.1) / 2
    lines = scored(board.programs[1].text)
    twelfth = float(np.mean(lines[12], axis=0)[0])
    # At its end of lower x a line begins so much further out that its ramp, 0.4 deep and there and back, ends a
    # millimetre earlier: at 3.875 degrees in cherry, of 950 lbf, between 3 in hard wood and 10 in soft.
    further = 0.4 / math.tan(math.radians(3.875)) / 2 - 1
    for line in lines:
        first = int(np.argmin(line[:, 0]))
        for end, (x, y) in enumerate(line):
            more = further if end == first else 0.0
            assert 25 + 4 * x / twelfth + half + 1 + more == pytest.approx(abs(y), abs=0.1)


def test_left_handed_is_the_mirror_image_of_right_handed(board: Outcome, tmp_path: Path) -> None:
    right = tmp_path / "right.yaml"
    right.write_text(BOARD.read_text().replace("handed: left\n", ""))
    texts = [lay_out(path, Changes()).own[1][1].text for path in (BOARD, right)]
    left, other = (np.array(scored(t)) for t in texts)
    assert left[:, ::-1] * [1, -1] == pytest.approx(other, abs=1e-9)
    # The bass scale is the longer: right-handed it lies below the centreline.
    assert other[0, 1, 0] < other[0, 0, 0]


def test_the_board_s_ends_lie_along_the_nut_and_the_last_fret(board: Outcome) -> None:
    lines = scored(board.programs[1].text)
    # The board is what the outline's cut goes around, all but the bit's corners: 5.7 deep, down to -0.2.
    moves = flattened(read(board.programs[2].text), (0.0, 0.0, 0.0))
    low = moves.end[:, 2] < 0
    around = shapely.union_all(
        [shapely.LineString([a[:2], b[:2]]) for a, b in zip(moves.start[low], moves.end[low], strict=True)]
    )
    cut = around.buffer(1.5, quad_segs=32)
    for line, shift in ((lines[0], -4.0), (lines[-1], 6.0)):
        # The nut's front 4 behind the zero fret; the end 6 past the last fret, along the centreline.
        inner = shapely.LineString(_shortened(line) + np.array([shift, 0.0]))
        out = math.copysign(0.01, shift)
        assert cut.buffer(1e-6).covers(shapely.affinity.translate(inner, out))
        assert not cut.intersects(shapely.affinity.translate(inner, -out))


def _shortened(line: np.ndarray) -> np.ndarray:
    """The middle three fifths of a line (2, 2)."""
    return np.array([0.8 * line[0] + 0.2 * line[1], 0.2 * line[0] + 0.8 * line[1]])


@pytest.mark.parametrize(("by", "expected"), [(0.015, 0), (0.03, 1), (-0.03, 1)])
def test_a_line_that_leans_wrongly_is_measured_against_the_string_at_its_end(
    by: float, expected: int, board: Outcome, tmp_path: Path
) -> None:
    found = spoiled(board.programs[1].text, by, tmp_path)
    assert expected == len(found)
    for message in found:
        assert re.search(
            rf"fret 12 is too {'far from' if by > 0 else 'near'} the nut at string 7\. "
            r"Correct the X of its line\. 0\.0\d\d mm, 0\.\d cents (sharp|flat); most 0\.020 mm",
            message,
        )


def spoiled(text: str, by: float, folder: Path) -> list[str]:
    """What `fret-off` says when the bass end of fret 12 is moved along the neck."""
    at = text.index("fret 12")
    head, tail = text[:at], text[at:]
    section, rest = re.split(r"(?=\(Feature score_lines: fret 13)", tail, maxsplit=1)
    xs = sorted({float(x) for x in re.findall(r"X(-?[\d.]+)", section)})
    bass = scored(text)[12][0][0]
    near = min(xs, key=lambda x: abs(x - bass))
    words = [w for w in re.findall(r"X-?[\d.]+", section) if abs(float(w[1:]) - near) < 1e-6]
    assert words
    for word in set(words):
        section = section.replace(word, f"X{near + by:.3f}")
    (folder / "own.ngc").write_text(head + section + rest)
    outcome = verify(BOARD, [folder / "own.ngc"], Changes(pitch=0.4))
    return [f.message for f in outcome.findings if f.code == "fret-off"]


# The neck


def test_the_nut_slot_lies_along_the_nut_and_compensation_moves_it_toward_fret_1(neck: Outcome) -> None:
    layout = lay_out(NECK, Changes())
    (slot,) = [d for d in layout.target.demands["face"] if d.name == "nut slot"]
    x, y = shapely.get_coordinates(slot.asked)[:-1].T
    # The outer strings are 22 from the centreline at x 0 and 30 (1 - 2^(-5.5/12)) apart along the neck at the nut.
    lean = 30 * (1 - 2 ** (-5.5 / 12)) / SPREAD
    assert lean == pytest.approx((x[2] - x[1]) / (y[2] - y[1]), rel=2e-4)
    # The bridge-side wall crosses the centreline at 0.5, the other 4 square to it behind.
    on_centre = np.array([x[0] - y[0] * lean, x[1] - y[1] * lean])
    square = 4 * math.hypot(1, lean)
    assert (0.5 - square, 0.5) == pytest.approx(tuple(on_centre), abs=2e-3)


def test_the_headstock_begins_behind_the_nut_s_furthest_corner(neck: Outcome) -> None:
    layout = lay_out(NECK, Changes())
    (slot,) = [d for d in layout.target.demands["face"] if d.name == "nut slot"]
    (outline,) = [d for d in layout.target.demands["face"] if d.name == "outline"]
    # Where the shaft keeps its width for the slot, both edges of its band are as far apart as the nut is wide.
    x0 = slot.asked.intersection(shapely.box(-50, -25.5, 50, 25.5)).bounds[0]
    hole = shapely.Polygon(outline.asked.interiors[0])
    widths = [hole.intersection(shapely.LineString([(x, -90), (x, 90)])).length for x in (x0 + 0.5, x0 + 2, -1.0)]
    assert max(widths) - min(widths) < 0.6
    assert not [f for f in neck.findings if f.code in ("gouge", "uncut")]


# What is told


AT = "9:55: instrument.scale_length"


def at_fault(tmp_path: Path, old: str, new: str, job: Path = BOARD) -> list[str]:
    text = job.read_text()
    assert old in text
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(old, new))
    with pytest.raises(JobError) as caught:
        load_job(path)
    return [render(p).replace(str(path), "job.yaml").splitlines()[0] for p in caught.value.problems]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("square_fret: 5.5", "square_fret: 15", f"{AT}.square_fret: fret 15 is not on this board"),
        ("square_fret: 5.5", "square_fret: -1", f"{AT}.square_fret: fret -1 is not on this board"),
        (", square_fret: 5.5", "", "9:3: instrument.scale_length.square_fret: is missing"),
        ("square_fret", "square", "9:42: instrument.scale_length.square: this key is not known here"),
        ("bass: 430", "bass: 0", "9:24: instrument.scale_length.bass: must be more than 0"),
        (
            "bass: 430",
            "bass: 600",
            "9:17: instrument.scale_length: the nut would be 51.0 degrees from square; 45 is the most",
        ),
        ("  zero_fret: {nut_behind: 4}", "  zero_fret: true\n  nut_compensation: 0.5",
         "14:21: instrument.nut_compensation: with a zero fret the strings sound from that fret, not from the nut"),
        ("strings: 7", "strings: 1", "9:17: instrument.scale_length: one string has only one scale length"),
    ],
)  # fmt: skip
def test_a_fan_that_cannot_be_built_is_told_with_its_place(old: str, new: str, said: str, tmp_path: Path) -> None:
    assert f"job.yaml:{said}" in at_fault(tmp_path, old, new)


def test_a_fault_of_a_shared_instrument_is_told_where_it_stands(tmp_path: Path) -> None:
    text = BOARD.read_text()
    start, end = text.index("instrument:\n") + len("instrument:\n"), text.index("\nstock:")
    shared = "\n".join(line[2:] for line in text[start:end].splitlines()) + "\n"
    (tmp_path / "seven.yaml").write_text(shared.replace("square_fret: 5.5", "square_fret: 99"))
    path = tmp_path / "job.yaml"
    path.write_text(text[: start - 1] + " seven.yaml\n" + text[end:])
    with pytest.raises(JobError) as caught:
        load_job(path)
    (problem,) = caught.value.problems
    assert ("seven.yaml", 1, 53) == (Path(problem.file).name, problem.line, problem.column)
    assert "scale_length.square_fret" == problem.key


def test_a_bass_that_is_shorter_is_built_with_a_warning(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(BOARD.read_text().replace("bass: 430, treble: 400", "bass: 400, treble: 430"))
    outcome = make(path, Changes(pitch=0.4))
    assert ["fan-reversed"] == [f.code for f in outcome.findings if f.severity is not Severity.note]
    assert outcome.programs


def test_programs_say_where_x_is_counted_from(board: Outcome) -> None:
    words = board.programs[0].text.replace(")\n(+ ", " ")
    assert "X counts from where the nut line crosses the centreline." in words
    assert "The front of the nut is there at X -4.00 mm." in words


def test_the_sheet_says_how_the_nut_stands_and_where_x_is_zero(board: Outcome, neck: Outcome) -> None:
    said = [html.unescape(sheet(outcome)) for outcome in (board, neck)]
    # 30 (1 - 2^(-5.5/12)) = 8.165 along the neck over 44 mm of strings: atan 0.18557 = 10.51 degrees. By hand.
    assert all("Angles from square: the nut 10.51 degrees, its bass end nearer to the headstock" in s for s in said)
    assert "A zero fret is at the nut line. The nut's front is 4.00 mm behind it." in said[0]
    assert "X at the nut line where it crosses the centreline (4.00 mm in front of the nut's front)" in said[0]
    assert "The nut's front is 0.50 mm nearer to fret 1 than the nut line" in said[1]
    assert "(0.50 mm behind the nut's front)" in said[1]


def test_pictures_show_a_left_handed_fan_as_it_lies(board: Outcome) -> None:
    marks = landmarks_of(board, board.setups[0])
    assert marks.board is not None
    lines = scored(board.programs[1].text)
    # The bass is up on a left-handed board: its corner at the nut is the furthest left.
    left = marks.board[np.argmin(marks.board[:, 0])]
    assert left[1] > 0
    for (name, x), line in zip(marks.frets_at(10.0), lines, strict=True):
        (bx, by), (tx, ty) = line
        assert tx + (bx - tx) * (10.0 - ty) / (by - ty) == pytest.approx(x, abs=0.002), name


def test_the_drawing_has_each_fret_where_the_text_cuts_it(board: Outcome) -> None:
    layout = lay_out(BOARD, Changes())
    drawn = drawing_of(layout.loaded.job, layout.contexts, layout.target).layers["fret lines"]
    cut = [shapely.LineString(line) for line in scored(board.programs[1].text)]
    for mark, line in zip(drawn, cut, strict=True):
        assert isinstance(mark, Line)
        for place in (mark.start, mark.end):
            assert 0.0 == pytest.approx(line.distance(shapely.Point(place)), abs=0.002)
