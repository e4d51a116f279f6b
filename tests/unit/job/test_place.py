"""A place along the neck is a length from the nut, a fret, or the nut itself."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from toolpaths.common.input_model import InputModel
from toolpaths.job.place import Along, AlongNeck


class Place(InputModel):
    at: AlongNeck


def place(value: object, units: str = "mm") -> Along:
    return Place.model_validate({"at": value}, context={"units": units}).at


def test_a_bare_number_is_in_the_job_s_units() -> None:
    assert Along(x=12.0) == place(12)
    assert Along(x=-25.4) == place(-1, "in")


def test_text_carries_its_own_unit() -> None:
    assert Along(x=6.35) == place("1/4 in")


@pytest.mark.parametrize("text", ["fret 14", "Fret 14", "  fret   14 "])
def test_a_fret_may_stand_for_a_place(text: str) -> None:
    assert Along(fret=14) == place(text)


@pytest.mark.parametrize("text", ["nut", "Nut", "  NUT "])
def test_the_nut_may_stand_for_a_place(text: str) -> None:
    assert Along(x=0.0) == place(text)
    assert Along(x=0.0) == place(text, "in")


@pytest.mark.parametrize(
    "text", ["nuts", "the nut", "fret nut", "nut 1", "fret", "fret -1", "fret 1.5", "fret 140", "14 fret", "fret 3 mm"]
)
def test_what_is_neither_is_refused(text: str) -> None:
    with pytest.raises(ValidationError, match="not a length"):
        place(text)


def test_it_is_written_as_it_can_be_read_again() -> None:
    assert "fret 14" == str(place("fret 14"))
    assert place(str(place(0.1))) == place(0.1)
    assert {"at": "fret 3"} == Place(at=Along(fret=3)).model_dump(mode="json")
