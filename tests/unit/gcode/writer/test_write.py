"""The text of a program: what it says first, how it moves, and that no word of a job becomes a command."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.setup_builder import BENCH, CUTTING, DIAL, context
from toolpaths.features.kinds.plane import Plane
from toolpaths.gcode.program import Heading, Program, TouchOff
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CCW, RAPID, flattened
from toolpaths.gcode.writer.write import touch_off, write
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stock import KeepOut
from toolpaths.operations.operation import Clear, ProgramPlan, Raster
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath

HEADING = Heading(
    version="1.2.3",
    job_hash="0123456789ab",
    name="02-face-quarter.ngc",
    number=2,
    count=3,
    bit_numbers={"scorer": 1, "quarter": 2},
    touch_off=TouchOff("bed", 0.0),
)
Z = 13.0  # the blank's 8 and the bench router's safe height of 5
DOWN: tuple[Step, ...] = (Rapid(10, 5, Z), Feed(10, 5, 8.5, 800), Feed(10, 5, 8, 200), Feed(30, 5, 6, 700))
UP: tuple[Step, ...] = (Rapid(30, 5, Z),)


def section(
    *steps: Step, feature: str = "outline", bit: str = "quarter", rpm: float = 18000, title: str = "level 1 of 1"
) -> Section:
    return Section(feature, bit, title, steps, rpm)


def path(*sections: Section) -> Toolpath:
    operations = [Clear(s.feature, 30, s.bit, CUTTING, "", 8.0, 6.0, ()) for s in sections]
    return Toolpath(ProgramPlan("face", tuple(operations)), sections)


def program(*sections: Section, heading: Heading = HEADING, **job: Any) -> Program:
    s: SetupContext = context(Plane(bit="planer", leave=6), **job)
    return write(path(*(sections or (section(*DOWN, *UP),))), s, heading)


def lines(*sections: Section, **more: Any) -> list[str]:
    return program(*sections, **more).text.splitlines()


def code(*sections: Section, **more: Any) -> list[str]:
    """The lines that are not comments."""
    return [line for line in lines(*sections, **more) if not line.startswith("(")]


# The whole of a small one


def test_a_small_program_reads_like_this() -> None:
    clamp = {"name": "end stop", "x": (-60, -45), "y": (-25, 25), "height": 6}
    stock = {"length": 510, "width": 70, "thickness": {"min": 7.8, "max": 8}}
    found = program(setup={"keep_out": [clamp]}, stock=stock).text
    assert (
        found
        == """\
(Title: Board of an invented workshop)
(neckpath 1.2.3, job 0123456789ab)
(Program 2 of 3, setup face)
(Machine: bench router)
(Running time: about 0.2 minutes, an estimate.)
(Blank: hard maple, 510.00 mm x 70.00 mm, 7.80 to 8.00 mm thick)
(The nut line is 15.00 mm from the left end of the blank.)
(The centreline is 35.00 mm from the operator's edge.)
(Zero: X at the nut, Y at the centreline, Z at the bed, offset G54)
(Held by tape.)
(The bit keeps clear of each obstacle listed here. No obstacle may be larger,)
(+ or elsewhere.)
(Obstacle 1, end stop: X -60.00 to -45.00 mm, Y -25.00 to 25.00 mm, up to 6.00)
(+ mm above the bed)
(Bit 2: quarter, flat 6.35 mm, 2 flutes, 28 mm out of the collet)
(Touch off: bed, Z 0.000 mm)
(Motion: X 0.00 to 30.00 mm, Y 5.00 to 120.00 mm, Z 6.00 to 13.00 mm)
(Caution: check units and zero, then run this program in the air first.)
(Caution: no clamp in the path, extraction on, no gloves. Protect eyes, ears)
(+ and lungs.)
(Caution: stay at the stop button. Mark the shank at the collet, and check)
(+ after the first pass that the bit has not slipped.)
(Caution: isolate the spindle from its supply before you change a bit. Set Z)
(+ again after each change.)
(The machine's manual, the shop's rules and local law come before this program.)
G21
G17 G90 G94
G54
G0 Z13
T2
S18000 M3
G4 P5
(Feature outline: level 1 of 1)
G0 X10 Y5
G1 Z8.5 F800
G1 Z8 F200
G1 X30 Z6 F700
G0 Z13
(End: lift the bit, spindle off, go to the parking place.)
M5
G0 X0 Y120
M30
"""
    )


def test_the_reader_understands_all_of_it() -> None:
    trace = read(program().text)
    assert trace.ended
    assert ("0123456789ab", 2, 3, "face") == (
        trace.header.job_hash,
        trace.header.number,
        trace.header.count,
        trace.header.setup,
    )
    assert (((2, "quarter"),), "bed", 0.0) == (
        trace.header.bits,
        trace.header.touch_surface,
        trace.header.touch_z,
    )
    assert (("outline", "level 1 of 1"),) == trace.sections
    assert {2} == set(trace.bit[1:].tolist())


def test_the_same_toolpath_gives_the_same_bytes() -> None:
    assert program().text.encode("ascii") == program().text.encode("ascii")


# The order of things


def test_the_bit_goes_up_before_it_goes_anywhere() -> None:
    first = next(line for line in code() if re.search("[XYZ]", line))
    assert "G0 Z13" == first


def test_the_spindle_is_on_and_up_to_speed_before_anything_goes_down() -> None:
    found = code()
    down = found.index("G1 Z8.5 F800")
    assert found.index("S18000 M3") < found.index("G4 P5") < down


def test_at_the_end_it_goes_up_stops_the_spindle_and_only_then_goes_aside() -> None:
    assert ["G0 Z13", "M5", "G0 X0 Y120", "M30"] == code(section(*DOWN))[-4:]
    assert ["G0 Z13", "M5", "G0 X0 Y120", "M30"] == code()[-4:]


def test_no_rapid_changes_height_and_place_at_once() -> None:
    diagonal = section(*DOWN, Rapid(100, 20, Z), Rapid(50, 10, 9.0))
    for line in code(diagonal):
        assert not (line.startswith("G0") and "Z" in line and re.search("[XY]", line))
    found = code(diagonal)
    i = found.index("G0 X100 Y20")
    assert ["G0 Z13", "G0 X100 Y20", "G0 X50 Y10", "G0 Z9"] == found[i - 1 : i + 3]


def test_another_speed_is_set_with_the_bit_up_and_waited_for() -> None:
    found = code(section(*DOWN), section(*DOWN, rpm=12000, feature="pin_bores"))
    i = found.index("S12000 M3")
    assert ["G0 Z13", "M5", "S12000 M3", "G4 P5"] == found[i - 2 : i + 2]


def test_where_the_machine_changes_bits_the_height_is_given_again_after_the_change() -> None:
    automatic = BENCH.model_copy(update={"tool_change": "automatic"})
    found = code(section(*DOWN), section(*DOWN, bit="scorer", feature="score_lines"), machine=automatic)
    i = found.index("T1 M6")
    # Up, spindle off, change, a look at its length; whatever the change moved, first up again, then on, then X and Y.
    assert ["G0 Z13", "M5", "T1 M6", "M0", "G0 Z13", "S18000 M3", "G4 P5", "G0 X10 Y5"] == found[i - 2 : i + 6]
    # What the changer holds before its first change nobody knows: no height is told before it.
    assert ["G54", "T2 M6", "M0", "G0 Z13"] == found[2:6]


@pytest.mark.parametrize(
    ("zero", "surfaces"),
    [
        ("bed", ["bed, Z 0.000 mm", "bed, Z 0.000 mm"]),
        ("stock top", ["stock top, Z 0.000 mm", "planed face, Z -2.000 mm"]),
    ],
)
def test_after_each_change_by_the_machine_it_says_where_that_bit_could_be_set(zero: str, surfaces: list[str]) -> None:
    automatic = BENCH.model_copy(update={"tool_change": "automatic", "line_length": 160})
    s = context(
        Plane(bit="planer", leave=6), machine=automatic, setup={"zero": {"x": "nut", "y": "centreline", "z": zero}}
    )
    planing = Raster("plane", 30, "quarter", CUTTING, "", 8.0, 6.0, (0.0, 0.0, 1.0, 1.0), 0.2)
    scoring = Clear("score_lines", 31, "scorer", CUTTING, "", 6.0, 5.5, ())
    sections = (section(*DOWN, feature="plane"), section(*DOWN, bit="scorer", feature="score_lines"))
    heading = replace(HEADING, touch_off=touch_off(s, False))
    found = write(Toolpath(ProgramPlan("face", (planing, scoring)), sections), s, heading).text.splitlines()
    said = "(The bit has been changed. Set Z again on the {}, or check that the controller has measured its length. "
    said += "Then go on.)"
    assert [said.format(where) for where in surfaces] == [line for line in found if "has been changed" in line]


def test_a_bit_that_comes_later_is_announced_again_where_it_comes() -> None:
    automatic = BENCH.model_copy(update={"tool_change": "automatic"})
    found = lines(section(*DOWN), section(*DOWN, bit="scorer", feature="score_lines"), machine=automatic)
    words = "(Bit 1: scorer, flat 0.5 mm, 2 flutes, 15 mm out of the collet)"
    assert 2 == found.count(words)
    assert found.index("T2 M6") < len(found) - 1 - found[::-1].index(words) < found.index("T1 M6")


# Words


def test_a_word_is_not_said_twice() -> None:
    found = code(section(*DOWN, Feed(40, 5, 6, 700), Feed(40, 9, 6, 700), Feed(40, 9, 6, 500)))
    assert ["G1 X30 Z6 F700", "G1 X40", "G1 Y9"] == found[found.index("G1 X30 Z6 F700") :][:3]


def test_feeds_are_written_with_no_needless_digits() -> None:
    found = " ".join(code(section(Rapid(0, 0, Z), Feed(1, 0, 9, 205.0), Feed(2, 0, 9, 93.25), Feed(3, 0, 9, 1000))))
    assert ["205", "93.2", "1000"] == re.findall(r"F(\S+)", found)


def test_nothing_is_written_as_minus_zero() -> None:
    found = program(section(Rapid(-1e-5, -4e-4, Z), Feed(-1e-9, 5, -1e-7, 100), Feed(0, 0, 0, 100))).text
    assert "-0 " not in found.replace("\n", " ")
    assert "-0.000" not in found


def test_the_dwell_is_in_the_machine_s_own_unit() -> None:
    assert "G4 P5000" in code(machine=BENCH.model_copy(update={"dwell": "milliseconds"}))


# Arcs


def turn(ccw: bool = True, z: float = 7.0) -> Section:
    """A half turn of radius 20 about (50, 0), from (70, 0)."""
    return section(Rapid(70, 0, Z), Feed(70, 0, 7, 200), Arc(30, 0, z, 50, 0, ccw, 700))


def test_an_arc_leaves_as_an_arc() -> None:
    assert "G3 X30 Y0 I-20 J0 F700" in code(turn())
    assert "G2 X30 Y0 I-20 J0 F700" in code(turn(ccw=False))
    assert "G3 X30 Y0 Z5 I-20 J0 F700" in code(turn(z=5.0))


def test_the_box_of_motion_reaches_as_far_as_the_arc_does() -> None:
    found = lines(turn(), machine=BENCH.model_copy(update={"park": BENCH.park.model_copy(update={"y": 0.0})}))
    assert any("(Motion: " in line and " Y 0.00 to 20.00 mm" in line for line in found)
    below = lines(turn(ccw=False))
    assert any("(Motion: " in line and " Y -20.00 to 120.00 mm" in line for line in below)


@pytest.mark.parametrize("ccw", [True, False])
@pytest.mark.parametrize("machine", [DIAL, BENCH.model_copy(update={"arcs": "none"})])
def test_where_arcs_are_not_taken_chords_stay_within_the_tolerance(machine: Machine, ccw: bool) -> None:
    # A helix of half a turn from 7 down to 5.
    found = program(turn(ccw, z=5.0), machine=machine)
    assert not re.search(r"\bG[23]\b", found.text)
    trace = read(found.text)
    cut = (trace.kind != RAPID) & (trace.end[:, 2] < 7 - 1e-9)
    ends = trace.end[cut] - np.array([50, 0, 0])
    middles = (trace.start[cut] + trace.end[cut]) / 2 - np.array([50, 0, 0])
    slack = machine.half_digit * 2
    assert machine.chord_tolerance + slack >= np.abs(np.hypot(middles[:, 0], middles[:, 1]) - 20).max()
    assert slack >= np.abs(np.hypot(ends[:, 0], ends[:, 1]) - 20).max()
    assert (-20.0, 0.0, 5.0) == pytest.approx(tuple(ends[-1]), abs=slack)
    assert np.all((middles[:, 1] > 0) == ccw)
    # Down evenly along the turn.
    angle = np.arctan2(np.abs(ends[:, 1]), ends[:, 0])
    assert slack >= np.abs(7 - 2 * angle / math.pi - ends[:, 2]).max()


def test_a_curve_too_short_to_round_well_is_a_straight_cut() -> None:
    found = code(section(Rapid(0, 0, Z), Feed(0, 0, 7, 200), Arc(0.01, 0.01, 7, 0, 0.01, True, 700)))
    assert "G1 X0.01 Y0.01 F700" in found


def test_thousands_of_arcs_keep_their_radii_in_the_text() -> None:
    # NISTIR 6556, 3.5.3.2: the two radii differ by at most 0.002 mm; the reader refuses what breaks that.
    rng = np.random.default_rng(5)
    steps: list[Step] = []
    for _ in range(1500):
        r, (cx, cy), t = rng.uniform(0.1, 40), rng.uniform(-100, 100, 2), rng.uniform(0, 6.28, 2)
        steps += [
            Rapid(cx + r * math.cos(t[0]), cy + r * math.sin(t[0]), Z),
            Arc(cx + r * math.cos(t[1]), cy + r * math.sin(t[1]), Z, cx, cy, True, 700),
        ]
    text = program(section(*steps)).text
    trace = read(text)
    arcs = np.nonzero(trace.kind == ARC_CCW)[0]
    assert 1400 < len(arcs)
    a = np.hypot(*(trace.start[arcs, :2] - trace.centre[arcs, :2]).T)
    b = np.hypot(*(trace.end[arcs, :2] - trace.centre[arcs, :2]).T)
    assert 0.002 > np.abs(a - b).max()


# Machines of another kind


def test_an_inch_machine_gets_inches() -> None:
    found = code(section(Rapid(25.4, 12.7, 15), Feed(25.4, 12.7, 6.35, 508)), machine=DIAL)
    assert "G20" == found[0]
    assert "G0 X1 Y0.5" in found
    assert "G1 Z0.25 F20" in found


def test_zero_at_the_blank_s_corner_and_top_shifts_every_place() -> None:
    corner = {"zero": {"x": "stock end", "y": "stock edge", "z": "stock top"}}
    found = code(setup=corner)
    assert "G0 Z5" == found[3]
    assert "G0 X25 Y40" in found  # 10 + 15 and 5 + 35
    assert "G1 X45 Z-2 F700" in found
    assert "G0 X15 Y155" in found  # the park place is told from the nut line and the centreline


def test_where_no_t_word_is_taken_a_comment_carries_the_bit_s_number() -> None:
    found = program(machine=DIAL).text
    assert not re.search(r"^T\d", found, re.M)
    assert "(Bit 2: quarter, flat 0.25 in, 2 flutes, 1.102 in out of the collet)" in found
    assert {2} == set(read(found).bit[1:].tolist())


def test_a_spindle_set_by_hand_is_asked_for_and_waited_for() -> None:
    found = lines(section(*DOWN, rpm=17000), machine=DIAL)
    i = found.index("(Switch the spindle on by hand: dial 3, 17000 rpm. Then go on.)")
    assert ["M0", "G4 P10"] == found[i + 1 : i + 3]
    assert "(Switch the spindle off by hand. Then go on.)" in found
    assert not any(re.match(r"S\d|M3\b|M5", line) for line in found)


@pytest.mark.parametrize(
    ("rpm", "words"), [(15000, "dial between 2 and 3"), (10000, "dial 1"), (27500, "dial 6"), (9000, "dial below 1")]
)
def test_a_speed_between_two_marks_says_between_which(rpm: float, words: str) -> None:
    wide = DIAL.model_copy(update={"line_length": 100})
    assert f"(Switch the spindle on by hand: {words}, {rpm} rpm. Then go on.)" in lines(
        section(*DOWN, rpm=rpm), machine=wide
    )


def test_without_comments_the_text_is_code_alone() -> None:
    found = program(machine=BENCH.model_copy(update={"comments": False})).text
    assert "(" not in found
    assert "T2" in found


# Words of a job are no commands

HOSTILE = [
    "Title) G0 Z-50 (",
    "two\nlines\nG0 Z-50",
    "Touch off: bed, Z 0.000 mm",
    "Touch off: bed, Z -3.000 mm) (Touch off: bed, Z -3.000 mm",
    "wood " * 14 + "Touch off: stock top, Z -3.000 mm",
    "neckpath 9.9.9, job ffffffffffff",
    "Program 9 of 9, setup other",
    "Bit 2: planer, flat",
    "Feature plane: all",
    "MSG, stop",
    "ünïcode ½ 木 \u2028 % ; [#1=2] {}",
    "x" * 200,
]


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("machine", [BENCH, DIAL, BENCH.model_copy(update={"line_length": 40})])
def test_no_title_or_name_becomes_a_command_or_a_heading(machine: Machine, text: str) -> None:
    plain = context(Plane(bit="planer", leave=6), machine=machine)
    wood = replace(plain.wood, name=text)
    keep = KeepOut.model_construct(name=text, x=(-60.0, -45.0), y=(-25.0, 25.0), height=6.0)
    setup = plain.setup.model_copy(update={"keep_out": (keep,)})
    job = plain.job.model_copy(update={"title": text})
    hostile = replace(plain, job=job, wood=wood, setup=setup, machine=machine.model_copy(update={"name": text}))
    toolpath = path(section(*DOWN, *UP, title=text))
    heading = replace(HEADING, altered=(text,), accepted=(text,))
    said, meant = write(toolpath, hostile, heading).text, write(toolpath, plain, HEADING).text

    def commands(program: str) -> list[str]:
        return [line for line in program.splitlines() if not line.startswith("(")]

    assert commands(meant) == commands(said)
    assert read(meant).header == read(said).header
    for line in said.splitlines():
        assert machine.line_length >= len(line)
        assert re.fullmatch(r"[ -~]*", line)


# Lifted, touched off, timed


def test_lifted_every_height_is_raised_and_the_header_says_so() -> None:
    low, high = read(program().text), read(program(heading=replace(HEADING, lift=20.0)).text)
    assert np.allclose(low.end[:, 2] + 20, high.end[:, 2], equal_nan=True)
    assert np.array_equal(low.end[1:, :2], high.end[1:, :2], equal_nan=True)
    assert (0.0, 20.0) == (low.header.lifted, high.header.lifted)
    found = lines(heading=replace(HEADING, lift=20.0))
    assert "(This is a dry run in the air. No move touches the blank.)" in found
    assert any("(Motion: " in line and " Z 26.00 to 33.00 mm" in line for line in found)


def test_what_was_altered_or_accepted_stands_in_the_header() -> None:
    found = lines(heading=replace(HEADING, altered=("scorer=0.8", "only plane"), accepted=("uncut@outline",)))
    assert "(Written with the option: scorer=0.8)" in found
    assert "(Written with the option: only plane)" in found
    assert "(Accepted despite a stop: uncut of outline)" in found


TOP = {"zero": {"x": "nut", "y": "centreline", "z": "stock top"}}


@pytest.mark.parametrize(
    ("setup", "planed", "wanted"),
    [
        ({}, False, TouchOff("bed", 0.0)),
        ({}, True, TouchOff("bed", 0.0)),
        (TOP, False, TouchOff("stock top", 0.0)),
        (TOP, True, TouchOff("planed face", -2.0)),  # planed from 8 to 6
    ],
)
def test_a_bit_is_set_on_a_surface_that_still_stands(setup: dict[str, Any], planed: bool, wanted: TouchOff) -> None:
    assert wanted == touch_off(context(Plane(bit="planer", leave=6), setup=setup), planed)


def test_minutes_are_the_moves_and_the_spin_up() -> None:
    found = program(section(Rapid(0, 0, Z), Feed(0, 0, 8, 300)), section(Feed(300, 0, 8, 600), feature="pin_bores"))
    # 300 mm at 10 mm/s are half a minute and a little for starting and stopping; 5 mm at 5 mm/s a second.
    assert 0.5 == pytest.approx(found.feature_minutes["pin_bores"], abs=0.02)
    assert 1 / 60 == pytest.approx(found.feature_minutes["outline"], abs=0.002)
    # Aside to the parking place from (300, 0) to (0, 120): y does 120 of the 323 mm, x decides.
    parking = 300 / (5000 / 60) + (5000 / 60) / 200
    assert sum(found.feature_minutes.values()) + (5 + parking) / 60 == pytest.approx(found.minutes)


def test_the_moves_read_back_are_the_moves_that_were_meant() -> None:
    toolpath = path(section(*DOWN, *UP))
    s = context(Plane(bit="planer", leave=6), setup=TOP | {"nut_at": 20.0})
    moves = flattened(read(write(toolpath, s, HEADING).text), s.zero)
    meant = [(step.x, step.y, step.z) for step in (*DOWN, *UP)]
    assert meant[1:] == [pytest.approx(tuple(end)) for end in moves.end[: len(meant) - 1].tolist()]


def test_a_line_too_long_for_the_machine_gives_its_feed_on_a_line_before() -> None:
    # NISTIR 6556: F alone on a line sets the feed.
    narrow = BENCH.model_copy(update={"line_length": 40})
    steps = (
        Rapid(-116.163, -10.001, Z),
        Feed(-116.163, -10.001, 7.123, 200),
        Arc(-115.837, -10.001, 5.041, -116, -10.001, True, 980),
    )
    found = code(section(*steps), machine=narrow)
    i = found.index("F980")
    assert "G3 X-115.837 Y-10.001 Z5.041 I0.163 J0" == found[i + 1]
    assert 40 >= max(map(len, found))
    wide = code(section(*steps))
    assert "G3 X-115.837 Y-10.001 Z5.041 I0.163 J0 F980" in wide


def test_an_arc_too_long_for_any_line_leaves_as_chords() -> None:
    narrow = BENCH.model_copy(update={"line_length": 40})
    far = (Rapid(-150.123, -110.123, Z), Arc(-109.802, -150.444, 12.345, -109.802, -110.123, True, 980))
    found = code(section(*far), machine=narrow)
    assert not any(line.startswith("G3") for line in found)
    assert 40 >= max(map(len, found))
    assert any(line.startswith("G3") for line in code(section(*far)))


def test_a_program_of_several_bits_warns_of_their_lengths() -> None:
    automatic = BENCH.model_copy(update={"tool_change": "automatic"})
    several = program(section(*DOWN), section(*DOWN, bit="scorer", feature="score_lines"), machine=automatic).text
    assert "(Caution: this program changes bits by itself." in several
    assert "changes bits by itself" not in program().text


def test_there_are_six_cautions_at_most_and_the_manual_comes_before_them_all() -> None:
    automatic = BENCH.model_copy(update={"tool_change": "automatic", "line_length": 256})
    plain = context(Plane(bit="planer", leave=6), machine=automatic)
    worst = replace(plain, wood=replace(plain.wood, sensitises=True))
    toolpath = path(section(*DOWN), section(*DOWN, bit="scorer", feature="score_lines"))
    said = write(toolpath, worst, HEADING).text.splitlines()
    first = next(i for i, line in enumerate(said) if line.startswith("(Caution: "))
    last = said.index("(The machine's manual, the shop's rules and local law come before this program.)")
    assert 6 == last - first + 1
    assert all(line.startswith("(Caution: ") for line in said[first:last])


# Which limit decided


def test_each_feature_says_once_which_limit_decided_feed_and_pass_depth() -> None:
    decided = replace(
        CUTTING, reasons={"feed": "chip load of a 6.35 mm bit in hard maple", "pass_depth": "the job file"}
    )
    sections = (section(*DOWN, *UP), section(*DOWN, *UP), section(*DOWN, *UP, feature="nut_slot"))
    operations = [Clear(n, 30, "quarter", decided, "", 8.0, 6.0, ()) for n in ("outline", "nut_slot")]
    toolpath = Toolpath(ProgramPlan("face", tuple(operations)), sections)
    said = [
        line
        for line in write(toolpath, context(Plane(bit="planer", leave=6)), HEADING).text.splitlines()
        if "reason" in line
    ]
    assert [
        "(outline: feed 1000 mm/min, reason: chip load of a 6.35 mm bit in hard maple)",
        "(outline: pass depth 2.00 mm, reason: the job file)",
        "(nut_slot: feed 1000 mm/min, reason: chip load of a 6.35 mm bit in hard maple)",
        "(nut_slot: pass depth 2.00 mm, reason: the job file)",
    ] == said


def test_a_fragile_bit_is_told_with_no_more_digits_than_an_estimate_has() -> None:
    def told(safety: float) -> list[str]:
        fine = replace(CUTTING, safety=safety)
        plan = ProgramPlan("face", (Clear("nut_slot", 30, "quarter", fine, "", 8.0, 6.0, ()),))
        toolpath = Toolpath(plan, (section(*DOWN, *UP, feature="nut_slot"),))
        text = write(toolpath, context(Plane(bit="planer", leave=6)), HEADING).text
        return [line for line in text.replace(")\n(+ ", " ").splitlines() if "would break" in line]

    words = "(nut_slot: the bit would break at about {} times the expected load, an estimate)"
    assert [words.format("1.4")] == told(1.4)
    assert [words.format("7")] == told(7.2)
    assert [] == told(38.0)


@pytest.mark.parametrize(
    "name", ["neckpath 1, job ab", "Feature x: y", "Bit 7: other, flat", "Lifted: 9.000 mm", "x" * 60]
)
def test_no_wood_can_make_the_limits_say_what_the_reader_takes_for_its_own(name: str) -> None:
    own = replace(CUTTING, reasons={"feed": f"chip load of a 6.35 mm bit in {name}", "pass_depth": f"half in {name}"})
    toolpath = Toolpath(
        ProgramPlan("face", (Clear("nut_slot", 30, "quarter", own, "", 8.0, 6.0, ()),)),
        (section(*DOWN, *UP, feature="nut_slot"),),
    )
    said = write(toolpath, context(Plane(bit="planer", leave=6)), HEADING).text
    assert all(len(line) <= BENCH.line_length for line in said.splitlines())
    plain = "\n".join(line for line in said.splitlines() if "reason: " not in line and not line.startswith("(+ "))
    assert replace(read(plain).header) == read(said).header
    assert (("nut_slot", "level 1 of 1"),) == read(said).sections


def test_a_wood_whose_dust_can_sensitise_says_so_in_the_header() -> None:
    plain = context(Plane(bit="planer", leave=6))
    rosewood = replace(plain, wood=replace(plain.wood, name="indian rosewood", sensitises=True))
    found = write(path(section(*DOWN, *UP)), rosewood, HEADING).text
    caution = "and lungs. The dust of indian rosewood can cause allergies of skin and airways."
    assert caution in found.replace(")\n(+ ", " ")
    assert "allerg" not in write(path(section(*DOWN, *UP)), plain, HEADING).text
