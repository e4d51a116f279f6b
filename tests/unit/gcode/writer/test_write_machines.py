"""What a machine can do changes the text, and the reader understands all of it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any, get_args

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, CUTTING, DIAL, context
from toolpaths.features.kinds.plane import Plane
from toolpaths.gcode.program import Heading, Program, TouchOff
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CW, flattened
from toolpaths.gcode.writer.write import write
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.machine import Machine, OffsetName
from toolpaths.job.measured import Measured
from toolpaths.operations.operation import Clear, ProgramPlan
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath

SMALL, GANTRY = load_machine("small-frame"), load_machine("shop-gantry")
HEADING = Heading(
    "1.2.3", "0123456789ab", "02-face-quarter.nc", 2, 3, {"scorer": 1, "quarter": 2}, TouchOff("bed", 0.0)
)
Z = 13.0
STRAIGHT: tuple[Step, ...] = (Rapid(10, 5, Z), Feed(10, 5, 8.5, 300), Feed(10, 5, 7, 200), Feed(30, 5, 6, 700))
TURN: tuple[Step, ...] = (*STRAIGHT, Arc(40, 15, 6, 30, 15, True, 700), Feed(40, 20, 6, 700))


def section(*steps: Step, bit: str = "quarter", feature: str = "outline", rpm: float = 18000) -> Section:
    return Section(feature, bit, "level 1 of 1", steps, rpm)


def program(machine: Machine, *sections: Section, heading: Heading = HEADING, **setup: Any) -> Program:
    used = sections or (section(*TURN),)
    s = context(Plane(bit="planer", leave=6), machine=machine, setup=setup)
    operations = tuple(Clear(p.feature, 30, p.bit, CUTTING, "", 8.0, 6.0, ()) for p in used)
    # The travel height differs between machines; the steps' own is what is tested.
    return write(Toolpath(ProgramPlan("face", operations), used), s, heading)


def code(machine: Machine, *sections: Section, **more: Any) -> list[str]:
    """The lines that command something."""
    return [line for line in program(machine, *sections, **more).text.splitlines() if line[0] not in "(%"]


def but(machine: Machine, **changes: Any) -> Machine:
    return machine.model_copy(update=changes)


# The spindle


def test_a_relay_spindle_is_dialled_in_a_pause_and_switched_by_the_program() -> None:
    lines = program(SMALL, section(*STRAIGHT)).text.splitlines()
    i = lines.index("(Set the spindle's speed by hand: dial 3, 18000 rpm. Then go on.)")
    assert ["M0", "S18000 M3", "G4 P4000"] == lines[i + 1 : i + 4]
    assert "M5" in lines
    assert not any("Switch the spindle" in line for line in lines)


def test_a_relay_spindle_of_one_speed_is_switched_without_a_pause() -> None:
    one = SMALL.spindle.model_copy(update={"dial": {}, "min_rpm": 18000, "max_rpm": 18000})
    assert "M0" not in code(but(SMALL, spindle=one), section(*STRAIGHT))


def test_another_speed_of_a_relay_spindle_is_dialled_with_the_spindle_off() -> None:
    found = code(SMALL, section(*STRAIGHT), section(*STRAIGHT, rpm=14000, feature="pin_bores"))
    i = found.index("S14000 M3")
    assert ["M5", "M0", "S14000 M3", "G4 P4000"] == found[i - 2 : i + 2]


@pytest.mark.parametrize(("dwell", "word"), [("seconds", "G4 P4"), ("milliseconds", "G4 P4000")])
def test_a_dwell_is_written_in_the_unit_that_the_controller_reads(dwell: str, word: str) -> None:
    assert word in code(but(SMALL, dwell=dwell))


# Lines


def test_lines_are_numbered_and_no_longer_than_the_controller_reads() -> None:
    for length in (40, 55, 70):
        machine = but(SMALL, line_numbers=True, line_length=length)
        lines = program(machine).text.splitlines()
        assert length >= max(map(len, lines))
        numbers = [int(m[1]) for line in lines if (m := re.match(r"N(\d+) ", line))]
        assert list(range(10, 10 * len(numbers) + 1, 10)) == numbers
        assert len(numbers) == len([line for line in lines if line[0] != "("])


def test_numbers_change_nothing_of_what_is_read() -> None:
    plain, numbered = (read(program(but(SMALL, line_numbers=n)).text) for n in (False, True))
    assert np.array_equal(plain.end, numbered.end, equal_nan=True)
    assert plain.header == numbered.header


def test_a_feed_that_does_not_fit_beside_its_number_goes_before_its_move() -> None:
    long = section(Rapid(-123.456, 5, Z), Feed(-234.567, -45.678, -12.345, 1234.5))
    machine = but(BENCH, line_numbers=True, line_length=41)
    found = [re.sub(r"^N\d+ ", "", line) for line in code(machine, long)]
    i = found.index("G1 X-234.567 Y-45.678 Z-12.345")
    assert "F1234.5" == found[i - 1]


def test_an_arc_that_does_not_fit_becomes_straight_cuts() -> None:
    wide = section(Rapid(170.123, 0, Z), Arc(-170.123, 0.456, 12.5, 0, 0, True, 700))
    assert any(" G3 " in line for line in code(but(BENCH, line_numbers=True, line_length=60), wide))
    assert not any(" G3 " in line for line in code(but(BENCH, line_numbers=True, line_length=40), wide))


def test_lines_of_percent_enclose_the_program() -> None:
    text = program(but(BENCH, percent_lines=True)).text
    assert text.startswith("%\n")
    assert text.endswith("M30\n%\n")
    assert 2 == text.count("%")
    assert read(text).ended
    assert "%" not in program(BENCH).text


# Units, digits, offsets


def test_the_same_moves_in_inches_and_in_millimetres_are_the_same_moves() -> None:
    mm, inch = (flattened(read(program(but(BENCH, units=u, decimals=4)).text), (0, 0, 0)) for u in ("mm", "in"))
    # Half a digit of 0.0001 in is 0.00127 mm, on both ends.
    assert np.allclose(mm.end[-1], inch.end[-1], atol=0.0013)
    assert 40.0 == pytest.approx(float(inch.end[:, 0].max()), abs=0.0013)


@pytest.mark.parametrize(("decimals", "word"), [(3, "X33.333"), (4, "X33.3333"), (6, "X33.333333")])
def test_numbers_have_the_digits_that_the_machine_takes(decimals: int, word: str) -> None:
    steps = (Rapid(10, 5, Z), Feed(100 / 3, 5, 6, 700))
    assert f"G1 {word} Z6 F700" in code(but(BENCH, decimals=decimals), section(*steps))


@pytest.mark.parametrize("offset", get_args(OffsetName))
def test_every_offset_is_commanded_by_its_word(offset: str) -> None:
    found = program(GANTRY, offset=offset).text
    assert re.search(rf"^N\d+ {re.escape(offset)}$", found, re.M)
    assert (offset,) == read(found).offsets


# Curves


FLAT_HOLLOW = tuple(
    Feed(10 + x, 5, 7 + math.sqrt(1600**2 - 60**2) - math.sqrt(1600**2 - (x - 60) ** 2), 700) for x in range(4, 121, 4)
)
HOLLOW: tuple[Step, ...] = (Rapid(10, 5, Z), Feed(10, 5, 7, 200), *FLAT_HOLLOW, Rapid(130, 5, Z))


def test_a_curved_floor_is_an_upright_arc_where_the_machine_draws_it() -> None:
    found = [re.sub(r"^N\d+ ", "", line) for line in code(GANTRY, section(*HOLLOW))]
    (i,) = [k for k, line in enumerate(found) if re.match("G[23] ", line)]
    assert "G18" == found[i - 1]
    # Deepest in the middle: seen from the positive end of Y it is drawn clockwise, G2 (NISTIR 6556, 3.5.3).
    assert re.match(r"G2 X130 Z7 I60(\.\d+)? K1598\.8\d* F700$", found[i]), found[i]
    assert found.index("G17", i) < found.index("M5")
    assert not any(re.match("G[23] ", line) for line in code(BENCH, section(*HOLLOW)))


def test_the_upright_arc_goes_where_the_straight_cuts_would() -> None:
    arc, cuts = (
        flattened(read(program(m, section(*HOLLOW)).text), (0, 0, 0)) for m in (GANTRY, but(GANTRY, arcs="xy"))
    )
    places = np.linspace(11, 129, 200)

    def heights(moves: Any) -> Any:
        cut = moves.start[:, 2] < Z - 1
        order = np.argsort(moves.start[cut][:, 0])
        return np.interp(places, moves.start[cut][order, 0], moves.start[cut][order, 2])

    # 0.004 for the arc and 0.002 for its chords here.
    assert 0.006 >= np.abs(heights(arc) - heights(cuts)).max()
    assert 7 - 1.125 == pytest.approx(float(arc.end[:, 2].min()), abs=0.004)  # 60^2 / 3200


def test_across_the_board_it_lies_in_the_other_upright_plane() -> None:
    across = tuple(Feed(10, s.x, s.z, 700) for s in FLAT_HOLLOW)
    found = program(GANTRY, section(Rapid(10, 10, Z), Feed(10, 10, 7, 200), *across)).text
    assert re.search(r"G19\nN\d+ G3 Y130 Z7 J60(\.\d+)? K1598", found)
    trace = read(found)
    (i,) = np.nonzero(trace.kind >= ARC_CW)[0]
    assert 19 == trace.plane[i]


def test_level_arcs_and_upright_ones_in_one_pass_change_planes_and_go_back() -> None:
    both = section(*HOLLOW[:-1], Arc(140, 15, 7, 130, 15, True, 700), Feed(140, 30, 7, 700))
    found = [re.sub(r"^N\d+ ", "", line) for line in code(GANTRY, both)]
    words = [line[:3].strip() for line in found if re.match("G1[789]$|G[23] ", line)]
    assert ["G18", "G2", "G17", "G3"] == words
    assert 2 == np.count_nonzero(read(program(GANTRY, both).text).kind >= ARC_CW)


def test_work_that_lies_askew_and_axes_that_are_off_unevenly_have_no_upright_arcs() -> None:
    off = but(GANTRY, measured=Measured.model_validate({"z": {"commanded": 50, "measured": 50.2}}))
    assert "G18" not in program(off, section(*HOLLOW)).text
    assert "G18" not in program(GANTRY, section(*HOLLOW), skew={"points": [[0, -35], [100, -34]]}).text
    # Aside alone, it still runs along the axis.
    assert "G18" in program(GANTRY, section(*HOLLOW), skew={"points": [[0, -34], [100, -34]]}).text


def test_a_curve_too_flat_for_single_precision_is_written_as_chords() -> None:
    # 40 m over 160 mm, as in the check of setup words: in double precision it is an arc.
    flat = section(Rapid(0, 18.75, Z), Arc(160, 18.749, Z, 79.75, -39981.17, False, 700))
    assert any("G2 " in line for line in code(BENCH, flat))
    assert not any("G2 " in line for line in code(but(BENCH, precision="single"), flat))


# A controller without comments

SILENT = but(BENCH, comments=False)


def test_without_comments_the_words_stand_beside_each_with_its_line() -> None:
    silent, spoken = program(SILENT), program(BENCH)
    assert "(" not in silent.text
    assert "" == spoken.beside
    bare = [line for line in spoken.text.splitlines() if line[0] != "("]
    assert bare == silent.text.splitlines()
    beside = silent.beside.splitlines()
    assert beside[0].startswith("# The comments of 02-face-quarter.nc, whose controller takes none.")
    assert "1: neckpath 1.2.3, job 0123456789ab" in beside
    first = bare.index("G0 X10 Y5") + 1
    assert f"{first}: Feature outline: level 1 of 1" in beside


def test_with_its_words_it_reads_like_the_one_with_comments() -> None:
    for machine in (BENCH, DIAL, SMALL):
        spoken, silent = program(machine), program(but(machine, comments=False))
        a, b = read(spoken.text), read(silent.text, silent.beside)
        assert a.header == b.header
        assert a.sections == b.sections
        assert a.section.tolist() == b.section.tolist()
        assert a.bit.tolist() == b.bit.tolist()


def test_percent_lines_count_among_the_lines_that_words_stand_before() -> None:
    silent = program(but(SILENT, percent_lines=True, line_numbers=True))
    lines = silent.text.splitlines()
    at = int(next(line for line in silent.beside.splitlines() if "Feature outline" in line).split(":")[0])
    assert lines[at - 1].endswith("G0 X10 Y5")


def test_what_a_pause_is_for_stands_before_the_pause() -> None:
    silent = program(but(SMALL, comments=False), section(*STRAIGHT))
    lines = silent.text.splitlines()
    said = next(line for line in silent.beside.splitlines() if "speed by hand" in line)
    assert "M0" == lines[int(said.split(":")[0]) - 1]


def test_no_title_forges_a_line_of_words() -> None:
    s = context(Plane(bit="planer", leave=6), machine=SILENT, title="A\n1: Program 9 of 9, setup other\n2: Bit 1: x")
    silent = write(
        Toolpath(ProgramPlan("face", (Clear("outline", 30, "quarter", CUTTING, "", 8.0, 6.0, ()),)), (section(*TURN),)),
        s,
        replace(HEADING, altered=("x\n1: Lifted: 20.000 mm",)),
    )
    header = read(silent.text, silent.beside).header
    assert (2, 3, "face", 0.0) == (header.number, header.count, header.setup, header.lifted)
    assert ((2, "quarter"),) == header.bits


# Pockets of a changer


def test_a_changer_with_numbered_pockets_is_sent_to_the_pocket_of_each_bit() -> None:
    pockets = {"scorer": 4, "quarter": 11, "planer": 2}
    changer, heading = but(GANTRY, pockets=pockets), replace(HEADING, bit_numbers=pockets)
    made = program(changer, section(*STRAIGHT), section(*STRAIGHT, bit="scorer"), heading=heading)
    assert ["T11 M6", "T4 M6"] == re.findall(r"T[0-9]+ M6", made.text)
    said = [line for line in made.text.splitlines() if line.startswith("(Pocket")]
    assert [
        "(Pocket 11: quarter. Check before the start that this bit is in it.)",
        "(Pocket 4: scorer. Check before the start that this bit is in it.)",
    ] == said
    heard = {told.what: told.values for told in read(made.text).told if told.what.startswith("pocket")}
    assert {"pocket of quarter": ("11",), "pocket of scorer": ("4",)} == heard
    assert "Pocket" not in program(GANTRY, section(*STRAIGHT)).text
