from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from toolpaths.common.units import show_feed, size
from toolpaths.reports.text.words import bit_words, file_part, minutes, places, plain, signed, verdict


@pytest.mark.parametrize(
    ("shown", "value"),
    [
        ("35 s", 35 / 60),
        ("4.2 min", 4.2),
        ("1.0 min", 0.9999),
        ("10 min", 9.96),
        ("18 min", 18.4),
        ("1 h 05 min", 65.0),
        ("1 h 00 min", 59.995),
    ],
)
def test_a_time_reads_as_one_would_say_it(shown: str, value: float) -> None:
    assert shown == minutes(value)


def test_lengths_and_feeds_are_shown_in_the_units_asked_for() -> None:
    # 25.4 mm to the inch: ISO 31-1 and the international yard of 1959.
    assert "0.25 in" == size(6.35, "in")
    assert "3.175 mm" == size(3.175, "mm")
    assert "70.9 in/min" == show_feed(1800, "in")
    assert "-1.60 mm" == signed(-1.6, "mm")


def test_nothing_is_shown_as_minus_zero() -> None:
    assert "0.00 mm" == signed(-0.001, "mm")
    assert "0.000 in" == signed(-0.001, "in")


def test_text_from_a_job_becomes_one_harmless_line() -> None:
    assert "a b" == plain("a\n\u202eb")
    assert "abc…" == plain("abcdefgh", 4)


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("scorer=0.8", "scorer=0.8"),
        ("scorer=1-32in", "scorer=1/32in"),
        ("only-plane", "only plane"),
        ("job", "../.."),
        ("x", ".x"),
        ("a-b", "a\x00\\b"),
    ],
)
def test_a_part_of_a_file_name_stays_in_its_folder(part: str, text: str) -> None:
    assert part == file_part(text)


def test_a_bit_is_named_as_one_asks_for_it(outcome) -> None:
    assert "flat 3.175 mm" == bit_words(outcome.job.bits["eighth"], "mm")
    assert "flat 0.125 in" == bit_words(outcome.job.bits["eighth"], "in")


def test_a_finding_says_where_it_stands_in_job_program_and_on_the_wood(make_outcome, gouge) -> None:
    outcome = make_outcome(findings=(gouge,))
    assert "bass_uke.yaml:32, 02-face-scorer.ngc:3, x 130.20, y -4.00 mm" == places(gouge, outcome)


def test_the_verdict_counts_what_was_found(make_outcome, gouge, thin_chip) -> None:
    assert "May be cut; no findings." == verdict(make_outcome())
    assert "May be cut; 1 warning to read first." == verdict(make_outcome(findings=(thin_chip,)))
    assert "Stopped: 1 finding that must not be cut, 1 warning." == verdict(make_outcome(findings=(gouge, thin_chip)))


def test_a_stop_is_told_where_every_program_is_cut_too(make_outcome, gouge, thin_chip) -> None:
    done = make_outcome()
    cut = frozenset(p.name for p in done.programs)
    assert "Every program is cut already; none was checked again." == verdict(replace(done, cut=cut))
    assert "Stopped: 1 finding" in verdict(replace(done, cut=cut, findings=(gouge, thin_chip)))


def test_a_place_shows_the_name_of_a_hostile_file_and_never_obeys_it(make_outcome, gouge) -> None:
    outcome = make_outcome(findings=(gouge,))
    odd = replace(outcome, path=Path("\x1b[31mred\u202e\udcff.yaml"))
    assert places(gouge, odd).startswith("[31mred .yaml:32, ")
