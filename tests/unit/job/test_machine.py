"""A machine file is checked like a job: what cannot be is refused, and the shipped ones hold what they should."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from pydantic import ValidationError

from toolpaths.job.files.machine_file import machine_folder, machine_path, machine_paths, read_machine
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.machine import Machine, OffsetName


def given(**changes: Any) -> dict[str, Any]:
    data = dict(read_document(machine_paths()["bench-router"]).data)
    return {**{str(k): v for k, v in data.items()}, **changes}


def machine(**changes: Any) -> Machine:
    data = given(**changes)
    return Machine.model_validate(data, context={"units": data["units"]})


def refused(**changes: Any) -> str:
    with pytest.raises(ValidationError) as caught:
        machine(**changes)
    (fault,) = caught.value.errors()
    return str(fault.get("ctx", {}).get("error", fault["type"]))


SPINDLE = {"min_rpm": 10000, "max_rpm": 20000, "set_by": "hand", "dial": {1: 10000, "2.5": 15000}}


def test_the_bench_router_is_as_its_users_count_on() -> None:
    m = read_machine(machine_paths()["bench-router"])
    assert (800.0, 500.0, 90.0) == m.travel.as_tuple()
    assert ("mm", "program", "by hand", "xy", True) == (
        m.units,
        m.spindle.set_by,
        m.tool_change,
        m.arcs,
        m.t_word,
    )
    assert 0.0005 == pytest.approx(m.half_digit, abs=1e-15)
    assert 0.0 == m.chord_error


def test_the_second_machine_is_of_another_character() -> None:
    m = read_machine(machine_paths()["hand-dial"])
    assert ("in", "hand", "none", False, 70) == (m.units, m.spindle.set_by, m.arcs, m.t_word, m.line_length)
    assert 812.8 == pytest.approx(m.travel.x, abs=1e-9)  # 32 x 25.4 (exact by definition)
    assert 2540.0 == pytest.approx(m.feed_limit.x, abs=1e-9)  # 100 in/min
    assert 10000 == m.spindle.dial["1"]
    assert 0.00127 == pytest.approx(m.half_digit, abs=1e-12)  # half of 0.0001 in
    assert 0.00508 == pytest.approx(m.chord_error, abs=1e-12)  # 0.0002 in


def test_dial_marks_are_text_however_they_are_written() -> None:
    assert {"1": 10000, "2.5": 15000} == machine(spindle=SPINDLE).spindle.dial


@pytest.mark.parametrize(
    ("spindle", "said"),
    [
        ({**SPINDLE, "min_rpm": 30000}, "min_rpm 30000 is more than max_rpm 20000"),
        (
            {**SPINDLE, "dial": {}},
            "a spindle set by hand needs its dial: each mark with its rpm, such as {1: 10000, 2: 14000}",
        ),
        ({**SPINDLE, "dial": {1: 9000}}, "dial mark 1 gives 9000 rpm, outside 10000 to 20000"),
        (
            {**SPINDLE, "set_by": "program"},
            "a spindle set by the program has no dial; leave it out, or write set_by: hand or relay",
        ),
        (
            {**SPINDLE, "set_by": "relay", "dial": {}},
            "a spindle switched by a relay needs its dial: each mark with its rpm, such as {1: 10000, 2: 14000}",
        ),
        ({**SPINDLE, "spin_up": 90}, "less_than_equal"),
    ],
)
def test_a_spindle_that_cannot_be_is_refused(spindle: dict[str, Any], said: str) -> None:
    assert said == refused(spindle=spindle)


def test_a_spindle_of_one_speed_is_taken() -> None:
    assert 12000 == machine(spindle={"min_rpm": 12000, "max_rpm": 12000, "set_by": "program"}).spindle.max_rpm


def test_a_spindle_of_one_speed_needs_no_dial_whoever_switches_it() -> None:
    for switched in ("relay", "hand"):
        assert {} == machine(spindle={"min_rpm": 12000, "max_rpm": 12000, "set_by": switched}).spindle.dial


def test_a_changer_is_told_its_bits_by_t_words() -> None:
    assert "a machine that changes bits by itself needs T words: write t_word: true" == refused(
        tool_change="automatic", t_word=False
    )


def test_the_third_and_the_fourth_are_others_again() -> None:
    small, large = (read_machine(machine_paths()[name]) for name in ("small-frame", "shop-gantry"))
    assert (300.0, 180.0, 45.0) == small.travel.as_tuple()
    assert ("relay", "milliseconds", "single", 70, 3, False, "xy") == (
        small.spindle.set_by,
        small.dwell,
        small.precision,
        small.line_length,
        small.decimals,
        small.t_word,
        small.arcs,
    )
    assert (1300.0, 900.0, 160.0) == large.travel.as_tuple()
    assert ("automatic", "all planes", True, True, "double") == (
        large.tool_change,
        large.arcs,
        large.line_numbers,
        large.percent_lines,
        large.precision,
    )
    assert list(get_args(OffsetName)) == list(large.offsets)


def test_a_key_left_out_and_its_usual_value_are_the_same_machine() -> None:
    assert machine() == machine(precision="double", line_numbers=False, percent_lines=False, comments=True)


def test_too_few_digits_are_refused() -> None:
    assert "decimals must be at least 3 where the programs are in mm" == refused(decimals=2)
    assert "decimals must be at least 4 where the programs are in in" == refused(units="in", decimals=3)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"offsets": {}}, "too_short"),
        ({"offsets": {"G53": None}}, "literal_error"),
        ({"offsets": {"G54": [1, 2]}}, "missing"),
        ({"line_length": 30}, "greater_than_equal"),
        *(({"ending": e}, "literal_error") for e in ("../x", "html", "htm", "bat", "exe", "js", "svg", "sh", "NC", "")),
        ({"travel": {"x": 0, "y": 1, "z": 1}}, "must be more than 0"),
        ({"runout": -0.1}, "must not be less than 0"),
    ],
)
def test_what_no_machine_has_is_refused(changes: dict[str, Any], said: str) -> None:
    assert said == refused(**changes)


def test_an_offset_may_know_its_place_in_machine_coordinates() -> None:
    assert (150.0, 120.0, -80.0) == machine(offsets={"G54": [150, 120, -80], "G55": None}).offsets["G54"]


def test_machines_are_found_by_name_and_files_by_path() -> None:
    assert machine_folder() / "hand-dial.yaml" == machine_path("hand-dial")
    assert None is machine_path("bits")  # the rack is no machine
    assert None is machine_path("nowhere")
    assert machine_folder() / "x.yaml" == machine_path("x.yaml", machine_folder())


def test_every_key_of_a_machine_file_is_described() -> None:
    silent = [name for name, info in Machine.model_fields.items() if not info.description]
    assert [] == silent


@pytest.mark.parametrize("mark", ["1", "2.5", "max", "A", "3+", "lo 1", "10-12"])
def test_a_dial_mark_is_said_in_programs_as_it_stands(mark: str) -> None:
    spindle = {"min_rpm": 8000, "max_rpm": 24000, "set_by": "hand", "dial": {mark: 9000}}
    assert {mark: 9000} == machine(spindle=spindle).spindle.dial


@pytest.mark.parametrize("mark", ["½", "3~", "a  b", " a", "", "MSG,", "x" * 13, "a\nb", "(1)"])
def test_a_dial_mark_that_no_program_can_say_is_refused(mark: str) -> None:
    spindle = {"min_rpm": 8000, "max_rpm": 24000, "set_by": "hand", "dial": {mark: 9000}}
    assert "up to 12 letters, figures and . + - /" in refused(spindle=spindle)


@pytest.mark.parametrize(("typed", "value"), [(80, 80), (80.5, 80.5), ("80 N/mm", 80), ("80N/mm", 80), ("80", 80)])
def test_stiffness_is_newtons_a_millimetre_whatever_the_units(typed: object, value: float) -> None:
    assert value == machine(stiffness=typed).stiffness
    inch = dict(read_document(machine_paths()["hand-dial"]).data) | {"stiffness": typed}
    assert value == Machine.model_validate(inch, context={"units": "in"}).stiffness


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (4.9, "must be from 5 to 20000 N/mm"),
        (20001, "must be from 5 to 20000 N/mm"),
        ("80 lbf/in", "a stiffness is written in N/mm, also where the units are in: 80 or 80 N/mm"),
        ("-80", "a stiffness is written in N/mm"),
        (True, "a stiffness is written in N/mm"),
    ],
)
def test_a_stiffness_that_is_none_is_refused(typed: object, said: str) -> None:
    assert said in refused(stiffness=typed)


# Pockets of a changer

CHANGER = {"tool_change": "automatic", "pocket_count": 6}


def test_a_changer_holds_its_bits_in_numbered_pockets() -> None:
    assert {"planer": 1, "quarter": 3} == machine(**CHANGER, pockets={"planer": 1, "quarter": 3}).pockets
    assert {} == machine(tool_change="automatic").pockets


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {**CHANGER, "pockets": {"planer": 2, "quarter": 2}},
            "pocket 2 already holds planer; give each bit a pocket of its own",
        ),
        (
            {**CHANGER, "pockets": {"planer": 7}},
            "there is no pocket 7: pocket_count says that the changer has 6",
        ),
        ({"pockets": {"planer": 1}}, "only a changer has pockets; write tool_change: automatic, or take pockets out"),
        ({"pocket_count": 4}, "only a changer has pockets; write tool_change: automatic, or take pocket_count out"),
        ({**CHANGER, "pockets": {"planer": 0}}, "greater_than_equal"),
        ({"tool_change": "automatic", "pockets": {"planer": 1000}}, "less_than_equal"),
        ({**CHANGER, "pockets": {"planer": "P1"}}, "int_type"),
    ],
)
def test_pockets_that_cannot_be_are_refused(changes: dict[str, Any], said: str) -> None:
    assert said == refused(**changes)
