"""A word that is not known is answered with those that were probably meant."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.instrument.woods import WOODS
from toolpaths.job.files.likely_words import did_you_mean, likely, nearest
from toolpaths.job.neck import RodKind


@pytest.mark.parametrize(
    ("word", "known", "wanted"),
    [
        ("maple", list(WOODS), ("hard maple",)),
        ("mapel", list(WOODS), ("hard maple",)),
        ("Sapelle", list(WOODS), ("sapele",)),
        ("rosewood", list(WOODS), ("indian rosewood",)),
        ("Hard-Maple", list(WOODS), ("hard maple",)),
        ("oak", ["white oak", "soak", "red oak"], ("white oak", "red oak")),
        ("two way", get_args(RodKind), ("double acting", "two-way wheel")),
        ("Two-Way Wheel", get_args(RodKind), ("two-way wheel",)),
        ("two way", ["two-way wheel", "two-way"], ("two-way",)),
        ("dual action", get_args(RodKind), ("double acting",)),
        ("wheel", get_args(RodKind), ("two-way wheel",)),
        ("zzz", get_args(RodKind), ()),
        ("", ["a", "b"], ()),
    ],
)
def test_a_word_that_is_part_of_a_known_name_comes_before_one_that_is_merely_similar(
    word: str, known: list[str], wanted: tuple[str, ...]
) -> None:
    assert wanted == likely(word, known)


@given(names=st.lists(st.from_regex(r"[a-z]{3,8}( [a-z]{3,8})?", fullmatch=True), min_size=1, max_size=8, unique=True))
def test_a_known_name_means_itself_and_each_of_its_words_a_name_that_has_it(names: list[str]) -> None:
    for name in names:
        assert (name,) == likely(name.title().replace(" ", "-"), names)
        for part in name.split():
            assert all(part in found.split() for found in likely(part, names))


def test_two_words_that_are_as_near_are_both_offered() -> None:
    assert "did you mean `white oak` or `red oak`?" == did_you_mean("oak", ["white oak", "soak", "red oak"], "woods")


def test_the_nearest_known_word_is_offered() -> None:
    assert "score_lines" == nearest("scoring_lines", ["plane", "score_lines"])
    assert "" == nearest("zzz", ["plane", "score_lines"])
    assert "did you mean `plane`?" == did_you_mean("plain", ["plane", "outline"], "features")
    assert "features: plane, outline" == did_you_mean("zzz", ["plane", "outline"], "features")
    assert "did you mean `plane`? or give one" == did_you_mean("plain", ["plane"], "features", "give one")
    assert "features: plane; or give one" == did_you_mean("zzz", ["plane"], "features", "give one")
