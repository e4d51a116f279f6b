"""The gauge: two scratches an axis, proven, and what their measured distance becomes."""

from __future__ import annotations

import math
import re

import pytest
import yaml

from tests.support.setup_builder import BENCH, DIAL, RACK
from toolpaths.common.errors import JobError
from toolpaths.features.calibration.gauge import gauge_of, measured_block, square_block, way_of
from toolpaths.instrument.woods import WOODS
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine, machine_paths
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.prove import prove
from toolpaths.verification.outcome import Outcome

MAPLE = WOODS["hard maple"]


def proven(machine: Machine, bit: str = "vee60", length: float | None = None) -> Outcome:
    return prove(lay_out_loaded(gauge_of(machine, RACK, bit, MAPLE, length).loaded, Changes(pitch=0.25)))


def off(machine: Machine, **axes: object) -> Machine:
    return machine.model_copy(update={"measured": Measured.model_validate(axes, context={"units": machine.units})})


def cuts(outcome: Outcome) -> list[str]:
    return [line for line in outcome.programs[0].text.splitlines() if line.startswith("G0 X")][:-1]


@pytest.mark.parametrize("machine", [load_machine(name) for name in machine_paths()], ids=list(machine_paths()))
@pytest.mark.parametrize("bit", ["vee60", "scorer"])
def test_it_passes_every_check_without_a_finding(machine: Machine, bit: str) -> None:
    assert () == proven(machine, bit, 100.0).findings


def test_both_marks_of_an_axis_stand_as_far_apart_as_they_were_told() -> None:
    found = cuts(proven(BENCH))
    assert ["G0 X15 Y15", "G0 X415 Y15", "G0 X15 Y35", "G0 X15 Y435"] == found[1::2]


@pytest.mark.parametrize("machine", [BENCH, DIAL])
@pytest.mark.parametrize("length", [100.0, 150.0])
def test_the_program_speaks_of_nothing_that_a_waste_board_has_not(machine: Machine, length: float) -> None:
    program = proven(machine, length=length).programs[0]
    said = (program.text + program.beside).lower()
    assert "nut" not in re.sub(r"minutes", "", said)
    assert "centreline" not in said
    assert "zero: x at the stock end, y at the stock edge" in said


def test_each_mark_is_approached_from_the_axis_s_lower_side() -> None:
    places = [tuple(map(float, re.findall(r"-?[\d.]+", line[3:]))) for line in cuts(proven(BENCH))]
    # The places come in pairs: where the bit comes from, and where the mark begins.
    for i in (1, 3):
        assert places[i - 1][0] < places[i][0]
    for i in (5, 7):
        assert places[i - 2][1] < places[i][1]


def test_the_scratches_are_shallow() -> None:
    text = proven(BENCH).programs[0].text
    assert -0.3 == min(float(z) for z in re.findall(r"Z(-?[\d.]+)", text))


def test_a_correction_that_the_file_has_already_is_left_out() -> None:
    measured = off(BENCH, x={"commanded": 400, "measured": 399})
    assert cuts(proven(BENCH)) == cuts(proven(measured))
    assert "Corrected" not in proven(measured).programs[0].text


def test_marks_stay_within_the_travel() -> None:
    small = BENCH.model_copy(update={"travel": BENCH.travel.model_copy(update={"x": 300.0, "y": 200.0})})
    assert (240.0, 120.0) == (way_of(small, "x"), way_of(small, "y"))
    assert () == proven(small).findings


def test_inch_machines_get_whole_inches() -> None:
    assert (pytest.approx(16 * 25.4), pytest.approx(14 * 25.4)) == (way_of(DIAL, "x"), way_of(DIAL, "y"))


@pytest.mark.parametrize(
    ("bit", "length", "said"),
    [
        ("quarter", None, "quarter cuts a line 6.35 mm wide"),
        ("nothing", None, "no bit is called `nothing`"),
        ("vee60", 20.0, "20.00 mm along x is too short to measure"),
    ],
)
def test_what_cannot_be_measured_from_is_refused(bit: str, length: float | None, said: str) -> None:
    with pytest.raises(JobError) as error:
        gauge_of(BENCH, RACK, bit, MAPLE, length)
    assert said == error.value.problems[0].problem


def test_the_measured_distance_becomes_a_block_to_paste() -> None:
    block, words = measured_block(BENCH, "x", 500, 499.6)
    assert "measured:\n  x: {commanded: 500, measured: 499.6}" == block
    # 325 mm x 0.0008 = 0.26 mm; 1200 log2((325 + 0.26) / 325) = 1.38 cents (derived).
    assert "Uncorrected, fret 12 of a 650.0 mm scale would stand 0.260 mm too near the nut, 1.4 cents flat." == words


def test_the_block_keeps_what_the_file_has_on_other_axes() -> None:
    machine = off(
        BENCH, x={"commanded": 400, "measured": 399}, z={"commanded": 50, "measured": 50.1}, backlash={"x": 0.08}
    )
    block, words = measured_block(machine, "y", 300, 300.3)
    assert (
        "measured:\n  x: {commanded: 400, measured: 399}\n  y: {commanded: 300, measured: 300.3}\n"
        "  z: {commanded: 50, measured: 50.1}\n  backlash: {x: 0.08}" == block
    )
    assert "" == words


def test_the_block_loads_as_it_was_printed() -> None:
    from ruamel.yaml import YAML

    block, _ = measured_block(DIAL, "x", 16 * 25.4, 16.02 * 25.4)
    again = Measured.model_validate(YAML(typ="safe").load(block)["measured"], context={"units": "in"})
    assert again.x is not None
    assert pytest.approx(16 / 16.02) == again.x.factor


def test_a_distance_too_far_off_is_refused() -> None:
    with pytest.raises(ValueError, match="measure again"):
        measured_block(BENCH, "x", 400, 380)


@pytest.mark.parametrize("machine", [load_machine(name) for name in machine_paths()], ids=list(machine_paths()))
def test_four_crosses_lie_at_the_corners_of_a_rectangle(machine: Machine) -> None:
    made = gauge_of(machine, RACK, "vee60", MAPLE, 100.0, square=True)
    outcome = prove(lay_out_loaded(made.loaded, Changes(pitch=0.25)))
    assert () == outcome.findings
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in ((p.start, p.end) for p in made.pieces)]
    assert middles[::2] == middles[1::2]  # two strokes cross in their middles
    (x, y), right, back, across = middles[::2]
    assert [(x + 100, y), (x, y + 100), (x + 100, y + 100)] == [right, back, across]


def test_the_diagonals_become_the_lines_to_paste() -> None:
    # 400 by 300 with a lean of 0.3 mm in 300: corners by hand.
    p, q = math.hypot(400.3, 300), math.hypot(399.7, 300)
    block, words = square_block(BENCH, (400.0, 300.0), (p, q))
    assert f"  square: {{x: 400, y: 300, from_left: {p:.7g}, from_right: {q:.7g}}}" in block
    assert "0.060 mm out of square" in words
    again = Measured.model_validate(yaml.safe_load(block)["measured"])
    assert again.square is not None
    assert pytest.approx(0.001, rel=1e-3) == again.square.lean


def test_what_the_file_has_beside_the_diagonals_is_kept() -> None:
    block, _ = square_block(off(BENCH, x={"commanded": 400, "measured": 399.6}), (400.0, 300.0), (500.0, 500.0))
    assert "x: {commanded: 400, measured: 399.6}" in block
    # The commanded side was truly 399.6 long.
    assert "square: {x: 399.6, y: 300," in block
