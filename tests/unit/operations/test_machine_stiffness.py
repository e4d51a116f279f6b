"""How far a machine gives way: Hooke's law and the mean force of a cut, each worked out apart from the code."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.setup_builder import BENCH, CUTTING, DIAL, MAPLE, flat
from toolpaths.features.kinds.plane import Plane
from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.job.bits.drill import Drill
from toolpaths.job.files.machine_file import machine_paths, read_machine
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood
from toolpaths.operations.cutting_forces import mean_force
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.machine_stiffness import YIELD, build_of, deepest_steady, gives_way, stiffness_of


def stiff(by: float | None, machine: Machine = BENCH, **more: Any) -> Machine:
    return machine.model_copy(update={"stiffness": by, **more})


def test_the_mean_force_is_power_over_speed() -> None:
    # 6.35 x 3.175 mm at 2950 mm/min are 991.3 mm3/s, at 60 N/mm2 (from memory) 59.5 W; 6.35 mm at 18,000 rpm goes
    # 5.985 m/s: 9.94 N. P = F v: elementary mechanics.
    assert 9.94 == pytest.approx(mean_force(6.35 * 3.175, 2950, 6.35, 18000), abs=0.005)


@given(
    st.floats(5, 20_000), st.floats(0.3, 25), st.floats(50, 9000), st.floats(6000, 30_000)
)  # fmt: skip
def test_the_deepest_pass_makes_the_machine_yield_by_the_limit_for_any_bit(
    k: float, diameter: float, feed: float, rpm: float
) -> None:
    deep = deepest_steady(stiff(k), feed, rpm)
    # Hooke: force = stiffness x way.
    assert YIELD == pytest.approx(mean_force(diameter * deep, feed, diameter, rpm) / k)


@given(st.floats(5, 400), st.floats(1, 20), st.floats(300, 1500))
def test_a_softer_machine_never_gets_a_deeper_pass_and_says_why(k: float, diameter: float, janka: float) -> None:
    wood, bit = Wood("wood", janka, 600, "test"), flat(diameter)
    free = settle(Plane(bit="six", leave=6), bit, wood, stiff(20_000))
    held = settle(Plane(bit="six", leave=6), bit, wood, stiff(k))
    most = deepest_steady(stiff(k), held.feed, held.rpm)
    assert 0 < held.pass_depth == pytest.approx(min(free.pass_depth, most), abs=0.0011)
    if held.pass_depth < free.pass_depth:
        assert "machine" == held.limits["pass_depth"]
        assert f"Its stiffness is measured as {k:g} N/mm" in held.reasons["pass_depth"]
    else:
        assert free.reasons["pass_depth"] == held.reasons["pass_depth"]


def test_what_the_job_asks_for_and_a_drill_are_left() -> None:
    asked = settle(Plane(bit="six", leave=6, pass_depth=4), flat(6), MAPLE, stiff(5))
    assert (4, "job") == (asked.pass_depth, asked.limits["pass_depth"])
    keys: dict[str, Any] = {"flutes": 2, "cutting_length": 40, "shank": 6, "stickout": 48}
    drill = Drill(shape="drill", angle=118, diameter=6, **keys)
    assert 6 == settle(Plane(bit="six", leave=6), drill, MAPLE, stiff(5)).pass_depth


def test_a_machine_that_nobody_measured_is_taken_as_soft_and_the_reason_says_so() -> None:
    # 800 mm of travel and a spindle of 800 W; 813 mm and a router motor; the table is from memory.
    assert (150.0, False) == stiffness_of(BENCH)[:2]
    assert (
        "not measured: taken as 150 N/mm, for a machine with a spindle and a travel of up to 1000 mm"
        == stiffness_of(BENCH).words
    )
    assert "taken as 100 N/mm" in stiffness_of(DIAL).words
    assert "up to 39 in" in stiffness_of(DIAL).words
    found = settle(Plane(bit="six", leave=6), flat(6.35), Wood("soft", 300, 400, "test"), BENCH)
    assert "machine" == found.limits["pass_depth"]
    assert "stiffness is not measured, taken as 150 N/mm" in found.reasons["pass_depth"]


@pytest.mark.parametrize("name", machine_paths())
@pytest.mark.parametrize("diameter", [3.0, 3.175, 6.0, 6.35])
def test_in_hard_wood_no_shipped_machine_gets_shallower_passes_with_usual_bits(name: str, diameter: float) -> None:
    machine = read_machine(machine_paths()[name])
    # Half of the diameter in hard wood: common practice, no source.
    assert diameter / 2 == pytest.approx(settle(Plane(bit="six", leave=6), flat(diameter), MAPLE, machine).pass_depth)


def test_the_build_follows_what_is_typed() -> None:
    weak = BENCH.model_copy(update={"spindle": BENCH.spindle.model_copy(update={"power": 300.0})})
    assert ["spindle", "router motor", "router motor"] == [build_of(m) for m in (BENCH, weak, DIAL)]
    assert "changer" == build_of(read_machine(machine_paths()["shop-gantry"]))
    values = [stiffness_of(BENCH.model_copy(update={"travel": BENCH.travel.model_copy(update={"x": x})})).value
              for x in (499, 501, 999, 1001)]  # fmt: skip
    assert [200, 150, 150, 100] == values


def test_a_wall_gives_way_by_machine_and_bit() -> None:
    # A skim of 0.2 x 8 mm by 6 mm, 1000 mm/min, 18,000 rpm: 60 x 1.6 x 1000 / (pi 6 18000) = 0.2829 N (P = F v). On
    # 20 N/mm that is 0.01415 mm. The bit: 25 mm of 4.8 mm (I 26.06 mm4), then 5 mm of 6 mm; force 4 mm above the tip.
    bit, force = flat(6), 60 * 1.6 * 1000 / (math.pi * 6 * 18000)
    # The tip beyond the force goes on straight. By two cantilevers end to end: elementary mechanics.
    thin, thick, elastic = math.pi * 4.8**4 / 64, math.pi * 6**4 / 64, 550_000.0
    lower = force * 21**2 / (2 * elastic * thin) * (25 - 21 / 3)
    root_moment, root = force * 21, 5.0
    slope = (root_moment * root + force * root**2 / 2) / (elastic * thick)
    drop = (root_moment * root**2 / 2 + force * root**3 / 3) / (elastic * thick)
    wanted = force / 20 + lower + drop + slope * 25
    assert wanted == pytest.approx(gives_way(stiff(20), bit, CUTTING, 8), rel=1e-6)
    assert 0.01415 < wanted < 0.016
    slot = gives_way(stiff(20), bit, CUTTING, 8, skimmed=False)
    # 2 mm deep and 6 mm wide: 60 x 12 x 1000 / (pi 6 18000) = 2.122 N, 0.1061 mm of the machine alone.
    assert 0.1061 < slot < 0.12
    assert 0.0 == gives_way(stiff(20), bit, CUTTING, 0)


@given(st.floats(0, 1), st.floats(-0.3, 0), st.floats(0, 0.3))
def test_a_tolerance_is_never_told_narrower(by: float, low: float, high: float) -> None:
    for kind, walls in (("width", 2), ("standing", 2), ("place", 1), ("depth", 0), ("thickness", 0)):
        figure = Figure(kind, 6.4, "face", (0, 0), within=(low, high))  # type: ignore[arg-type]
        a, b = figure.loosened(by).within
        assert a == pytest.approx(low - walls * by)
        assert b == pytest.approx(high + walls * by)
        assert a <= low
        assert b >= high
