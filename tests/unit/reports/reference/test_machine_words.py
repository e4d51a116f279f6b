"""What a machine file means, said in words, and the sample of its text: what the writer truly writes for it."""

from __future__ import annotations

import re
from typing import Any

import pytest

from toolpaths.gcode.reader.read import read
from toolpaths.job.files.machine_file import machine_paths, read_machine
from toolpaths.job.machine import Machine, Park
from toolpaths.job.measured import Measured
from toolpaths.reports.reference.machine_words import MOST_LINES, machine_table, sample, sample_words


def shipped(name: str, **changes: Any) -> Machine:
    return read_machine(machine_paths()[name]).model_copy(update=changes)


def means(machine: Machine) -> dict[str, str]:
    return {row[0]: row[1] for row in machine_table("x", machine).rows}


def test_a_small_frame_in_words() -> None:
    said = means(shipped("small-frame"))
    assert "300 x 180 x 45 mm" == said["travel"]
    assert (
        "10000 to 30000 rpm; M3 and M5 switch it, a hand turns its dial in a pause (M0); dial 1 is 10000, 2 is 14000, "
        "3 is 18000, 4 is 22000, 5 is 26000, 6 is 30000; 4 s to get up to speed, G4 P4000 in milliseconds"
    ) == said["spindle"]
    assert "changed by hand: one program a bit, named in words, without T" == said["bits"]
    assert "in single precision, about 7 digits in all" in said["numbers"]
    assert "at most 70 characters, without numbers" == said["lines"]


def test_a_shop_gantry_in_words() -> None:
    said = means(shipped("shop-gantry"))
    assert "S and M3 in the program set it; 8 s to get up to speed, G4 P8 in seconds" in said["spindle"]
    assert said["bits"].startswith("changed by the machine: one program a setup, T and M6, then a pause (M0)")
    assert "at most 120 characters, numbered N10, N20 and so on, between two lines of %" == said["lines"]
    assert "arcs (G2, G3), level and upright (G17, G18, G19)" == said["curves"]


def test_places_of_offsets_are_said_where_they_are_known() -> None:
    known = shipped("bench-router", offsets={"G54": (150.0, 120.0, -80.0), "G55": None})
    assert "G54 at 150.00 mm, 120.00 mm, -80.00 mm; G55, machine coordinates unknown" == means(known)["offsets"]


def test_stiffness_is_said_with_where_it_comes_from() -> None:
    # 80 N/mm give way by 0.1 mm under 8 N: Hooke's law.
    assert (
        "80 N/mm, as measured; a pass that would push it aside by over 0.1 mm (8 N) is made shallower"
        == means(shipped("bench-router", stiffness=80.0))["stiffness"]
    )
    assert means(shipped("bench-router"))["stiffness"].startswith("not measured: taken as 150 N/mm, for a machine with")
    assert "0.0039 in (10 N)" in means(shipped("hand-dial"))["stiffness"]


def test_what_was_measured_is_said() -> None:
    assert "measured" not in means(shipped("bench-router"))
    off = shipped("bench-router", measured=Measured.model_validate({"x": {"commanded": 500, "measured": 499.6}}))
    assert "programs are corrected: X x 1.000801" == means(off)["measured"]  # 500 / 499.6, derived


@pytest.mark.parametrize("name", machine_paths())
def test_the_sample_is_a_program_that_reads_well(name: str) -> None:
    machine = shipped(name)
    lines = sample(machine)
    assert 18 <= len(lines) <= MOST_LINES
    assert all(len(line) <= machine.line_length for line in lines)
    if not any(line.startswith("...") for line in lines):
        trace = read("\n".join(lines) + "\n")
        assert trace.ended
        # Down to 1 mm below the face of 6 and no deeper.
        assert 5.0 == pytest.approx(trace.end[1:, 2].min(), abs=machine.half_digit * 2)


def test_the_sample_shows_how_the_machine_is_told() -> None:
    gantry = sample(shipped("shop-gantry"))
    assert ("%", "%") == (gantry[0], gantry[-1])
    assert any(re.fullmatch(r"N\d+ G18", line) for line in gantry)
    small = sample(shipped("small-frame"))
    assert ["M0", "S18000 M3", "G4 P4000"] == small[small.index("M0") :][:3]
    assert "G20" == sample(shipped("hand-dial"))[0]


def test_without_comments_the_sample_shows_the_words_beside() -> None:
    silent = shipped("small-frame", comments=False, t_word=True)
    assert not any("(" in line for line in sample(silent))
    assert "beside it, in sample.gcode.txt:" == sample_words(silent)[0]
    assert any(re.match(r"\d+: Set the spindle's speed by hand", line) for line in sample_words(silent))
    assert [] == sample_words(shipped("small-frame"))


@pytest.mark.parametrize("name", machine_paths())
def test_the_sample_parks_where_the_table_says(name: str) -> None:
    machine = shipped(name, park=Park(x=3, y=117))
    digits = f"{machine.decimals}"
    scale = 25.4 if machine.units == "in" else 1.0
    x, y = (f"{round(mm / scale, int(digits)):g}" for mm in (3, 117))
    moves = [line for line in sample(machine) if "G0" in line and "X" in line]
    assert re.search(rf"G0 X{re.escape(x)} Y{re.escape(y)}$", moves[-1]), moves
    assert means(machine)["waits at"].endswith("from nut line and centreline, at the end")
