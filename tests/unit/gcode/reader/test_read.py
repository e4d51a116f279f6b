"""The reader takes exactly the documented subset of RS-274/NGC, and refuses the rest with its line.

Rules: NISTIR 6556 (Kramer, Proctor, Messina, 2000), unless a line says "our rule".
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, FEED, RAPID, Trace

READY = "G21 G17 G90 G94 G54\nS18000 M3\nG0 X0 Y0 Z5\nF600\n"
"""Four lines after which the machine may cut."""


def after(*lines: str) -> Trace:
    return read(READY + "\n".join(lines) + "\n")


def words(trace: Trace) -> list[str]:
    return [e.word for e in trace.events]


# Moves


def test_every_move_knows_its_line_its_kind_and_both_its_ends() -> None:
    trace = after("G1 Z-1", "X10 Y2 F300", "", "G0 Z5", "M5", "M30")
    assert [RAPID, FEED, FEED, RAPID] == trace.kind.tolist()
    assert [3, 5, 6, 8] == trace.line.tolist()
    assert [[0, 0, 5], [0, 0, -1], [10, 2, -1], [10, 2, 5]] == trace.end.tolist()
    assert [[0, 0, 5], [0, 0, -1], [10, 2, -1]] == trace.start[1:].tolist()
    assert [0, 600, 300, 0] == trace.feed.tolist()
    assert [17, 17, 17, 17] == trace.plane.tolist()
    assert np.isnan(trace.centre).all()
    assert 10 == trace.lines
    assert trace.ended
    assert 4 == len(trace)


def test_a_place_is_unknown_until_every_axis_has_been_commanded() -> None:
    trace = read("G21\nG0 Z5\nX1\nY2\n")
    assert np.isnan(trace.start[0]).all()
    assert [True, True, False] == np.isnan(trace.end[0]).tolist()
    assert [False, True, False] == np.isnan(trace.end[1]).tolist()
    assert [1, 2, 5] == trace.end[2].tolist()


def test_a_motion_word_holds_until_another_takes_its_place() -> None:
    trace = after("G1 X1", "Y1", "G2 X3 Y1 I1", "X5 I1", "G0 Z9", "X0")
    assert [RAPID, FEED, FEED, ARC_CW, ARC_CW, RAPID, RAPID] == trace.kind.tolist()


def test_increments_add_up_in_g91_and_end_with_g90() -> None:
    trace = after("G91 G1 X1 Z-2", "X1 Y3", "G90 X7")
    assert [[1, 0, 3], [2, 3, 3], [7, 3, 3]] == trace.end[1:].tolist()


def test_inches_become_millimetres_feed_too() -> None:
    trace = read("G20 G90 G54\nG0 X1 Y0.5 Z0.1\nG1 Z-.05 F10\nG2 X2 Y0.5 I0.5 J0\n")
    assert [25.4, 12.7, 2.54] == pytest.approx(trace.end[0].tolist(), abs=1e-12)
    assert [0, 254, 254] == pytest.approx(trace.feed.tolist())
    assert [38.1, 12.7, -1.27] == pytest.approx(trace.centre[2].tolist(), abs=1e-12)


def test_a_place_survives_a_change_of_units_but_a_feed_does_not() -> None:
    # Our rule: what F means after the change differs between controllers.
    trace = after("G20", "G1 X1 F20")
    assert [25.4, 0, 5] == trace.end[-1].tolist()
    assert 508 == pytest.approx(trace.feed[-1])
    refused("G20\nG1 X1", 6, "the cut has no feed; G20 has been on since line 5")


def test_a_feed_is_forgotten_when_g94_is_said_anew() -> None:
    # Our rule: some controllers set the feed to 0 there.
    refused("G94\nG1 X1", 6, "the cut has no feed")
    assert 50 == after("G94 F50", "G1 X1").feed[-1]


def test_f_before_any_units_counts_in_millimetres_and_not_at_all_once_inches_are_named() -> None:
    assert 100 == read("F100\nG21\nG0 X0 Y0 Z0\nG1 X1\n").feed[-1]
    with pytest.raises(ReadError, match="line 4: the cut has no feed"):
        read("F100\nG20\nG0 X0 Y0 Z0\nG1 X1\n")


def test_a_place_commanded_before_inches_are_named_is_unknown() -> None:
    with pytest.raises(ReadError, match="the cut begins before a rapid has set Z"):
        read("G0 Z5\nG20\nG0 X0 Y0\nF10\nG1 Z0\n")


# Arcs


@pytest.mark.parametrize(
    ("plane", "line", "end", "centre"),
    [
        (17, "X2 Y0 I1 J0", [2, 0, 5], [1, 0, 5]),
        (17, "X2 Y0 Z4 I1", [2, 0, 4], [1, 0, 5]),
        (18, "X2 Z5 I1 K0", [2, 0, 5], [1, 0, 5]),
        (18, "Z7 Y3 K1", [0, 3, 7], [0, 0, 6]),
        (19, "Y2 Z5 J1 K0", [0, 2, 5], [0, 1, 5]),
        (19, "Z7 X3 K1", [3, 0, 7], [0, 0, 6]),
    ],
)
@pytest.mark.parametrize(("code", "kind"), [(2, ARC_CW), (3, ARC_CCW)])
def test_arcs_lie_in_the_plane_in_force_about_a_centre_counted_from_the_start(
    plane: int, line: str, end: list[float], centre: list[float], code: int, kind: int
) -> None:
    trace = after(f"G{plane}", f"G{code} {line}")
    assert kind == trace.kind[-1]
    assert plane == trace.plane[-1]
    assert end == trace.end[-1].tolist()
    assert centre == trace.centre[-1].tolist()
    assert 600 == trace.feed[-1]


def test_a_centre_counts_from_the_start_in_g91_as_well() -> None:
    trace = after("G1 X10 Y10", "G91 G3 X2 Y0 I1 J0")
    assert [12, 10, 5] == trace.end[-1].tolist()
    assert [11, 10, 5] == trace.centre[-1].tolist()


def test_an_arc_that_ends_where_it_starts_is_a_full_turn_also_after_summed_increments() -> None:
    # 0.1 + 0.2 is not 0.3 in binary: without care this full circle would be an arc of no length.
    trace = after("G91 G1 X0.1", "X0.2", "G90 G3 X0.3 Y0 I5 J0")
    assert trace.start[-1].tolist() == trace.end[-1].tolist()


def test_radii_at_start_and_end_may_differ_by_two_microns_and_no_more() -> None:
    assert 2.002 == after("G2 X2.002 Y0 I1 J0").end[-1][0]
    refused(
        "G2 X2.0021 Y0 I1 J0",
        5,
        "the arc has radii of 1.0000 and 1.0021 mm; they may differ by 0.002 mm",
    )


def test_radii_in_inches_may_differ_by_two_tenths_of_a_thousandth() -> None:
    inches = "G20 G90\nG0 X0 Y0 Z0\nF10\nG2 Y0 I1 J0 X"
    assert 2.0002 * 25.4 == pytest.approx(read(inches + "2.0002").end[-1][0])
    with pytest.raises(ReadError) as caught:
        read(inches + "2.0003")
    assert (
        "line 4: the arc has radii of 1.0000 and 1.0003 in; they may differ by 0.0002 in"
        "; G20 has been on since line 1" == str(caught.value)
    )


# The words beside the moves


def test_speed_counts_only_while_the_spindle_turns() -> None:
    trace = read("S9000\nG21 G0 X0 Y0 Z0\nM3\nX1\nS12000\nX2\nM5\nX3\n")
    assert [0, 9000, 12000, 0] == trace.rpm.tolist()
    assert [("S", 9000), ("G21", 0), ("M3", 9000), ("S", 12000), ("M5", 0)] == [(e.word, e.value) for e in trace.events]


def test_a_cut_with_the_spindle_off_is_read_and_left_to_the_checks() -> None:
    assert 0 == read("G21 G0 X0 Y0 Z0\nF100\nG1 X1\n").rpm[-1]


def test_a_bit_change_stops_the_spindle() -> None:
    # NISTIR 6556, the bit change; from memory, and an independent interpreter does the same.
    assert [18000, 0] == after("T2", "M6", "G0 X1").rpm.tolist()


def test_a_dwell_is_in_seconds() -> None:
    event = after("G4 P1.5").events[-1]
    assert ("G4", 5, 1, 1.5) == (event.word, event.line, event.before, event.value)


def test_events_stand_between_the_moves_in_the_order_of_the_standard() -> None:
    # Table 8: feed mode, speed, bit, change, spindle, coolant, plane, units, offset, distance, motion, stop.
    trace = read("M0 X1 Y1 G0 Z1 G90 G54 G21 G17 M8 M3 M6 T1 S100 G94\nG80\n")
    expected = ["G94", "S", "T", "M6", "M3", "M8", "G17", "G21", "G54", "G90", "M0", "G80"]
    assert expected == words(trace)
    assert [0] * 10 + [1, 1] == [e.before for e in trace.events]
    assert [100] == trace.rpm.tolist()


def test_f_counts_in_the_line_that_gives_it() -> None:
    assert 50 == after("G1 X1 F50").feed[-1]


def test_offsets_are_named_in_the_order_they_come_into_force() -> None:
    trace = read("G21 G54\nG0 X0 Y0 Z0\nG59.3\nG0 X1 Y1 Z1\nG54\nX0\n")
    assert ("G54", "G59.3") == trace.offsets
    assert [0, 1, 0] == trace.offset.tolist()


def test_a_place_is_unknown_after_a_change_of_offset() -> None:
    refused("G55\nG0 X1\nG1 X2", 7, "the cut begins before a rapid has set Y and Z; go to its start by a rapid")
    assert 2 == after("G54", "G1 X2").end[-1][0]


def test_a_program_that_names_no_offset_says_so() -> None:
    assert ("",) == read("G21\nG0 X1\n").offsets


def test_the_end_has_to_be_reached() -> None:
    assert not after("G1 X1").ended
    assert not after("M0", "M1").ended
    assert after("M2").ended
    assert after("M30").ended
    assert after("M30", "", "  \t").ended


def test_a_pair_of_percent_lines_may_hold_the_program() -> None:
    assert read("\n%\nG21 G0 X1\nM2\n % \n\n").ended
    assert not read("%\nG21 G0 X1\n%\n").ended


def test_nothing_read_is_an_empty_trace() -> None:
    trace = read("")
    assert (0, 0, False) == (len(trace), trace.lines, trace.ended)
    assert (0, 3) == trace.end.shape


def test_arrays_cannot_be_changed() -> None:
    trace = after("G1 X1")
    with pytest.raises(ValueError, match="read-only"):
        trace.end[0, 0] = 1
    with pytest.raises(ValueError, match="read-only"):
        trace.bit[0] = 1


# How lines may be written


def test_blanks_and_case_count_for_nothing() -> None:
    # NISTIR 6556: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7".
    assert [0.1234, 7] == read("G21\ng0x +0. 12 34y 7\n").end[0][:2].tolist()


@pytest.mark.parametrize("text", ["5", "+5", "5.", "5.0", "005", "+5.000"])
def test_a_number_has_a_sign_and_a_point_if_it_likes(text: str) -> None:
    assert 5 == after(f"G01 X{text}").end[-1][0]


def test_codes_are_numbers() -> None:
    assert ["G54", "G59.1", "M8"] == words(read("G054.0\nG59.10\nM08\n"))


def test_lines_may_end_as_on_other_systems_and_bear_numbers() -> None:
    trace = read("N10 G21\r\nn0 G0 X1\r\nN99999\r\n")
    assert [1] == trace.end[:, 0].tolist()
    assert 3 == trace.lines


def test_a_line_of_256_characters_is_read_and_one_more_is_not() -> None:
    assert 1 == len(read("G21 G0 X1" + " " * 247))
    with pytest.raises(ReadError) as caught:
        read("G21 G0 X1" + " " * 248)
    assert "line 1: the line has 257 characters; a line may have 256" == str(caught.value)


def test_comments_stand_between_words_and_are_never_commands() -> None:
    trace = after("(G0 Z-50) G1 (F9999 M5) X1 (; # [ % / A1)")
    assert [1, 0, 5] == trace.end[-1].tolist()
    assert 600 == trace.feed[-1]


# What is refused


def refused(text: str, line: int, problem: str) -> None:
    with pytest.raises(ReadError) as caught:
        read(READY + text + "\n")
    assert f"line {line}: {problem}" == str(caught.value)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("G53 G0 Z0", "G53 is not allowed: it moves in the machine's own coordinates"),
        ("G28", "G28 is not allowed: it moves to a place stored in the machine"),
        ("G30 X1", "G30 is not allowed: it moves to a place stored in the machine"),
        ("G92 X0", "G92 is not allowed: it moves the program's zero"),
        ("G92.2", "G92.2 is not allowed: it moves the program's zero"),
        ("G10 L2 P1 X0", "G10 is not allowed: it changes the machine's own tables"),
        ("G38.2 Z-5", "G38.2 is not allowed: it moves until a probe touches"),
        ("G41", "G41 is not allowed: the path would depend on a bit's radius stored in the machine"),
        ("G43", "G43 is not allowed: the depth would depend on a length stored in the machine"),
        ("G61", "G61 is not allowed: it changes how the machine follows the path"),
        ("G64", "G64 is not allowed: it lets the machine round off corners"),
        ("G81 Z-5", "G81 is not allowed: it is a drilling cycle; write its moves one by one"),
        ("G93", "G93 is not allowed: it gives the feed as a time, not as a speed"),
        ("G98", "G98 is not allowed: it belongs to drilling cycles"),
        ("G5", "G5 is not allowed"),
        ("G1.5 X1", "G1.5 is not allowed"),
        ("G-1 X1", "G-1 is not allowed"),
        ("M4", "M4 is not allowed: router bits turn clockwise only"),
        ("M48", "M48 is not allowed: it changes whether the operator can set feed and speed"),
        ("M60", "M60 is not allowed: it changes pallets"),
        ("M98", "M98 is not allowed"),
        ("G0 A5", "A is not allowed: it is a rotary axis"),
        ("G0 U5", "U is not allowed: it is a second straight axis"),
        ("H1", "H is not allowed: it is the number of a length offset"),
        ("D1", "D is not allowed: it is a bit's radius for compensation"),
        ("L3", "L is not allowed: it is a count of repeats"),
        ("Q1", "Q is not allowed: it is the step of a drilling cycle"),
        ("O100 sub", "O is not allowed: it is a subprogram"),
        ("G1 X1e3", "E is not allowed: it has no meaning here"),
        (
            "G2 X5 R10",
            "R is not allowed: it gives an arc by its radius; give its centre with I, J, K",
        ),
        ("#1=5", "# is not allowed: it is a parameter"),
        ("G1 X#1", "# is not allowed: it is a parameter"),
        ("G1 X[1+2]", "[ is not allowed: it is an expression"),
        (
            "/G1 X1",
            "/ is not allowed: a switch at the machine could skip the line",
        ),
        (
            "G1 X1 ; over",
            "; is not allowed: not every controller takes it for a comment; write the comment in ( )",
        ),
        ("G1 X1 %", "% is not allowed: it must be alone on its line"),
        ("G1 X", "X has no number"),
        ("G1 X-", "X has no number"),
        ("G1 X.", "X has no number"),
        ("GO X1", "G has no number"),
        ("G1 X1.2.3", "'.3' is not a letter and a number"),
        ("G1 X1 (between) 2", "'2' is not a letter and a number"),
        ("12", "'12' is not a letter and a number"),
        ("G1 X1 X2", "X is given twice on the line"),
        ("F1 F2", "F is given twice on the line"),
        ("G0 G1 X1", "G0 and G1 are on one line, which may have one word for the motion"),
        ("G54 G59.1", "G54 and G59.1 are on one line, which may have one word for the offset"),
        ("G20 G21", "G20 and G21 are on one line, which may have one word for the units"),
        ("M3 M5", "M3 and M5 are on one line, which may have one word for the spindle"),
        ("N100000 G1 X1", "a line number must be N and one to five digits, first on its line"),
        ("N-1 G1 X1", "a line number must be N and one to five digits, first on its line"),
        ("N1.5 G1 X1", "a line number must be N and one to five digits, first on its line"),
        ("G1 N1 X1", "a line number must be N and one to five digits, first on its line"),
        ("N1 N2", "N is given twice on the line"),
        ("(open", "the comment is not closed on its line"),
        ("(one (two) three)", "there is a comment inside a comment"),
        ("G1 X1 )", "there is a ) without its ("),
        ("(caf\u00e9)", "the line has a character that is not plain ASCII: '\\xe9'"),
        ("(a\rG0 Z-9)", "the line has a character that is not plain ASCII: '\\r'"),
        ("(a\x0bG0 Z-9)", "the line has a character that is not plain ASCII: '\\x0b'"),
        ("(a\u2028G0 Z-9)", "the line has a character that is not plain ASCII: '\\u2028'"),
        ("%", "there is a %, but none on the first line"),
        ("G1", "G1 has no X, Y or Z"),
        ("G1 F0 X1", "the cut has a feed of 0"),
        ("F-1", "F is less than 0"),
        ("S-1", "S is less than 0"),
        ("S1000001", "S is more than 1000000"),
        ("G4", "G4 has no P, which gives its time"),
        ("G4 P-1", "P is less than 0"),
        ("P1", "P is given without G4"),
        ("T1.5", "T1.5 is no number of a bit; it must be whole, from 0 to 99999"),
        ("T-1", "T-1 is no number of a bit; it must be whole, from 0 to 99999"),
        ("T100000", "T100000 is no number of a bit; it must be whole, from 0 to 99999"),
        ("M6", "M6 comes before any T, which chooses a bit"),
        ("G21 F100", "F is on the line of G20 or G21, so its units are not clear; give each its own line"),
        ("G1 X1 I1", "I is given without an arc"),
        ("G0 X1 J1", "J is given without an arc"),
        ("K1", "K is given without an arc"),
        ("G2 I1", "G2 has no X, Y or Z"),
        ("G2 Z1 I1", "the arc in G17 has no X or Y"),
        ("G18 G2 Y1 I1", "the arc in G18 has no X or Z"),
        ("G19 G3 X1 J1", "the arc in G19 has no Y or Z"),
        ("G2 X1", "the arc in G17 has no I or J"),
        ("G18 G2 X1", "the arc in G18 has no I or K"),
        ("G2 X1 I1 K1", "K does not belong to an arc in G17"),
        ("G18 G2 X1 I1 J1", "J does not belong to an arc in G18"),
        ("G19 G2 Y1 J1 I0", "I does not belong to an arc in G19"),
        ("G2 X1 I0 J0", "the centre of the arc is its start"),
        ("G1 X1000001", "X reaches 1e+06 mm, more than any machine has"),
        ("G1 Y" + "9" * 200, "Y reaches 1e+200 mm, more than any machine has"),
        ("G2 X1 J-2000000", "J reaches -2e+06 mm, more than any machine has"),
    ],
)
def test_refused_with_its_line_and_its_reason(text: str, problem: str) -> None:
    refused(text, 5, problem)


@pytest.mark.parametrize(
    "comment",
    [
        "MSG, look", " msg,look", "\tM s G , look", "MSG look", "DEBUG,x", "print, x", "LOG,x", "LOGOPEN,/some/file",
        "logclose", "PROBEOPEN file", "PROBECLOSE", "PYRELOAD", "PYRUN,x", "ABORT, stop", "AXIS,hide", "anything , x",
        "word1_2,x",
    ],
)  # fmt: skip
def test_a_comment_that_some_controllers_carry_out_is_refused(comment: str) -> None:
    begin = comment.split()[0]
    for line in (f"({comment})", f"G0 X1 ({comment}) Y2", f"(harmless) ({comment})"):
        refused(line, 5, f"the comment begins with {begin!r}, which some controllers obey; write it in other words")
    with pytest.raises(ReadError) as caught:
        read(READY, f"3: {comment.strip()}")
    assert 3 == caught.value.line


@pytest.mark.parametrize(
    "comment", ["a message, look", "Program 1 of 2, x", "+ MSG, x", "Message: x", "prints, x y", "a b"]
)
def test_a_comment_that_only_looks_like_it_is_not(comment: str) -> None:
    assert 1 == len(after(f"(a)\n({comment.replace('prints,', 'prints')})\nG0 X1")) - len(after(""))


@pytest.mark.parametrize("sign", "!?~")
def test_a_sign_that_some_controllers_act_on_anywhere_is_refused(sign: str) -> None:
    refused(f"G0 X1 (go{sign})", 5, f"the comment has a {sign}, which some controllers obey; leave it out")


def test_a_sentence_over_several_lines_is_one_remark_of_its_first_line() -> None:
    header = read("(Bit 2: a name of two)\n(+ lines, flat 0.6 mm)\n(+ and more)\nG21\n" + MOVE).header
    assert ((2, "a name of two lines"),) == header.bits
    for between in ("", "G21\n", "G21 "):
        # What stands apart is no part of it.
        assert ((2, "a name of two"),) == read(f"(Bit 2: a name of two)\n{between}(x) (+ lines)\n{MOVE}").header.bits
    with pytest.raises(ReadError) as caught:
        read("G21\n(Bit 2: a)\n(+ b)\n(Bit 2: a)\n(+ c)\n")
    assert "line 4: this comment does not agree with the one on line 2" == str(caught.value)


def test_motion_is_over_after_g80() -> None:
    refused("G1 X1\nG80\nX2", 7, "X, Y or Z comes before any of G0, G1, G2, G3")
    refused("G80 X2", 5, "X, Y or Z comes before any of G0, G1, G2, G3")


def test_five_m_words_are_too_many() -> None:
    # Only four groups of M words are read, so five always share one; the group is named first.
    refused("M3 M6 M8 M0 M9", 5, "M8 and M9 are on one line, which may have one word for the coolant")


def test_nothing_may_follow_the_end() -> None:
    refused("M2\nG0 Z5", 6, "there is text after M2 or M30, which ends the program; remove it")
    refused("M30\n(a comment)", 6, "there is text after M2 or M30, which ends the program; remove it")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("%\nG21\n", "line 3: the program begins with % and does not end with %"),
        ("%\nG21\n%\nG0 X1\n", "line 4: there is text after the last %; remove it"),
        ("%\n%\n%\n", "line 3: there is text after the last %; remove it"),
        ("G21\nX1\n", "line 2: X, Y or Z comes before any of G0, G1, G2, G3"),
        ("G21 G0 X0 Y0 Z0\nG1 X1\n", "line 2: the cut has no feed"),
        (
            "G21 F9\nG1 X1\n",
            "line 1: F is on the line of G20 or G21, so its units are not clear; give each its own line",
        ),
        (
            "G21\nF9\nG1 X1 Y1 Z1\n",
            "line 3: the cut begins before a rapid has set X and Y and Z; go to its start by a rapid",
        ),
        (
            "G21\nF9\nG0 X1 Z1\nG2 X3 I1\n",
            "line 4: the cut begins before a rapid has set Y; go to its start by a rapid",
        ),
        ("G21\nG91 G0 X1\n", "line 2: X is a step in G91, but its start is not set; set it in G90 first"),
        ("\ufeffG21\n", "line 1: the line has a character that is not plain ASCII: '\\ufeff'"),
        ("G21\x00\n", "line 1: the line has a character that is not plain ASCII: '\\x00'"),
    ],
)
def test_refused_from_the_first_line(text: str, problem: str) -> None:
    with pytest.raises(ReadError) as caught:
        read(text)
    assert problem == str(caught.value)


def test_a_text_above_64_mib_is_not_read() -> None:
    with pytest.raises(ReadError) as caught:
        read(" " * (64 * 1024 * 1024 + 1))
    assert "line 1: the program is larger than 64 MiB" == str(caught.value)


# What a program says of itself


HEADER = """(neckpath 0.1.0, job 3f2a9c1b7d20)
(Program 2 of 4, setup face)
(Bit 2: scorer, flat 0.60 mm)
( Touch off: planed face, Z 6.000 mm)
(Lifted: 20.000 mm)
"""
MOVE = "G21 G0 X0 Y0 Z5\n"


def test_the_header_says_whose_program_it_is() -> None:
    header = read(HEADER + MOVE).header
    assert "3f2a9c1b7d20" == header.job_hash
    assert (2, 4, "face") == (header.number, header.count, header.setup)
    assert ((2, "scorer"),) == header.bits
    assert ("planed face", 6) == (header.touch_surface, header.touch_z)
    assert 20 == header.lifted


def test_lengths_in_the_header_may_be_inches() -> None:
    header = read("(Touch off: planed face, left of the nut, Z -0.2362 in)\n(Lifted: 0.7874 in)\n").header
    assert "planed face, left of the nut" == header.touch_surface
    assert -0.2362 * 25.4 == header.touch_z
    assert 0.7874 * 25.4 == header.lifted


@pytest.mark.parametrize(
    "comment",
    [
        "(Touch off: planed face, Z 6.000 m)",
        "(Touch off: planed face, Z 6.0)",
        "(Touch off: planed face)",
        "(touch off: planed face, Z 6.000 mm)",
        "(Lifted: 20.000)",
        "(Lifted: 20.000 mm or so)",
        "(Program 2 of , setup face)",
        "(neckpath job 3f2a9c1b7d20)",
        "(A bit 2: scorer)",
        "(  Lifted: 20.000 mm)",
        "(\tLifted: 20.000 mm)",
    ],
)
def test_a_comment_that_was_cut_or_reads_otherwise_says_nothing(comment: str) -> None:
    header = read(comment + "\n" + MOVE).header
    assert (None, None, None, (), None, None, 0.0) == (
        header.job_hash,
        header.number,
        header.setup,
        header.bits,
        header.touch_surface,
        header.touch_z,
        header.lifted,
    )


def test_a_bit_comment_cut_after_its_name_still_names_it() -> None:
    assert ((2, "scorer"),) == read("(Bit 2: scorer, fl)\n" + MOVE).header.bits
    assert ((2, "scorer"),) == read("(Bit 2: scorer)\n" + MOVE).header.bits


def test_a_header_ends_with_the_first_move() -> None:
    header = read(MOVE + HEADER).header
    assert (None, None, (), None, 0.0) == (header.job_hash, header.number, header.bits, header.touch_z, header.lifted)


@pytest.mark.parametrize(
    "second",
    [
        "(neckpath 0.1.0, job 000000000000)",
        "(Program 3 of 4, setup face)",
        "(Bit 2: quarter, flat 6.35 mm)",
        "(Touch off: planed face, Z 6.001 mm)",
        "(Lifted: 0.000 mm)",
    ],
)
def test_a_program_that_says_two_things_is_not_trusted(second: str) -> None:
    first = next(n for n, line in enumerate(HEADER.splitlines(), 1) if line.strip("( ")[:3] == second.strip("( ")[:3])
    with pytest.raises(ReadError) as caught:
        read(HEADER + second + "\n" + MOVE)
    assert f"line 6: this comment does not agree with the one on line {first}" == str(caught.value)


def test_saying_the_same_twice_is_no_contradiction() -> None:
    assert ((2, "scorer"),) == read(HEADER + HEADER + MOVE).header.bits


def test_a_bit_may_not_change_its_name_later() -> None:
    with pytest.raises(ReadError) as caught:
        read("(Bit 2: scorer)\n" + MOVE + "(Bit 2: quarter)\n")
    assert "line 3: this comment does not agree with the one on line 1" == str(caught.value)


def test_several_bits_may_be_announced() -> None:
    assert ((1, "planer"), (2, "scorer")) == read("(Bit 1: planer)\n(Bit 2: scorer)\n" + MOVE).header.bits


# Which bit is in force


@pytest.mark.parametrize(
    ("text", "bits"),
    [
        ("X1", [0]),
        ("T3\nX1\nT4\nX2", [3, 4]),
        ("T3 M6\nX1\nT4\nX2\nM6\nX3", [3, 3, 4]),
        ("T3\nX1\nM6\nX2", [0, 3]),
        ("(Bit 2: scorer)\nX1", [2]),
        ("(Bit 2: scorer)\nT3\nX1", [3]),
        ("T3\n(Bit 2: scorer)\nX1\n(Bit 4: eighth)\nX2", [2, 4]),
        ("(Bit 2: scorer)\nX1\nT3 M6\nX2", [2, 3]),
    ],
)
def test_the_latest_word_or_comment_names_the_bit(text: str, bits: list[int]) -> None:
    # Our rule: a T counts at once where no M6 stands in the text, else at the M6.
    lines = text.replace("X", "G0 X")
    assert bits == read("G21\n" + lines + "\n").bit.tolist()


# Sections


def test_sections_name_the_moves_that_follow() -> None:
    trace = read(
        MOVE
        + "(Feature score_lines 2: fret 1, pass 2 of 4: half)\nX1\nX2\n(Feature outline: pass 1)\n"
        + "( Feature outline: pass 2)X3\n"
    )
    assert (
        ("score_lines 2", "fret 1, pass 2 of 4: half"),
        ("outline", "pass 1"),
        ("outline", "pass 2"),
    ) == trace.sections
    assert [-1, 0, 0, 2] == trace.section.tolist()


# The page that describes all this


DOC = (Path(__file__).parents[4] / "docs" / "programs.md").read_text()


def test_the_program_shown_on_the_page_is_read_without_complaint() -> None:
    trace = read(DOC.split("```")[1].lstrip("\n"))
    assert trace.ended
    assert ("score_lines", "fret 1, 4 levels, one way") == trace.sections[0]
    assert {2} == set(trace.bit[1:].tolist())
    assert ("planed face", 6) == (trace.header.touch_surface, trace.header.touch_z)


@pytest.mark.parametrize(
    "word", re.findall(r"[GM][0-9.]+", " ".join(re.findall(r"^\| ([GM0-9., to]+?)(?: P)? \|", DOC, re.MULTILINE)))
)
def test_every_word_of_the_page_is_read(word: str) -> None:
    extra = {"G4": " P1", "G0": " X1", "G1": " X1", "G2": " X2 I1", "G3": " X2 I1"}.get(word, "")
    read(READY + "T1\n" + word + extra + "\n")


@pytest.mark.parametrize(
    "word", re.findall(r"[GM][0-9.]*[0-9]", next(x for x in DOC.splitlines() if x.startswith("These are refused")))
)
def test_every_word_that_the_page_says_is_refused_is_refused(word: str) -> None:
    with pytest.raises(ReadError, match=f"line 5: {word} is not allowed"):
        read(READY + word + "\n")


@pytest.mark.parametrize("comment", re.findall(r"^\| `(\(.*\))` \|", DOC, re.MULTILINE))
def test_every_comment_of_the_page_is_understood(comment: str) -> None:
    plain, told = read(MOVE + "G0 X1\n"), read(comment + "\n" + MOVE + "G0 X1\n")
    assert (plain.header, plain.sections, plain.told) != (told.header, told.sections, told.told)
