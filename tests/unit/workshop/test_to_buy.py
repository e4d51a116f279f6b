"""What is bought, against sums by hand from the numbers of the jobs."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from tests.support.made import made
from tests.support.paired_jobs import pair
from toolpaths.job.changes import Changes
from toolpaths.job.job import Instrument
from toolpaths.reports.text.plan_tables import buy_table
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument
from toolpaths.workshop.to_buy import Goods, Item, wire_lengths

DEMOS = Path(__file__).parents[3] / "demo_jobs"
COARSE = Changes(pitch=0.5)


def planned(*names: str) -> InstrumentPlan:
    return plan_of_instrument([made(DEMOS / f"{name}.yaml", COARSE) for name in names])


def items(plan: InstrumentPlan, goods: Goods) -> list[Item]:
    return [item for item in plan.goods if item.goods is goods]


def test_the_wood_of_each_blank_finished_and_rough() -> None:
    """demo_jobs/inlaid_board.yaml: its stock, and the sheet of its setup `pieces`; 25, 6 and 3 mm more when rough."""
    board, sheet = items(planned("inlaid_board"), Goods.wood)
    assert (board.of, board.length, board.width, board.height) == ("black walnut", 380, (66, 66), (6.8, 7.1))
    assert board.rough == pytest.approx((405, 72, 10.1))
    assert (sheet.of, sheet.setup, sheet.length, sheet.width, sheet.height) == (
        "hard maple", "pieces", 150, (80, 80), (2, 2),
    )  # fmt: skip


def test_the_wire_of_the_tenor() -> None:
    """19 frets, width 36 at the nut and 44 at fret 12 (292 mm), top of 305 mm, 3 mm over at each end."""
    (wire,) = items(planned("tenor_board"), Goods.wire)
    widths = [36 + 8 * (584 * (1 - 2 ** (-n / 12))) / 292 for n in range(1, 20)]
    arcs = [2 * 305 * math.asin(w / 610) for w in widths]
    assert wire.count == 19
    assert wire.length == pytest.approx(sum(arcs) + 19 * 6, abs=1e-6)
    assert wire.width == pytest.approx((arcs[0], arcs[-1]))


@given(
    st.floats(300, 900),
    st.integers(5, 30),
    st.floats(30, 60),
    st.floats(0, 20),
    st.one_of(st.none(), st.floats(120, 600)),
    st.floats(0, 30),
    st.booleans(),
)
def test_wire_over_any_board(
    scale: float, frets: int, nut: float, wider: float, radius: float | None, fan: float, zero: bool
) -> None:
    """The length of the line over the round top, walked in small straight steps; fanned boards too."""
    body = {
        "scale_length": scale if fan < 5 else {"bass": scale + fan, "treble": scale, "square_fret": 7},
        "frets": frets,
        "strings": 6,
        "nut_spread": 0.8 * nut,
        "zero_fret": zero,
        "board": {"width": {"nut": nut, 12: nut + wider}, "overhang": 6, "thickness": 6, "radius": radius},
    }
    instrument = Instrument.model_validate(body, context={"units": "mm"})
    found = wire_lengths(instrument)
    assert len(found) == frets + zero
    for n, length in enumerate(found, 0 if zero else 1):
        at = scale * (1 - 2 ** (-n / 12))
        if fan >= 5:
            continue
        width = nut + wider * at / (scale / 2)
        ys = np.linspace(-width / 2, width / 2, 4001)
        zs = np.zeros_like(ys) if radius is None else np.sqrt(radius**2 - ys**2)
        walked = float(np.hypot(np.diff(ys), np.diff(zs)).sum())
        assert length == pytest.approx(walked, rel=1e-6)
    if fan >= 5:
        # A slanted fret is longer than the board is wide there, by less than its slant.
        square = Instrument.model_validate({**body, "scale_length": scale}, context={"units": "mm"})
        assert sum(found) > 0.9 * sum(wire_lengths(square))


def test_a_slanted_fret_is_as_long_as_the_line_between_its_ends() -> None:
    """Flat board, nut fanned alone: a straight line, Pythagoras. 30 mm more on the bass side, square at fret 12."""
    body = {
        "scale_length": {"bass": 630, "treble": 600, "square_fret": 12},
        "frets": 12, "strings": 6, "nut_spread": 40, "zero_fret": True,
        "board": {"width": {"nut": 40, 12: 40}, "overhang": 6, "thickness": 6},
    }  # fmt: skip
    found = wire_lengths(Instrument.model_validate(body, context={"units": "mm"}))
    # Fret 12 lies at half of each scale; where it is square the nut's ends are (630 - 600) / 2 = 15 mm apart.
    assert found[12] == pytest.approx(40.0)
    assert found[0] == pytest.approx(math.hypot(40.0, 15.0))


def test_rod_and_bars_of_the_tenor() -> None:
    """demo_jobs/tenor_neck.yaml: channel from 4 to 350, the adjuster's 20 mm more; bars from 40 to 330."""
    plan = planned("tenor_neck")
    (rod,) = items(plan, Goods.rod)
    assert rod.length == pytest.approx(350 + 20 - 4, abs=1e-3)
    assert rod.width == pytest.approx((6.4, 6.4))
    assert rod.height == pytest.approx((9.5, 9.5))
    (bars,) = items(plan, Goods.bar)
    assert bars.count == 2
    assert bars.length == pytest.approx(330 - 40, abs=1e-2)
    assert bars.width == pytest.approx((3.2, 3.3))
    assert bars.height == pytest.approx((5.6, 5.6))
    (nut,) = items(plan, Goods.nut)
    assert nut.length == pytest.approx(36)
    assert nut.width == pytest.approx((3.3, 3.3))


def test_rod_and_bars_that_the_instrument_has_are_bought_as_it_says(tmp_path: Path) -> None:
    """Sizes of their own; a body that the instrument does not measure is its kind's (`instrument/rods.py`)."""
    own = "  rod: {kind: double acting, length: 340, width: 6}\n  bars: {width: 3, depth: 6, length: 310}\n"
    neck = pair(tmp_path)[1]
    instrument = tmp_path / "pair.yaml"
    instrument.write_text(instrument.read_text(encoding="utf-8") + own, encoding="utf-8")
    plan = plan_of_instrument([made(neck, Changes(pitch=1.0))])
    (rod,), (bars,) = items(plan, Goods.rod), items(plan, Goods.bar)
    assert (rod.of, rod.as_sold, rod.length) == ("double acting", True, 340)
    assert (rod.width, rod.height) == ((6, 6), (9.3, 9.3))
    assert (bars.count, bars.as_sold, bars.length) == (2, True, 310)
    assert (bars.width, bars.height) == ((3, 3), (6, 6))
    said = {row[1]: row[3] for row in buy_table(plan).rows}
    assert said["truss rod, double acting"] == "340.00 mm long with its adjuster, 6.00 mm wide, 9.30 mm deep"
    assert said["bars"] == "310.00 mm long, 3.00 mm wide, 6.00 mm high"


def test_the_room_of_a_curved_channel_is_told_from_its_ends_to_its_middle(tmp_path: Path) -> None:
    neck = {"width: 6.4, depth: 9.5, from: -5": "width: 6.4, floor: {ends: 8, middle: 10.5}, from: -5"}
    (rod,) = items(plan_of_instrument([made(pair(tmp_path, neck=neck)[1], Changes(pitch=1.0))]), Goods.rod)
    assert rod.height == pytest.approx((8, 10.5), abs=1e-4)


def test_tuners_bolts_screws_and_pins_of_the_tenor() -> None:
    plan = planned("tenor_neck")
    (tuners,) = items(plan, Goods.tuner)
    assert (tuners.count, tuners.diameter) == (4, 8)
    (bolts,) = items(plan, Goods.bolt)
    assert (bolts.count, bolts.diameter) == (2, 5)
    job = YAML(typ="safe").load((DEMOS / "tenor_neck.yaml").read_text(encoding="utf-8"))
    face, back = (setup["hold"] for setup in job["setups"])
    # From under the head, sunk below the blank's thickest, 12 into the bed; then planed to 25, heads on the wood.
    thick = job["stock"]["thickness"]["max"]
    wanted = [(len(group["at"]), 4, thick - group["sunk"] + 12) for group in face["screws"]]
    wanted.append((len(back["screws"]["at"]), 4, 25 + 12))
    screws = [(item.count, item.diameter, round(item.length or 0, 6)) for item in items(plan, Goods.screw)]
    assert screws == [(count, wide, round(long, 6)) for count, wide, long in wanted]
    # They stand in bores 6 deep in the bed.
    long = back["pins"]["height"] + 6
    pins = [(item.count, item.diameter, round(item.length or 0, 6)) for item in items(plan, Goods.pin)]
    assert pins == [(1, 6, long), (1, 8, long)]


def test_markers_dots_and_binding() -> None:
    """demo_jobs: nine markers of 6 mm, 1.8 deep; seven dots of 2 mm, 2.5 deep, and 20 mm to hold the rod by."""
    (filler,) = items(planned("tenor_board"), Goods.filler)
    assert filler.count == 9
    assert filler.volume == pytest.approx(9 * math.pi * 9 * 1.8, rel=2e-3)
    assert filler.height == pytest.approx((1.8, 1.8))
    plan = planned("inlaid_board")
    assert items(plan, Goods.filler) == []  # its pieces are cut from the sheet
    (dots,) = items(plan, Goods.dots)
    assert (dots.count, dots.diameter, round(dots.length or 0, 6)) == (7, 2, 7 * 2.5 + 20)
    (binding,) = items(plan, Goods.binding)
    assert (binding.width, binding.height) == ((1.5, 1.5), (6, 6))
    # 38 wide at the nut and 48 at its end, 24 past fret 17 of 500: each edge goes out by 5 on the way.
    end = 500 * (1 - 2 ** (-17 / 12)) + 24
    assert binding.length == pytest.approx(math.hypot(end, 5) + 20)


def test_pins_between_board_and_neck_are_those_under_the_board(tmp_path: Path) -> None:
    """tests/support/paired_jobs.py: two of three pins of 4 mm lie under the board, one in waste."""
    board, neck = pair(tmp_path)
    plan = plan_of_instrument([made(board, Changes(pitch=1.0)), made(neck, Changes(pitch=1.0))])
    assert [(i.piece, i.count, i.diameter) for i in items(plan, Goods.locating)] == [("neck", 2, 4)]
    alone = plan_of_instrument([made(board, Changes(pitch=1.0))])
    assert [(i.piece, i.count) for i in items(alone, Goods.locating)] == [("board", 2)]


@pytest.mark.slow
def test_the_dowels_and_pins_of_a_jig() -> None:
    """demo_jobs/tenor_jig.yaml: pins 8 mm below the seat; the neck's job says how high they stand above it."""
    job = YAML(typ="safe").load((DEMOS / "tenor_neck_on_jig.yaml").read_text(encoding="utf-8"))
    long = job["setups"][1]["hold"]["pins"]["height"] + 8
    plan = planned("tenor_jig", "tenor_board_on_jig", "tenor_neck_on_jig")
    pins = {(i.piece, i.diameter): (i.count, round(i.length or 0, 6)) for i in items(plan, Goods.pin)}
    assert pins == {("neck", 6): (1, long), ("neck", 8): (1, long), ("jig", 6): (6, 0)}


def test_only_what_the_jobs_ask_for() -> None:
    assert {i.goods for i in planned("tenor_board").goods} == {Goods.wood, Goods.wire, Goods.filler, Goods.locating}
