"""Minutes from a program's text, pass by pass. Machine: the bench router of tests/support/plain.py."""

import math

import numpy as np
import pytest

from tests.support.closed_forms import trapezoid_seconds
from toolpaths.gcode.program import PassTime
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.machine import Machine
from toolpaths.simulation.machine_time import Times, reached, summed, times_of

START = "G21\nG17 G90 G94\nG54\nT1\nG0 Z20\nS18000 M3\nG4 P5\n"


def timed(text: str, machine: Machine) -> Times:
    trace = read(text)
    return times_of(trace, flattened(trace, (0.0, 0.0, 0.0)), machine)


def test_a_pass_takes_its_moves_and_the_program_its_dwell_too(machine: Machine) -> None:
    text = START + "(Feature slot: fret 1)\nG0 X0 Y0\nG1 X100 F3000\nM5\nM30\n"
    found = timed(text, machine)
    # 100 mm at 50 mm/s and 200 mm/s2: 2.25 s. The way to x 0, y 0 begins nobody knows where.
    assert 2.25 / 60 == pytest.approx(found.by_feature["slot"])
    assert 5 / 60 == pytest.approx(found.dwelling)
    assert 7.25 / 60 == pytest.approx(found.minutes)
    assert (PassTime("slot", "fret 1", 2.25 / 60, 3000.0, 3000.0, 100 / 2.25 * 60),) == pytest.approx(found.passes)


def test_milliseconds_are_not_read_as_seconds(machine: Machine) -> None:
    text = START.replace("P5", "P5000") + "G0 X0 Y0\nM5\nM30\n"
    assert 5 / 60 == pytest.approx(timed(text, machine.model_copy(update={"dwell": "milliseconds"})).dwelling)


@pytest.mark.parametrize("word", ["M0", "G4 P0", "M5", "S9000 M3"])
def test_the_machine_stands_still_where_the_text_waits(machine: Machine, word: str) -> None:
    text = START + "G0 X0 Y0\nG1 X50 F3000\n{}G1 X100\nM30\n"
    through, halted = timed(text.format(""), machine), timed(text.format(word + "\n"), machine)
    assert 2.25 == pytest.approx(60 * through.moving)
    assert 2 * trapezoid_seconds(50, 50, 200) == pytest.approx(60 * halted.moving)


def test_a_pause_takes_no_minutes_of_the_machine(machine: Machine) -> None:
    text = START + "G0 X0 Y0\nM0\nM30\n"
    assert 5 / 60 == pytest.approx(timed(text, machine).minutes)


def test_a_small_circle_is_driven_as_its_acceleration_bears(machine: Machine) -> None:
    # r 2 mm, a 200 mm/s2: sqrt(a r) = 20 mm/s, though 50 are asked for. Source: a = v^2 / r.
    text = START + "(Feature round: one)\nG0 X2 Y0\nG3 X2 Y0 I-2 J0 F3000\nM5\nM30\n"
    found = timed(text, machine)
    assert 20 * 60 == pytest.approx(found.passes[0].peak, rel=1e-6)
    assert trapezoid_seconds(4 * math.pi, 20, 200) == pytest.approx(60 * found.moving, rel=2e-3)


def test_arcs_count_alike_however_finely_they_are_divided(machine: Machine) -> None:
    trace = read(START + "G0 X2 Y0\nG3 X-2 Y0 I-2 J0 F900\nG1 Y-30\nM5\nM30\n")
    spent = [
        times_of(trace, flattened(trace, (0.0, 0.0, 0.0), error), machine).minutes for error in (0.002, 0.0005, 0.0001)
    ]
    assert [spent[2]] * 3 == pytest.approx(spent, rel=2e-3)


def test_a_move_too_short_for_its_feed_is_known(machine: Machine) -> None:
    trace = read(START + "G0 X0 Y0\nG1 X0.5 F3000\nG1 X0\nG1 X100\nM5\nM30\n")
    moves = flattened(trace, (0.0, 0.0, 0.0))
    peak = reached(trace, moves, machine).peak
    # d 0.5, a 200, from rest to rest: sqrt(a d) = 10 mm/s.
    assert [600, 600, 3000] == pytest.approx(peak[-3:])
    assert len(moves) == len(peak)


def test_a_feature_cut_in_pieces_has_their_sum() -> None:
    one = PassTime("slot", "a", 1.5, 1.0, 1.0, 1.0)
    assert {"slot": 3.0, "bore": 1.5} == summed([one, PassTime("bore", "b", 1.5, 1.0, 1.0, 1.0), one])


def test_a_text_without_moves_takes_no_time(machine: Machine) -> None:
    assert 0.0 == timed("G21\nM30\n", machine).minutes
    assert np.zeros(0) == pytest.approx(reached(read("G21\nM30\n"), flattened(read("G21\n"), (0, 0, 0)), machine).peak)
