"""Volumes and places of the demo's cuts, against areas and formulas that no part of the cutting uses.

Areas come from shapely's own polygons and buffers, drawn here again from the job's figures.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.support.made import made as make
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.changes import Changes
from toolpaths.verification.outcome import FeatureReport, Outcome

DEMO = Path(__file__).parents[2] / "demo_jobs" / "tenor_board.yaml"
PITCH = 0.1

SCALE, FRETS = 584.0, 19
X0, X1, Y0, Y1 = -30.0, 450.0, -32.0, 32.0
"""The demo's blank: 480 x 64 mm, its nut line 30 mm from the left end."""
FACE, QUARTER = 6.0, 6.35
KERF = QUARTER + 0.25
"""The bit and the last skim."""


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return make(DEMO, Changes(pitch=PITCH))


def feature(outcome: Outcome, name: str) -> FeatureReport:
    return next(f for f in outcome.setups[0].features if f.name == name)


def fret(n: int) -> float:
    return SCALE * (1 - 0.5 ** (n / 12))


def board() -> shapely.Polygon:
    """36 mm wide at the nut, 44 at fret 12 (half the scale), 8 mm past the last fret."""
    end = fret(FRETS) + 8
    nut, far = 18.0, (36 + 8 * end / (SCALE / 2)) / 2
    return shapely.Polygon([(0, -nut), (end, -far), (end, far), (0, nut)])


def edge_cells(length: float) -> float:
    """How far a sum over cells may be from an area with an edge so long, mm2.

    A cell counts whole or not at all. Along an edge the errors of cells are as if at random, each of half a
    cell's area at most and of variance 1/12; four deviations of their sum, and the ends of straight runs along
    the grid, which err all alike: half a cell's width over the longest run.
    """
    cells = length / PITCH
    return 4 * PITCH**2 * math.sqrt(cells / 12) + PITCH / 2 * length * 0.05


def test_planing_takes_the_blank_s_area_times_what_is_too_thick(outcome: Outcome) -> None:
    # From 8.1 at the thickest to 6. The map's cells cover 480 x 64 mm exactly, less or more one row and column.
    area = shapely.box(X0, Y0, X1, Y1).area
    assert area * (8.1 - FACE) == pytest.approx(
        feature(outcome, "plane").removed_mm3, abs=(8.1 - FACE) * PITCH * (480 + 64)
    )


def test_pockets_take_their_discs_times_their_depth(outcome: Outcome) -> None:
    # Nine pockets (3 5 7 9, two at 12, 15 17 19) of 6 mm, 1.8 deep.
    disc = shapely.Point(0, 0).buffer(3.0, 256)
    slack = 1.8 * (9 * edge_cells(disc.length))
    assert 9 * disc.area * 1.8 == pytest.approx(feature(outcome, "marker_pockets").removed_mm3, abs=slack)


def test_pin_bores_take_their_discs_through_the_board(outcome: Outcome) -> None:
    disc = shapely.Point(0, 0).buffer(2.0, 256)
    slack = FACE * 2 * edge_cells(disc.length)
    assert 2 * disc.area * FACE == pytest.approx(feature(outcome, "pin_bores").removed_mm3, abs=slack)


def test_the_outline_takes_its_kerf_through_the_board_less_the_tabs(outcome: Outcome) -> None:
    part = board()
    band = part.buffer(KERF, 256).difference(part)
    # A tab of 8 x 1.5 mm across the kerf, and beside it what a round bit leaves: at each end, a rectangle of the
    # radius by the kerf less what the bit covers as it stands there. Standing at the skim it covers its half disc;
    # standing at the roughing, 0.25 farther out, the half disc there.
    r = QUARTER / 2
    discs = shapely.Point(0, r).buffer(r, 256).union(shapely.Point(0, r + 0.25).buffer(r, 256))
    corner = shapely.box(0, 0, r, KERF).difference(discs)
    standing = 8 * KERF + 2 * corner.area
    # Where scored lines run out into the kerf, half a millimetre is gone already.
    wanted = band.area * FACE - 4 * standing * 1.5 - lines().intersection(band).area * 0.5
    slack = FACE * edge_cells(band.length)
    assert wanted == pytest.approx(feature(outcome, "outline").removed_mm3, abs=slack)


def lines() -> shapely.MultiPolygon:
    """0.5 wide, round at both ends, from a radius and a millimetre past one edge to as far past the other."""
    out = []
    for n in range(1, FRETS + 1):
        half = (36 + 8 * fret(n) / (SCALE / 2)) / 2 + 0.25 + 1.0
        out.append(shapely.LineString([(fret(n), -half), (fret(n), half)]).buffer(0.25, 256))
    return shapely.MultiPolygon(out)


def test_scored_lines_take_their_rectangles_times_their_depth(outcome: Outcome) -> None:
    area = lines().area
    # A line 0.5 wide is 5 cells, or 4 or 6 as it lies on the grid: at random, a cell's variance over 19 lines.
    slack = 0.5 * 44 * PITCH * math.sqrt(FRETS) * 1.5
    assert area * 0.5 == pytest.approx(feature(outcome, "score_lines").removed_mm3, abs=slack)


def test_fret_lines_in_the_text_lie_within_five_thousandths_of_the_formula(outcome: Outcome) -> None:
    # Each wall of each line is found in the exact heights that the text's own moves leave, by halving.
    setup = outcome.setups[0]
    program = next(p for p in outcome.programs if "scorer" in p.bits)
    moves = flattened(read(program.text), setup.context.zero)
    bit = setup.context.bits["scorer"]
    low = moves.where((moves.start[:, 2] < FACE) | (moves.end[:, 2] < FACE))

    def height(x: float, y: float) -> float:
        near = low.where((np.abs(low.start[:, 0] - x) < 2) | (np.abs(low.end[:, 0] - x) < 2))
        points = np.broadcast_to(np.array([x, y]), (len(near), 2))
        return min(FACE, float(bit.swept_height(near.start, near.end, points).min(initial=np.inf)))

    def wall(inside: float, outside: float, y: float) -> float:
        for _ in range(40):
            middle = (inside + outside) / 2
            inside, outside = (middle, outside) if height(middle, y) < FACE - 0.25 else (inside, middle)
        return inside

    for n in range(1, FRETS + 1):
        for y in (-15.0, 0.0, 15.0):
            assert FACE - 0.5 == pytest.approx(height(fret(n), y), abs=0.001)
            left, right = wall(fret(n), fret(n) - 1, y), wall(fret(n), fret(n) + 1, y)
            assert fret(n) == pytest.approx((left + right) / 2, abs=0.005)
            assert 0.5 == pytest.approx(right - left, abs=0.001)


def test_the_outline_s_wall_in_the_text_lies_on_the_board_s_own_edge(outcome: Outcome) -> None:
    setup = outcome.setups[0]
    program = next(p for p in outcome.programs if "quarter" in p.bits)
    moves = flattened(read(program.text), setup.context.zero)
    through = moves.where((moves.start[:, 2] < 0) & (moves.end[:, 2] < 0))
    part = board()
    lines = shapely.linestrings(np.stack([through.start[:, :2], through.end[:, :2]], axis=1))
    # The bit's middle comes to its radius and no nearer; digits of 0.001 mm, chords of 0.002.
    assert QUARTER / 2 == pytest.approx(float(shapely.distance(lines, part).min()), abs=0.003)


def test_every_program_ends_where_the_machine_file_parks_it(outcome: Outcome) -> None:
    for program in outcome.programs:
        assert re.search(r"\nM5\nG0 X0 Y120\nM30\n$", program.text)
