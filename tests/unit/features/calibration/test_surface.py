"""The waste board skimmed: the emitted text is read by plain means, and every place of the area looked at by itself."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.setup_builder import BENCH, DIAL, RACK
from tests.support.text_moves import Point, TextMove, TextReader
from toolpaths.common.arrays import Array
from toolpaths.common.errors import JobError
from toolpaths.features.calibration.surface import MDF, Surface, room_of, surface_of
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine, machine_paths
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.prove import prove
from toolpaths.verification.outcome import Outcome

MACHINES = [load_machine(name) for name in machine_paths()]
NAMES = list(machine_paths())
Clear = tuple[float, float, float, float, float]


def proven(made: Surface, air: float = 0.0) -> Outcome:
    return prove(lay_out_loaded(made.loaded, Changes(pitch=0.5, air=air)))


def moves_of(made: Surface, machine: Machine) -> list[TextMove]:
    """Moves as written, in the text's own units."""
    outcome = proven(made)
    assert () == outcome.findings
    return read(outcome.programs[0].text)


def read(text: str) -> list[TextMove]:
    """Moves from where all three coordinates are known."""
    moves = TextReader().read(text.splitlines())
    return [m for m in moves if all(map(math.isfinite, (*m.start, *m.end)))]


def unit(machine: Machine) -> float:
    return 25.4 if machine.units == "in" else 1.0


def cut_at(moves: list[TextMove], z: float, scale: float = 1.0) -> Array:
    """Straight pieces (N, 2, 2) mm of all moves that lie level at a height."""
    pieces: list[tuple[Point, Point]] = []
    for move in moves:
        if move.code and abs(move.start[2] * scale - z) < 2e-3 and abs(move.end[2] * scale - z) < 2e-3:
            pieces += pairwise(move.points(0.2 / scale) if move.sweep else (move.start, move.end))
    return np.array([[a[:2], b[:2]] for a, b in pieces]) * scale


def from_pieces(points: Array, pieces: Array) -> Array:
    """Distance (K,) of points (K, 2) from the nearest piece (N, 2, 2)."""
    a, way = pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    square = np.maximum((way**2).sum(axis=1), 1e-12)
    out = np.full(len(points), np.inf)
    for k in range(0, len(points), 500):
        off = points[k : k + 500, None] - a
        t = np.clip((off * way).sum(axis=2) / square, 0, 1)
        out[k : k + 500] = np.hypot(*np.moveaxis(off - t[:, :, None] * way, 2, 0)).min(axis=1)
    return out


def from_box(points: Array, box: tuple[float, ...]) -> Array:
    """Distance (K,) of points from a box, 0 inside."""
    x0, y0, x1, y1 = box[:4]
    dx = np.maximum(np.maximum(x0 - points[:, 0], points[:, 0] - x1), 0)
    dy = np.maximum(np.maximum(y0 - points[:, 1], points[:, 1] - y1), 0)
    return np.asarray(np.hypot(dx, dy))


def places(length: float, width: float, step: float) -> Array:
    """Places (K, 2) all over an area, its edges and corners among them."""
    x, y = (np.linspace(0, long, math.ceil(long / step) + 1) for long in (length, width))
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


# On every machine


@pytest.mark.parametrize("machine", MACHINES, ids=NAMES)
@pytest.mark.parametrize("bit", ["planer", "six"])
def test_it_passes_every_check_without_a_finding(machine: Machine, bit: str) -> None:
    outcome = proven(surface_of(machine, RACK, bit))
    assert () == outcome.findings
    assert 1 == len(outcome.programs)


@pytest.mark.parametrize("machine", MACHINES, ids=NAMES)
def test_every_place_of_the_area_lies_exactly_as_much_lower(machine: Machine) -> None:
    made, scale = surface_of(machine, RACK, take=0.5), unit(machine)
    moves = moves_of(made, machine)
    assert pytest.approx(-0.5, abs=2e-3) == min(m.end[2] for m in moves) * scale
    off = from_pieces(places(*made.size, 11.0), cut_at(moves, -0.5, scale))
    assert off.max() <= RACK["planer"].radius


@pytest.mark.parametrize("machine", MACHINES, ids=NAMES)
def test_all_motion_lies_in_the_travel(machine: Machine) -> None:
    moves = moves_of(surface_of(machine, RACK), machine)
    for axis, travel in enumerate(machine.travel.as_tuple()):
        at = [p[axis] for m in moves for p in m.points(1.0)]
        # The bit also goes to the zero, to be set there.
        assert max(*at, 0.0) - min(*at, 0.0) <= travel / unit(machine)


@pytest.mark.parametrize("machine", MACHINES, ids=NAMES)
@pytest.mark.parametrize("part", [1.0, 0.98])
def test_all_of_the_travel_may_be_asked_for(machine: Machine, part: float) -> None:
    x, y = room_of(machine)
    made = surface_of(machine, RACK, area=(part * x, part * y))
    moves, scale = moves_of(made, machine), unit(machine)
    assert from_pieces(places(*made.size, 13.0), cut_at(moves, -0.3, scale)).max() <= RACK["planer"].radius


def test_rows_run_off_the_area_where_the_travel_allows_it() -> None:
    # The bit's radius is 12.5 mm, and its edge clears the board by 2 mm.
    moves = moves_of(surface_of(BENCH, RACK, area=(300, 200)), BENCH)
    rows = [m for m in moves if m.code == 1 and abs(m.end[0] - m.start[0]) > 200]
    assert {-14.5, 314.5} == {round(p[0], 3) for m in rows for p in (m.start, m.end)}


@pytest.mark.parametrize("area", [(500.0, 300.0), (300.0, 480.0)])
def test_rows_lie_along_the_longer_axis_and_overlap(area: tuple[float, float]) -> None:
    along = 0 if area[0] > area[1] else 1
    pieces = cut_at(moves_of(surface_of(BENCH, RACK, area=area), BENCH), -0.3)
    long = pieces[np.abs(pieces[:, 1, along] - pieces[:, 0, along]) > 250]
    rows = np.unique(np.round(long[:, 0, 1 - along], 3))
    # 0.6 of 25 mm at most; 0.4 to 0.7 is common practice, no source.
    assert 0.4 * 25 < np.diff(rows).max() <= 15.0
    assert np.array_equal(rows, np.unique(np.round(long[:, 1, 1 - along], 3)))
    assert rows[0] < 12.5
    assert area[1 - along] - rows[-1] < 12.5


def test_a_measured_machine_stays_in_its_travel_too() -> None:
    measured = Measured.model_validate({"x": {"commanded": 400, "measured": 396}}, context={"units": "mm"})
    machine = BENCH.model_copy(update={"measured": measured})
    assert pytest.approx(800 * 396 / 400) == room_of(machine)[0]
    assert () == proven(surface_of(machine, RACK, area=(room_of(machine)[0], 300.0))).findings


# Level by level, and only on ramps


@given(take=st.floats(0.01, 3.0), clear=st.booleans())
@settings(max_examples=8)
def test_no_level_takes_more_than_0_3_mm(take: float, clear: bool) -> None:
    boxes = [(40.0, 40.0, 60.0, 60.0, 5.0)] if clear else []
    moves = moves_of(surface_of(BENCH, RACK, take=take, area=(120, 100), clear=boxes), BENCH)
    heights = sorted({0.0, *(m.end[2] for m in moves if m.code and m.start[2] == m.end[2] < 0)}, reverse=True)
    steps = [a - b for a, b in pairwise(heights)]
    assert max(steps) <= 0.3 + 1e-3
    assert max(steps) - min(steps) <= 2e-3
    assert len(steps) == math.ceil(take / 0.3 - 1e-9)
    assert -take == pytest.approx(heights[-1], abs=1e-3)


@pytest.mark.parametrize("machine", [BENCH, DIAL], ids=["mm", "in"])
def test_the_bit_never_goes_straight_down_into_a_board_that_may_be_larger(machine: Machine) -> None:
    clear = [(60.0, 40.0, 90.0, 60.0, 10.0), (120.0, -10.0, 140.0, 45.0, 10.0)]
    moves = moves_of(surface_of(machine, RACK, area=(200, 120), take=0.6, clear=clear), machine)
    down = [m for m in moves if m.end[2] < min(m.start[2], 0.0)]
    assert down
    for m in down:
        run = m.length if m.sweep else math.dist(m.start[:2], m.end[:2])
        # A ramp of at most 10 degrees, as the other programs have it; or onto a floor cut already.
        sloped = (m.start[2] - m.end[2]) / run if run else math.inf
        assert sloped <= math.tan(math.radians(10.1)) or round(m.end[2] * unit(machine), 2) == -0.3


# Round what stands on the board


def check_boxes(made: Surface, moves: list[TextMove], boxes: list[Clear], bit: str, take: float, scale: float) -> None:
    """Nothing that is kept clear is touched, and all that a disc can reach is cut."""
    radius, (length, width) = RACK[bit].radius, made.size
    for box in boxes:
        low = np.array([p[:2] for m in moves for p in m.points(0.5 / scale) if p[2] * scale < box[4]]) * scale
        assert from_box(low, box).min() >= radius + 1.0 - 0.01
    pieces = cut_at(moves, -take, scale)
    # Where the bit's middle may be: by brute force, on a fine grid that keeps a hair more than the clearance.
    x, y = made.reach[0] - radius, made.reach[1] - radius
    middle = places(length + 2 * x, width + 2 * y, 1.5) - [x, y]
    for box in boxes:
        middle = middle[from_box(middle, box) >= radius + 1.01]
    points = places(length, width, 4.0)
    near = np.array([np.hypot(*(middle - p).T).min() for p in points])
    # A place that the grid reaches with a hair to spare is cut; that no other is, the distance from the boxes says.
    assert (from_pieces(points, pieces)[near <= radius - 0.01] <= radius).all()


CLEAR = [(30.0, 40.0, 55.0, 60.0, 8.0), (70.0, -20.0, 85.0, 25.0, 8.0), (100.0, 55.0, 112.0, 75.0, 0.0)]


@pytest.mark.parametrize("machine", MACHINES, ids=NAMES)
def test_nothing_that_is_kept_clear_is_touched(machine: Machine) -> None:
    made = surface_of(machine, RACK, area=(150, 100), clear=CLEAR)
    check_boxes(made, moves_of(made, machine), CLEAR, "planer", 0.3, unit(machine))


boxes = st.tuples(st.floats(-10, 130), st.floats(-10, 80), st.floats(2, 50), st.floats(2, 40), st.floats(0, 25)).map(
    lambda b: (b[0], b[1], b[0] + b[2], b[1] + b[3], b[4])
)


@given(
    clear=st.lists(boxes, min_size=1, max_size=4),
    bit=st.sampled_from(["planer", "quarter"]),
    area=st.sampled_from([(140.0, 90.0), (90.0, 130.0)]),
)
@settings(max_examples=6)
def test_whatever_stands_there_is_gone_round(clear: list[Clear], bit: str, area: tuple[float, float]) -> None:
    try:
        made = surface_of(BENCH, RACK, bit, area=area, clear=clear)
    except JobError as error:
        keys = {p.key for p in error.problems}
    else:
        keys = {"--clear"}
        check_boxes(made, moves_of(made, BENCH), clear, bit, 0.3, 1.0)
    assert {"--clear"} == keys


def test_what_is_left_standing_is_told_with_its_size() -> None:
    made = surface_of(BENCH, RACK, area=(300, 200), clear=[(100, 80, 130, 120, 5), (140, 80, 160, 120, 5)])
    # Between the two boxes, 10 mm apart, a bit of 25 mm does not go: one piece, with 1 mm round it.
    (one,) = made.standing
    assert (99.0, 79.0, 161.0, 121.0) == pytest.approx(one.box, abs=0.01)
    assert ("box 1", "box 2") == one.of
    # 62 x 42 mm, but for its round corners, and two dents where the bit reaches in between, 10 mm wide at most and
    # 1 + 12.5 - sqrt(13.5^2 - 5^2) = 0.96 mm deep. Derived.
    assert 62 * 42 - 2 * 10 * 0.96 - 1 < one.area < 62 * 42 - 2 * 10 * 0.96 / 2


@pytest.mark.parametrize("gap", [26.9, 26.97, 26.99, 27.0, 27.03, 27.1, 28.5])
def test_a_gap_hardly_as_wide_as_the_bit_is_no_riddle(gap: float) -> None:
    # The bit is 25 mm wide, with 1 mm on each side: it goes between where there is more than 27 mm.
    made = surface_of(BENCH, RACK, area=(200, 120), clear=[(40, 30, 80, 90, 5), (80 + gap, 20, 140, 80, 5)])
    assert () == proven(made).findings
    assert (1 if gap <= 27 else 2) == len(made.standing)


def test_all_is_skimmed_where_nothing_stands() -> None:
    assert () == surface_of(BENCH, RACK).standing


def test_the_holder_too_stays_away_from_what_is_tall() -> None:
    # The planer stands 28 mm out of the collet, and the nut is 12 mm high: 45 mm reach the holder, 65 mm wide.
    made = surface_of(BENCH, RACK, area=(300, 200), clear=[(140, 90, 160, 110, 45)])
    assert () == proven(made).findings
    (one,) = made.standing
    # 32.5 + 1 from the box to the bit's middle, less the bit's radius.
    assert 140 - 21.0 == pytest.approx(one.box[0], abs=0.01)


def test_the_keep_out_check_sees_a_program_that_goes_too_near() -> None:
    layouts = [
        lay_out_loaded(surface_of(BENCH, RACK, area=(300, 200), clear=[clear]).loaded, Changes(pitch=0.5))
        for clear in ((100, 80, 130, 120, 5), (98.9, 80, 130, 120, 5))
    ]
    program = layouts[0].own[0][1]
    assert "keep-out" in {f.code for f in prove(layouts[1], {0: program}).findings}


# Words


def test_the_header_says_where_zero_lies_and_what_may_not_lie_there() -> None:
    (program,) = proven(surface_of(BENCH, RACK, clear=[(100, 80, 130, 120, 5)])).programs
    said = " ".join(re.sub(r"\)\n\(\+? ?", " ", program.text).split())
    for words in (
        "Set X and Y zero at its left front corner, Z zero where it is highest.",
        "Every screw of the waste board must lie at least 2.00 mm below the new surface. Look first.",
        "box 1: X 100.00 to 130.00 mm, Y 80.00 to 120.00 mm, up to 17.00 mm above the bed",
        "Blank: MDF, 760.00 mm x 490.00 mm, 12.00 mm thick",
    ):
        assert words in said
    assert "nut" not in said.replace("minutes", "")
    assert "centreline" not in said


def test_an_air_run_touches_nothing() -> None:
    made = surface_of(BENCH, RACK, area=(200, 100), clear=[(50, 40, 70, 60, 5)])
    outcome = proven(made, air=30.0)
    assert () == outcome.findings
    assert min(m.end[2] for m in read(outcome.programs[0].text)) > 5.0


# What cannot be


@pytest.mark.parametrize(
    ("asked", "key", "said"),
    [
        ({"bit": "nothing"}, "--bit", "no bit is called `nothing`"),
        ({"bit": "vee60"}, "--bit", "cannot skim a board level"),
        ({"bit": "bull"}, "--bit", "cannot skim a board level"),
        ({"bit": "drill"}, "--bit", "cannot skim a board level"),
        ({"take": 0.0}, "--take", "0.00 mm cannot be taken off"),
        ({"take": -1.0}, "--take", "cannot be taken off"),
        ({"take": math.nan}, "--take", "cannot be taken off"),
        ({"take": 3.01}, "--take", "3.01 mm cannot be taken off"),
        ({"bit": "scorer", "take": 2.6}, "--take", "deeper than the cutting edges of scorer are long"),
        ({"area": (800.1, 300.0)}, "--area", "800.10 mm along X is more than the machine's travel, 800.00 mm"),
        ({"area": (300.0, 501.0)}, "--area", "501.00 mm along Y is more than the machine's travel"),
        ({"area": (24.0, 300.0)}, "--area", "24.00 mm along X is less than the width of planer, 25.00 mm"),
        ({"area": (-5.0, 300.0)}, "--area", "along X is less than the width"),
        ({"clear": [(30, 30, 30, 40, 5)]}, "--clear", "box 1 has no size"),
        ({"clear": [(50, 30, 30, 40, 5)]}, "--clear", "box 1 has no size"),
        ({"clear": [(30, 30, 50, 40, -1)]}, "--clear", "its height is impossible"),
        ({"clear": [(30, 30, 50, 40, 151)]}, "--clear", "its height is impossible"),
        ({"clear": [(900, 30, 950, 40, 5)]}, "--clear", "box 1 is out of the bit's reach"),
        ({"clear": [(-100, -100, 900, 900, 5)]}, "--clear", "leave nothing to skim"),
    ],
)
def test_what_cannot_be_skimmed_is_refused(asked: dict[str, object], key: str, said: str) -> None:
    with pytest.raises(JobError) as error:
        surface_of(BENCH, RACK, **asked)  # type: ignore[arg-type]
    assert key == error.value.problems[0].key
    assert said in error.value.problems[0].problem


def test_a_bit_that_does_not_fit_the_travel_is_refused() -> None:
    small = BENCH.model_copy(update={"travel": BENCH.travel.model_copy(update={"x": 60.0, "y": 50.0})})
    with pytest.raises(JobError, match=r"planer is 25\.00 mm wide, and does not fit into the travel along X"):
        surface_of(small, RACK)


def test_a_clamp_too_tall_for_the_travel_is_stopped_by_the_judge() -> None:
    small = load_machine("small-frame")
    outcome = proven(surface_of(small, RACK, clear=[(60, 60, 80, 80, 60)]))
    assert "travel" in {f.code for f in outcome.findings}
    assert outcome.stopped


def test_the_board_s_figures_are_as_remembered() -> None:
    # MDF: 700 to 800 kg/m3, hardness about 1000 lbf. From memory, no source.
    assert 700 <= MDF.density <= 800
    assert 900 <= MDF.janka <= 1100
