"""Values that the reader takes from sentences for people: pairs with one unit, heights below a seat, old words."""

from __future__ import annotations

import pytest

from toolpaths.gcode.reader.structured_comments import told

OBSTACLE = "Obstacle 3, clamp: X -5.00 to 10.50 mm, Y -15.00 to 15.00 mm, up to 40.00 mm above the bed"


def values(comment: str) -> tuple[str | float, ...]:
    found = told(comment)
    assert found is not None, comment
    return found.values


def test_a_pair_has_one_unit() -> None:
    found = told(OBSTACLE)
    assert found is not None
    assert "place to keep clear of 3" == found.what
    assert (-5.0, 10.5, -15.0, 15.0, 40.0) == found.values
    inches = OBSTACLE.replace("-5.00 to 10.50 mm", "-0.500 to 1.000 in")
    assert (-12.7, 25.4, -15.0, 15.0, 40.0) == values(inches)  # 25.4 mm an inch, by definition


def test_below_a_seat_is_negative_and_old_programs_say_so_with_a_sign() -> None:
    assert (-1.8,) == values(OBSTACLE.replace("40.00 mm above the bed", "1.80 mm below the seat"))[4:]
    old = "Keep clear of 3, screw 1: X -5.000 mm to 10.500 mm, Y -15.000 mm to 15.000 mm, up to -1.800 mm above the bed"
    assert (-5.0, 10.5, -15.0, 15.0, -1.8) == values(old)


@pytest.mark.parametrize(
    ("comment", "wanted"),
    [
        ("Blank: oak, 2 ply, 480.00 mm x 64.00 mm, 7.80 to 8.10 mm thick", (480.0, 64.0, 7.8, 8.1)),
        ("Blank: oak, 480.00 mm x 64.00 mm, 8.00 mm thick", (480.0, 64.0, 8.0)),
        ("Stock: oak, 480.000 mm x 64.000 mm x 7.800 mm to 8.100 mm", (480.0, 64.0, 7.8, 8.1)),
        ("Jig: job 72cd1b83b180, Jig for the tenor", ("72cd1b83b180",)),
        ("This lies on a jig, job 72cd1b83b180: that is cut first.", ("72cd1b83b180",)),
    ],
)
def test_new_and_old_words_give_the_same(comment: str, wanted: tuple[str | float, ...]) -> None:
    assert wanted == values(comment)


@pytest.mark.parametrize(
    "comment",
    [
        OBSTACLE.removesuffix(" above the bed"),
        OBSTACLE.replace("10.50 mm", "10.50"),
        OBSTACLE.replace("10.50 mm", "10.50 m"),
        OBSTACLE.replace("-5.00", "-5"),
        "Blank: oak, 480.00 mm x 64.00 mm, 8.00 thick",
        "Blank: oak, 480.00 x 64.00 mm, 8.00 mm thick",
        "Jig: job 72cd1b83b18, Jig for the tenor",
    ],
)
def test_what_was_cut_short_or_has_no_unit_says_nothing(comment: str) -> None:
    assert told(comment) is None
