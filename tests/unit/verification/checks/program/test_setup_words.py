"""The words that decide what every number means stand first, are right, and stay."""

from __future__ import annotations

import pytest

from tests.support.words_builder import changed, good, inputs, job, machine, messages
from toolpaths.verification.checks.program.setup_words import check
from toolpaths.verification.finding import Severity


def test_a_program_that_sets_everything_first_passes() -> None:
    assert [] == check(inputs())


def test_the_other_units_are_a_stop() -> None:
    (found,) = check(inputs(changed(good(), "G21\n", "G20\n")))
    assert Severity.stop == found.severity
    assert 6 == found.program_line
    assert "G20 sets inches, so every length would be 25.4 times wrong. Use G21. Machine: millimetres" == found.message
    assert [] == check(inputs(changed(good(), "G21\n", "G20\n"), on=machine(units="in")))


def test_no_units_are_a_stop() -> None:
    assert ["no units are set before the first move. Begin with G21. Machine: millimetres"] == messages(
        check(inputs(changed(good(), "G21\n", "")))
    )


def test_units_after_the_first_move_are_too_late() -> None:
    text = changed(changed(good(), "G21\n", ""), "T2\n", "G21\nT2\n")
    assert "no units are set before the first move" in messages(check(inputs(text)))[0]
    # On the line of the first move they are in time: NISTIR 6556, Table 8, has G20 and G21 done before motion.
    assert [] == check(inputs(changed(changed(good(), "G21\n", ""), "G0 Z13\nT2", "G21 G0 Z13\nT2")))


def test_a_change_of_units_on_the_way_is_a_stop() -> None:
    text = changed(good(), "G1 Z6.5 F80\n", "G20\nG21\nG1 Z6.5 F80\n")
    (found,) = check(inputs(text))
    assert "G20 sets inches" in found.message
    # Said again, it changes nothing.
    assert [] == check(inputs(changed(good(), "G1 Z6.5 F80\n", "G21\nG1 Z6.5 F80\n")))


def test_another_offset_is_a_stop() -> None:
    (found,) = check(inputs(changed(good(), "G54\n", "G55\n")))
    assert "this is not the offset in which the setup is zeroed. Use G54. G55; setup face: G54" == found.message
    assert 8 == found.program_line


def test_no_offset_is_a_stop() -> None:
    assert "no offset is set before the first move" in messages(check(inputs(changed(good(), "G54\n", ""))))[0]


def test_a_job_that_zeroes_in_another_offset_wants_that() -> None:
    of = job()
    other = of.model_copy(update={"setups": (of.setups[0].model_copy(update={"offset": "G55"}),)})
    assert [] == check(inputs(changed(good(), "G54\n", "G55\n"), of=other))
    assert ["this is not the offset in which the setup is zeroed. Use G55. G54; setup face: G55"] == messages(
        check(inputs(of=other))
    )


def test_an_offset_changed_on_the_way_is_a_stop() -> None:
    text = changed(good(), "M5\n", "M5\nG59.1\nG0 Z20\nG0 X0 Y0\n")
    assert ["this is not the offset in which the setup is zeroed. Use G54. G59.1; setup face: G54"] == messages(
        check(inputs(text))
    )


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("G90 G94", "no plane is set before the first move"),
        ("G17 G94", "G90 is missing, so every coordinate may count as a step"),
    ],
)
def test_plane_and_distances_must_be_set(words: str, says: str) -> None:
    (found,) = check(inputs(changed(good(), "G17 G90 G94", words)))
    assert says in found.message


def test_the_feed_mode_need_not_be_said() -> None:
    assert [] == check(inputs(changed(good(), "G17 G90 G94", "G17 G90")))


def test_steps_from_the_last_place_are_a_stop() -> None:
    text = changed(good(), "G1 Y21.3 F240", "G91\nG1 Y42.6 F240\nG90")
    assert ["G91 makes every coordinate after it a step from the last one. Use G90 only"] == messages(
        check(inputs(text))
    )


def test_an_upright_plane_only_where_the_machine_has_it() -> None:
    text = changed(good(), "M5\n", "M5\nG18\nG17\n")
    assert ["G18 selects an upright plane. Use G17 only: this machine takes level arcs only"] == messages(
        check(inputs(text))
    )
    assert [] == check(inputs(text, on=machine(arcs="all planes")))


def test_even_there_a_program_begins_level() -> None:
    text = changed(good(), "G17 G90 G94", "G18 G90 G94")
    assert ["G18 selects an upright plane. Begin with G17"] == messages(
        check(inputs(text, on=machine(arcs="all planes")))
    )


ROUND = "G2 X20 Y3 I0 J3 F240\n"
LEVEL = changed(good(), "M5\n", "G0 X20 Y-3\n" + ROUND + "M5\n")
UPRIGHT = changed(good(), "M5\n", "G0 X20 Y0\nG18 G2 X26 Z13 I3 K0 F240\nG17\nM5\n")


def test_arcs_only_where_the_machine_takes_them() -> None:
    assert [] == check(inputs(LEVEL))
    (found,) = check(inputs(LEVEL, on=machine(arcs="none")))
    assert "this machine takes no arcs. Use short straight moves. 1 wrong arc" == found.message
    assert LEVEL.split("\n").index(ROUND.strip()) + 1 == found.program_line


def test_upright_arcs_only_where_the_machine_takes_arcs_in_all_planes() -> None:
    assert any("this machine takes level arcs only" in m for m in messages(check(inputs(UPRIGHT))))
    assert [] == check(inputs(UPRIGHT, on=machine(arcs="all planes")))


def test_compensation_off_and_length_offset_off_are_harmless() -> None:
    assert [] == check(inputs(changed(good(), "G17 G90 G94", "G17 G90 G94 G40 G49")))


def test_a_t_word_only_where_the_controller_takes_it() -> None:
    (found,) = check(inputs(on=machine(t_word=False)))
    assert "this machine takes no T word. Name the bit in a comment. T2" == found.message
    assert [] == check(inputs(changed(good(), "T2\n", "(Bit 2: scorer, flat)\n"), on=machine(t_word=False)))


def test_m6_only_where_the_machine_changes_bits() -> None:
    text = changed(good(), "T2\n", "T2 M6\n")
    (found,) = check(inputs(text))
    assert "M6 asks for a change of bits, but this machine's bits are changed by hand" in found.message
    assert [] == check(inputs(text, on=machine(tool_change="automatic")))


def test_a_line_is_no_longer_than_the_controller_reads() -> None:
    fits = changed(good(), "M5\n", f"({'x' * 78})\nM5\n")
    assert [] == check(inputs(fits))
    (found,) = check(inputs(changed(good(), "M5\n", f"({'x' * 79})\nM5\n")))
    assert "the line is too long for this machine, which would lose its end. Shorten it. 81 characters" in found.message
    assert fits.split("\n").index(f"({'x' * 78})") + 1 == found.program_line


# What a controller wants or does not take beside its words


SINGLE = machine(precision="single")


def test_in_single_precision_an_arc_must_still_keep_its_radii() -> None:
    # Radius 40 m over 160 mm: the radii agree within 2e-9 mm. A number of 32 bits is a multiple of 2^-8 = 0.0039 mm
    # there (IEEE 754: 24 bits, 2^15 < 40000 < 2^16), and the two come out as neighbours.
    text = changed(good(), "M5\n", "G0 X0 Y18.75\nG2 X160 Y18.749 I79.75 J-39999.92 F240\nM5\n")
    assert [] == check(inputs(text))
    (found,) = check(inputs(text, on=SINGLE))
    assert Severity.stop == found.severity
    assert "rounding spoils this arc. Use straight moves. 0.0039 mm off in 1 arc; most 0.0020 mm" == found.message
    assert text.split("\n").index("G2 X160 Y18.749 I79.75 J-39999.92 F240") + 1 == found.program_line


def test_in_single_precision_small_arcs_are_as_good_as_ever() -> None:
    assert [] == check(inputs(LEVEL, on=SINGLE))


def test_comments_only_where_the_controller_takes_them() -> None:
    (found,) = check(inputs(on=machine(comments=False)))
    assert "takes no comments. Put the words into the file beside the program. 6 lines with comments" in found.message
    assert 1 == found.program_line
    bare = "".join(f"{line}\n" for line in good().splitlines() if not line.startswith("("))
    assert [] == check(inputs(bare, on=machine(comments=False)))


def numbered(text: str) -> str:
    return "".join(line if line.startswith("(") else f"N{i} {line}" for i, line in enumerate(text.splitlines(True), 1))


def test_line_numbers_where_the_machine_wants_them() -> None:
    wants = machine(line_numbers=True)
    assert [] == check(inputs(numbered(good()), on=wants))
    assert [] == check(inputs(numbered(good())))
    (found,) = check(inputs(changed(numbered(good()), "N6 G21", "G21"), on=wants))
    assert (
        "this line has no number, which the machine needs. Begin it with N and a number. 1 such line" in found.message
    )
    assert 6 == found.program_line


def test_lines_of_percent_where_the_machine_wants_them() -> None:
    wants = machine(percent_lines=True)
    assert [] == check(inputs(f"%\n{good()}%\n", on=wants))
    assert [] == check(inputs(f"%\n{good()}%\n"))
    (found,) = check(inputs(on=wants))
    assert "this machine reads only what is between two lines of %, and there are none" == found.said.wrong
    assert "begin and end the program with %" == found.said.todo


@pytest.mark.parametrize("after", ["G0 Z13\nG54\nG0 Z13\n", "G0 Z13\nT2\nS18000 M3\nG54\nG0 Z13\n"])
def test_an_offset_after_the_first_move_is_too_late(after: str) -> None:
    text = changed(changed(good(), "G54\n", ""), "G0 Z13\n", after)
    (found,) = check(inputs(text))
    assert "no offset is set before the first move" in found.message
    assert text.split("\n").index("G0 Z13") + 1 == found.program_line
    # On the line of that move it is in time: NISTIR 6556, Table 8, has offsets done before motion.
    assert [] == check(inputs(changed(changed(good(), "G54\n", ""), "G0 Z13\n", "G54 G0 Z13\n")))
