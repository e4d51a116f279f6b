"""A program says which job it belongs to and where it stands in the set."""

from __future__ import annotations

import re
import textwrap

import pytest

from tests.support.words_builder import changed, good, inputs, machine, messages
from toolpaths.verification.checks.program.header import check
from toolpaths.verification.finding import NEVER_ACCEPTED, Severity

JOB = "(neckpath 0.1.0, job 3f2a9c1b7d20)\n"
PLACE = "(Program 2 of 4, setup face)\n"


def test_a_header_that_fits_passes() -> None:
    assert [] == check(inputs())


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (JOB, "(neckpath 0.1.0, job 3f2a9c1b7d21)\n", "Program: job 3f2a9c1b7d21; job now: 3f2a9c1b7d20"),
        (JOB, "", "does not say from which job the program was written. Write the programs again. Job: 3f2a9c1b7d20"),
        (PLACE, "(Program 3 of 4, setup face)\n", "Program 3 of 4; must be program 2 of 4"),
        (PLACE, "(Program 2 of 5, setup face)\n", "Program 2 of 5; must be program 2 of 4"),
        (PLACE, "(Program 2 of 4, setup back)\n", "Setup back; must be setup face"),
    ],
)
def test_a_header_that_is_missing_or_contradicts_is_a_stop(old: str, new: str, says: str) -> None:
    (found,) = check(inputs(changed(good(), old, new)))
    assert Severity.stop == found.severity
    assert says in found.message


def test_a_program_without_its_place_is_told_what_was_expected() -> None:
    assert [
        "the header does not say which program of the set this is. Write the programs again. Must be program 2 of 4",
        "the header does not name the setup. Write the programs again. Must be setup face",
    ] == messages(check(inputs(changed(good(), PLACE, ""))))


def test_another_version_of_the_program_writer_is_no_fault() -> None:
    assert [] == check(inputs(changed(good(), "neckpath 0.1.0", "neckpath 0.2.1")))


def test_a_header_may_never_be_accepted() -> None:
    assert "header" in NEVER_ACCEPTED


def test_where_no_comments_are_taken_it_says_which_file_to_look_for() -> None:
    (found,) = check(inputs(changed(good(), JOB, ""), on=machine(comments=False)))
    assert "Write the programs again, and keep 02-face-scorer.ngc.txt beside the program" in found.message


# What a hand goes by

TOLD = {
    "zero": "Zero: X at the nut, Y at the centreline, Z at the bed, offset G54",
    "stock": "Blank: hard maple, 120.00 mm x 60.00 mm, 8.00 mm thick",
    "nut line": "The nut line is 12.00 mm from the left end of the blank.",
    "centreline": "The centreline is 30.00 mm from the operator's edge.",
    "bit 2": "Bit 2: scorer, flat 0.6 mm, 2 flutes, 15 mm out of the collet",
    "bit 4": "Bit 4: vee60, vee 6 mm, 2 flutes, 20 mm out of the collet",
    "Z on the planed face": "The bit has been changed. Set Z again on the planed face, Z 6.000 mm, or check that "
    "the controller has measured its length. Then go on.",
}
"""Sentences as the job of `words_builder` has them."""
OLDER = {
    "stock": "Stock: hard maple, 120.000 mm x 60.000 mm x 8.000 mm",
    "nut line": "The nut line is 12.000 mm from the left end of the stock.",
    "bit 2": "Bit 2: scorer, flat 0.600 mm, 2 flutes, 15.000 mm out of the collet",
    "Z on the planed face": "The bit has been changed. Set Z again on the planed face, Z 6.000 mm, or see that the "
    "controller has taken its length. Then go on.",
}
"""The same as older programs have them."""


def with_words(*sentences: str) -> str:
    """The good program with sentences in its header, each over as many lines as a short line makes of it."""
    lines: list[str] = []
    for sentence in sentences:
        lines += [f"({line})" for line in textwrap.wrap(sentence, 38, subsequent_indent="+ ")]
    return changed(good(), "(Touch off", "\n".join(lines) + "\n(Touch off")


def test_words_that_a_hand_goes_by_pass_as_the_job_has_them() -> None:
    of = inputs(with_words(*TOLD.values()))
    # The header of the good program announces bit 2 itself.
    assert ["bit 2", *TOLD] == [told.what for told in of.trace.told]
    assert [] == check(of)
    inches = [re.sub(r"([0-9.]+) mm", lambda m: f"{float(m[1]) / 25.4:.4f} in", sentence) for sentence in TOLD.values()]
    assert [] == check(inputs(with_words(*inches)))


def test_the_words_of_older_programs_are_read_and_judged_as_well() -> None:
    of = inputs(with_words(*OLDER.values()))
    assert ["bit 2", *OLDER] == [told.what for told in of.trace.told]
    assert [] == check(of)
    for what, sentence in OLDER.items():
        other = re.sub(r"[0-9]\.([0-9])", r"7.\1", sentence, count=1)
        assert [f"this comment does not give the job's {what}"] == [
            f.said.wrong for f in check(inputs(with_words(other)))
        ]


@pytest.mark.parametrize("what", TOLD)
def test_each_of_their_numbers_and_places_is_judged(what: str) -> None:
    sentence = TOLD[what]
    numbers = [*re.finditer(r"[0-9]+(?:\.[0-9]+)?(?= mm)|[0-9](?= flute)", sentence)]
    others = [f"{sentence[: m.start()]}{int(m[0][0]) + 1}{sentence[m.start() + 1 :]}" for m in numbers]
    others += [
        sentence.replace(old, new)
        for old, new in (
            ("X at the nut", "X at the stock end"), ("Y at the centreline", "Y at the stock edge"), ("G54", "G55"),
            ("Z at the bed", "Z at the stock top"), (", flat", ", ball"), (" mm", " in"),
            (", 8.00 mm thick", ", 7.50 to 8.00 mm thick"),
        )
        if old in sentence
    ]  # fmt: skip
    assert others
    for other in others:
        of = inputs(with_words(other))
        (found,) = [f for f in check(of) if f.said.wrong == f"this comment does not give the job's {what}"]
        assert Severity.stop == found.severity
        assert of.program.text.splitlines()[found.program_line - 1][1:].startswith(other[:15].rstrip()), other


def test_a_rounded_length_is_the_job_s_own() -> None:
    # With a rule a blank is laid to half of the last digit, 0.005 mm.
    for length, stops in (("12.005", False), ("12.006", True), ("11.995", False), ("11.994", True)):
        sentence = TOLD["nut line"].replace("12.00", length)
        assert stops == bool(check(inputs(with_words(sentence))))
    # A Z to enter and a bit's width have a digit more.
    for length, stops in (("6.001", False), ("6.003", True)):
        sentence = TOLD["Z on the planed face"].replace("6.000", length)
        assert stops == bool(check(inputs(with_words(sentence))))
    for length, stops in (("0.601", False), ("0.603", True)):
        sentence = TOLD["bit 2"].replace("0.6", length)
        assert stops == bool(check(inputs(with_words(sentence))))


def test_of_many_values_the_first_two_that_differ_are_shown() -> None:
    other = "Stock: hard maple, 121.000 mm x 61.000 mm x 9.000 mm"
    (found,) = check(inputs(with_words(other)))
    assert "Comment: 121.000 mm, 61.000 mm; job: 120.000 mm, 60.000 mm" in found.message
    (found,) = check(inputs(with_words(other.replace("121", "120").replace("61", "60"))))
    assert "Comment: 9.000 mm; job: 8.000 mm" in found.message


def test_the_pocket_in_its_words_is_that_of_the_machine_file() -> None:
    changer = machine(pockets={"scorer": 2})
    words = "Pocket 2: {}. Check before the start that this bit is in it."
    assert [] == check(inputs(with_words(words.format("scorer")), on=changer))
    (found,) = check(inputs(with_words(words.replace("2", "7").format("scorer")), on=changer))
    assert "Comment: 7; job: 2" in found.message
