"""The parts of a finding in their order: what is wrong, where, what to do, then the value and its limit."""

from __future__ import annotations

from toolpaths.verification.wording.message import Message

WALL = Message("the wall is too thin", "fret 7", "set `depth: 9.2`", "about 1.83 mm", "least 2.00 mm")
SCREWS = Message("screws have no place", todo="paste these places", paste="hold: {screws: [{at: [[17, -42]]}]}")


def test_the_places_come_after_what_is_wrong() -> None:
    assert WALL.with_places("tenor.yaml:29, x 1.00 mm, y 2.00 mm") == (
        "the wall is too thin at fret 7 (tenor.yaml:29, x 1.00 mm, y 2.00 mm). "
        "Set `depth: 9.2`. About 1.83 mm; least 2.00 mm"
    )


def test_parts_that_are_not_there_leave_no_mark() -> None:
    assert "a rapid goes through wood" == Message("a rapid goes through wood").text
    assert "it is thin. Least 2.00 mm" == Message("it is thin", limit="least 2.00 mm").text


def test_what_is_to_be_pasted_is_no_part_of_the_lines_with_places() -> None:
    assert "screws have no place (tenor.yaml:3). Paste these places" == SCREWS.with_places("tenor.yaml:3")
    assert "screws have no place. Paste these places. `hold: {screws: [{at: [[17, -42]]}]}`" == SCREWS.text
