"""The bit turns at its speed whenever it is near wood, and stands still when hands come near."""

from __future__ import annotations

import pytest

from tests.support.words_builder import END, HEADER, changed, good, inputs, machine, messages, scored
from toolpaths.verification.checks.program.spindle import check
from toolpaths.verification.finding import Severity


def test_a_program_that_starts_waits_and_stops_passes() -> None:
    assert [] == check(inputs())


def test_going_down_with_the_spindle_off_is_a_stop_at_that_line() -> None:
    text = changed(good(), "S18000 M3\n", "S18000\n")
    (found,) = check(inputs(text))
    assert Severity.stop == found.severity
    assert "spindle" == found.code
    assert text.split("\n").index("G1 Z6.5 F80") + 1 == found.program_line
    assert "the bit goes down with the spindle off. Put M3 with a speed, then G4 P4" in found.message


def test_m3_without_a_speed_does_not_turn() -> None:
    assert "with the spindle off" in messages(check(inputs(changed(good(), "S18000 M3", "M3"))))[0]


@pytest.mark.parametrize(
    ("dwell", "stops"), [("", True), ("G4 P3.9\n", True), ("G4 P4\n", False), ("G4 P4.5\n", False)]
)
def test_the_dwell_must_be_as_long_as_the_spindle_needs(dwell: str, stops: bool) -> None:
    found = check(inputs(changed(good(), "G4 P4\n", dwell)))
    assert stops == bool(found)
    if stops:
        assert "put G4 P4 after M3" == found[0].said.todo
        assert "least 4 s" == found[0].said.limit


def test_two_dwells_add_up() -> None:
    assert [] == check(inputs(changed(good(), "G4 P4\n", "G4 P2\nG4 P2\n")))


def test_a_dwell_before_m3_does_not_count() -> None:
    text = changed(good(), "S18000 M3\nG4 P4\n", "G4 P4\nS18000 M3\n")
    assert "at speed. Put G4 P4 after M3. 0 s after 18000 rpm" in messages(check(inputs(text)))[0]


def test_a_dwell_on_the_safe_height_may_come_after_the_rapid_over() -> None:
    text = changed(good(), "G4 P4\n", "G0 X5 Y-21.3\nG4 P4\n")
    assert [] == check(inputs(text))


def test_milliseconds_are_milliseconds() -> None:
    by_thousands = machine(dwell="milliseconds")
    (found,) = check(inputs(on=by_thousands))
    assert "0.004 s after 18000 rpm" == found.said.measured
    assert "put G4 P4000 after M3" == found.said.todo
    assert [] == check(inputs(changed(good(), "G4 P4\n", "G4 P4000\n"), on=by_thousands))


@pytest.mark.parametrize("set_by", ["program", "hand", "relay"])
@pytest.mark.parametrize(("dwell", "one"), [("seconds", 1.0), ("milliseconds", 1000.0)])
@pytest.mark.parametrize(("seconds", "stops"), [(4.0, False), (60.0, False), (60.1, True), (900.0, True), (1e6, True)])
def test_no_dwell_is_longer_than_a_minute(set_by: str, dwell: str, one: float, seconds: float, stops: bool) -> None:
    # 60 s is the longest spin_up that a machine file may give (docs/machine-file.md).
    if seconds * one > 1e6:
        return
    dial = {} if set_by == "program" else {"3": 18000}
    on = machine(dwell=dwell, spindle_set_by=set_by, spindle_dial=dial)
    begin, end = HEADER.replace("S18000 M3", "M0\nS18000 M3"), END.replace("M5", "M5\nM0")
    start = begin.replace("G4 P4\n", f"G4 P{4 * one:g}\n")
    dwell_text = f"G4 P{seconds * one:.15g}\n"
    for text in (begin.replace("G4 P4\n", dwell_text) + scored() + end, start + scored() + dwell_text + end):
        found = check(inputs(text, on=on))
        assert stops == bool(found), messages(found)
        if stops:
            assert f"is {seconds:g} s" in found[0].said.measured
            assert f"most 60 s, P{60 * one:g}" == found[0].said.limit
            assert f"G4 P{seconds * one:.15g}" == text.splitlines()[found[0].program_line - 1]


def test_a_rise_in_speed_wants_its_own_dwell() -> None:
    slow_first = changed(good(), "S18000 M3\nG4 P4\n", "S9000 M3\nG4 P4\nS18000\n")
    assert "at speed. Put G4 P4 after M3. 0 s after 18000 rpm" in messages(check(inputs(slow_first)))[0]
    assert [] == check(inputs(changed(slow_first, "S18000\n", "S18000\nG4 P4\n")))


def test_a_fall_in_speed_wants_none() -> None:
    assert [] == check(inputs(changed(good(), "S18000 M3\nG4 P4\n", "S18000 M3\nG4 P4\nS9000\n")))


def test_a_speed_that_the_machine_has_not_is_a_stop() -> None:
    for speed, stops in ((7999, True), (8000, False), (24000, False), (24001, True)):
        found = check(inputs(changed(good(), "S18000", f"S{speed}")))
        assert stops == bool(found)
        if stops:
            assert (
                f"cannot turn at this speed. Set a speed in its range. {speed} rpm; 8000 to 24000 rpm"
                in found[0].message
            )


def test_a_speed_above_the_bits_own_limit_is_a_stop() -> None:
    for speed, stops in ((16000, False), (16001, True)):
        text = changed(changed(good(), "T2", "T1"), "S18000", f"S{speed}")
        found = check(inputs(text))
        assert stops == bool(found)
        if stops:
            assert "the speed is too high for planer. Lower it. 16001 rpm; maker: most 16000 rpm" in found[0].message


def test_the_spindle_stops_before_the_end() -> None:
    (found,) = check(inputs(changed(good(), "M5\n", "")))
    assert "M30 ends the program with the spindle on. Put M5 before it" == found.message


def test_a_program_ends_with_m30_or_m2() -> None:
    (found,) = check(inputs(changed(good(), "M30\n", "")))
    assert "does not end with M30 or M2" in found.message
    assert [] == check(inputs(changed(good(), "M30", "M2")))


def test_the_spindle_stops_before_the_bit_is_changed() -> None:
    another = "T3\nS18000 M3\nG4 P4\n" + scored()
    (found,) = check(inputs(HEADER + scored() + another + END))
    assert "the bit is changed while the spindle is on. Put M5 before the change" == found.message
    assert [] == check(inputs(HEADER + scored() + "M5\n" + another + END))


def test_a_changer_that_is_told_to_change_while_turning_is_a_stop() -> None:
    header = changed(HEADER, "T2\n", "T2 M6\n")
    another = "T3 M6\nS18000 M3\nG4 P4\n" + scored()
    assert ["the bit is changed while the spindle is on. Put M5 before the change"] == messages(
        check(inputs(header + scored() + another + END))
    )
    # Choosing the next bit while the last one cuts is how a changer is told to get ready.
    assert [] == check(inputs(header + scored() + "T3\n" + scored() + "M5\n" + "M6\nS18000 M3\nG4 P4\n" + END))


def by_hand(text: str) -> str:
    """The program for a machine whose spindle is switched by hand."""
    text = changed(text, "S18000 M3\nG4 P4\n", "(Switch the spindle on by hand.)\nM0\nG4 P4\n")
    return changed(text, "M5\n", "M0\n")


HAND = machine(spindle_set_by="hand")


def test_by_hand_a_pause_stands_for_on_and_off() -> None:
    assert [] == check(inputs(by_hand(good()), on=HAND))


def test_by_hand_going_down_without_a_pause_is_a_stop() -> None:
    text = changed(by_hand(good()), "M0\nG4 P4\n", "")
    (found,) = check(inputs(text, on=HAND))
    assert Severity.stop == found.severity
    assert "there is no pause to switch the spindle on by hand. Put M0 before this line" in found.message
    assert text.split("\n").index("G1 Z6.5 F80") + 1 == found.program_line


def test_by_hand_words_for_the_spindle_are_no_pause() -> None:
    assert 2 == len(check(inputs(good(), on=HAND)))


def test_by_hand_the_end_without_a_pause_is_a_stop() -> None:
    text = changed(by_hand(good()), "G0 Z13\nM0\n", "G0 Z13\n")
    (found,) = check(inputs(text, on=HAND))
    assert "the program ends without a pause to switch the spindle off by hand" in found.message


def test_by_hand_a_change_of_bits_wants_a_pause() -> None:
    change = "(Bit 3: quarter, flat 6.350 mm)\nT3\n"
    first = by_hand(HEADER + scored() + END)
    without = changed(first, "G0 Z13\nM0\n", "G0 Z13\n" + change + scored() + "G0 Z13\nM0\n")
    assert ["the bit is changed without a pause to switch the spindle off. Put M0 before the change"] == messages(
        check(inputs(without, on=HAND))
    )
    assert [] == check(inputs(changed(without, change, change + "M0\nG4 P4\n"), on=HAND))


@pytest.mark.parametrize(("dwell", "expected"), [("G4 P4", 0), ("G4 P3.9", 1), ("G4 P2\nG4 P2", 0), ("", 1)])
def test_by_hand_too_the_spindle_gets_its_time_after_the_pause(dwell: str, expected: int) -> None:
    found = check(inputs(changed(by_hand(good()), "M0\nG4 P4\n", f"M0\n{dwell}\n"), on=HAND))
    assert expected == len(found)
    assert all("s after the pause; least 4 s" in f.message for f in found)


RELAY = machine(spindle_set_by="relay", spindle_dial={"1": 10000, "3": 18000})


def by_relay(text: str, start: str = "M0\nM3\nG4 P4\n") -> str:
    """The program for a machine that switches its spindle, whose dial a hand turns."""
    return changed(text, "S18000 M3\nG4 P4\n", start)


def test_by_relay_a_pause_m3_and_a_dwell_are_enough_without_any_speed() -> None:
    assert [] == check(inputs(by_relay(good()), on=RELAY))
    assert [] == check(inputs(by_relay(good(), "M0\nS18000 M3\nG4 P4\n"), on=RELAY))


def test_by_relay_the_dial_is_turned_in_a_pause_before_m3() -> None:
    for start in ("M3\nG4 P4\n", "M3\nM0\nG4 P4\n"):
        text = by_relay(good(), start)
        (found,) = check(inputs(text, on=RELAY))
        assert Severity.stop == found.severity
        assert "M3 starts the spindle without a pause to set its dial. Put M0 before M3" == found.message
        assert text.split("\n").index("M3") + 1 == found.program_line


def test_by_relay_a_spindle_of_one_speed_needs_no_pause() -> None:
    one = machine(spindle_set_by="relay", spindle_min_rpm=18000, spindle_max_rpm=18000)
    assert [] == check(inputs(by_relay(good(), "M3\nG4 P4\n"), on=one))


def test_by_relay_going_down_with_the_spindle_off_or_too_soon_is_a_stop() -> None:
    (off,) = check(inputs(by_relay(good(), "M0\nG4 P4\n"), on=RELAY))
    assert "with the spindle off. Put M3, then G4 P4, before this line" in off.message
    (soon,) = check(inputs(by_relay(good(), "M0\nM3\nG4 P3.9\n"), on=RELAY))
    assert "3.9 s after M3; least 4 s" in soon.message


def test_by_relay_it_is_off_before_the_end_and_before_a_change() -> None:
    (found,) = check(inputs(changed(by_relay(good()), "M5\n", ""), on=RELAY))
    assert "M30 ends the program with the spindle on" in found.message
    another = "(Bit 3: quarter, flat 6.350 mm)\nT3\nM0\nM3\nG4 P4\n" + scored()
    first = by_relay(HEADER + scored() + END)
    turning = changed(first, "G0 Z13\nM5\n", "G0 Z13\n" + another + "G0 Z13\nM5\n")
    assert ["the bit is changed while the spindle is on. Put M5 before the change"] == messages(
        check(inputs(turning, on=RELAY))
    )
    assert [] == check(inputs(changed(turning, "(Bit 3", "M5\n(Bit 3"), on=RELAY))


def test_by_relay_each_start_wants_its_own_pause() -> None:
    again = changed(by_relay(good()), "M5\n", "M5\nM3\nG4 P4\nG0 Z13\nM5\n")
    assert ["M3 starts the spindle without a pause to set its dial. Put M0 before M3"] == messages(
        check(inputs(again, on=RELAY))
    )


# What the dial is set to by hand

DIALS = {"1": 10000, "2.5": 16000, "max": 20000}


def dialled(words: str, set_by: str = "hand") -> list[str]:
    """What is found where the words before the spindle's start are these; the job gives the scorer 18000 rpm."""
    on = machine(spindle_set_by=set_by, spindle_dial=DIALS)
    begin = HEADER.replace("S18000 M3", f"({words})\nM0" + "\nS18000 M3" * (set_by == "relay"))
    return messages(check(inputs(begin + scored() + END.replace("M5", "M0\nM5"), on=on)))


@pytest.mark.parametrize("set_by", ["hand", "relay"])
@pytest.mark.parametrize("lead", ["Switch the spindle on by hand", "Set the spindle's speed by hand"])
@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("dial between 2.5 and max, 18000 rpm", ""),
        ("dial between 2.5 and max, 17000 rpm", "speed for scorer. Write the programs again. Comment: 17000 rpm"),
        ("dial between 2.5 and max, 1800 rpm", "Comment: 1800 rpm; job: 18000 rpm"),
        (
            "dial between 1 and 2.5, 18000 rpm",
            "for 18000 rpm. Write the programs again. Comment: dial between",
        ),
        ("dial max, 18000 rpm", "Comment: dial max; machine file: 2.5 and max"),
    ],
)
def test_words_that_set_another_speed_or_mark_than_the_job_s_are_a_stop(
    set_by: str, lead: str, words: str, says: str
) -> None:
    found = dialled(f"{lead}: {words}. Then go on.", set_by)
    assert bool(says) == bool(found)
    assert all(says in message for message in found[:1])


@pytest.mark.parametrize("rpm", [16000, 20000, 9000, 25000])
def test_a_mark_that_stands_for_another_speed_is_a_stop_at_its_line(rpm: int) -> None:
    right = {16000: "dial 2.5", 20000: "dial max", 9000: "dial below 1", 25000: "dial above max"}[rpm]
    for words in ("dial 2.5", "dial max", "dial below 1", "dial above max", "dial 1", "dial between 1 and 2.5"):
        found = dialled(f"Switch the spindle on by hand: {words}, {rpm} rpm. Then go on.")
        marks = [m for m in found if "the wrong mark on the dial" in m]
        assert (words.split()[-1] != right.split()[-1] or "between" in words) == bool(marks), (words, rpm)


def test_a_remark_that_goes_on_in_the_next_line_is_judged_too() -> None:
    words = "Set the spindle's speed by hand:)\n(+ dial between 2.5 and max, {} rpm.)\n(+ Then go on."
    assert [] == dialled(words.format(18000))
    assert dialled(words.format(18001))
    # Half a turn a minute is rounding.


def test_each_start_is_judged_by_the_cuts_behind_it() -> None:
    on = machine(spindle_set_by="relay", spindle_dial=DIALS)
    words = "(Set the spindle's speed by hand: dial between 2.5 and max, {} rpm. Then go on.)\nM0\n"
    start, again = words.format(18000) + "S18000 M3\n", "M5\n" + words.format(12000) + "S12000 M3\nG4 P4\n"
    again = again.replace("between 2.5 and max", "between 1 and 2.5")
    text = HEADER.replace("S18000 M3\n", start) + scored() + again
    assert [] == messages(check(inputs(text + END, on=on))), "nothing is cut at the second speed"
    (found,) = check(inputs(text + scored() + END, on=on))
    assert "this comment does not give the job's speed for scorer" == found.said.wrong
    assert ("Comment: 12000 rpm", "job: 18000 rpm") == (found.said.measured, found.said.limit)
    assert "12000 rpm" in text.splitlines()[found.program_line - 1]
