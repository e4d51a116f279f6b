"""With the longest values that are likely, every text about shapes has room on three lines."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.finding import Severity
from toolpaths.verification.wording import shape
from toolpaths.verification.wording.message import Message

CUT, PIECE = "block at fret 12-2", "piece for fret 12-2"
NO_LINE: dict[str, Any] = {"in_program": False}


def texts(units: Units) -> list[tuple[str, Message, dict[str, Any]]]:
    """Every text, with what its finding has no place for."""
    return [
        *(
            ("gouge", shape.gouge(1.31, area, 0.01, known, units), {} if known else {"feature": "", "in_job": False})
            for area in (1112.0, 0.0)
            for known in (True, False)
        ),
        *(("uncut", shape.uncut(CUT, 12.0, area, 0.02, units), NO_LINE) for area in (1112.0, 0.0)),
        ("inlay-fit", shape.no_walls(PIECE, 0.4, units), NO_LINE),
        ("inlay-fit", shape.does_not_go_in(PIECE, -0.055, 0.05, units), NO_LINE),
        *(
            ("inlay-fit", shape.fits_badly(PIECE, clearance, 0.05, units), NO_LINE | {"severity": Severity.warn})
            for clearance in (0.012, 0.122)
        ),
        ("off-part", shape.beside_part(CUT, "board", 12.0, 14.0, units), NO_LINE),
        ("off-part", shape.past_part(CUT, "board", 12.0, 0.02, units), NO_LINE),
        ("idle-bit", shape.idle_bit("tapered-ball", "sixteenth"), {"program": "", "place": False}),
    ]


@pytest.mark.parametrize(("code", "said", "less"), [*texts("mm"), *texts("in")])
def test_every_text_has_room_on_three_lines(code: str, said: Message, less: dict[str, Any]) -> None:
    lines = lines_on_80(longest(code, said, **less), JOB)
    assert 3 >= len(lines), "\n".join(lines)
    assert 80 >= max(map(len, lines)), "\n".join(lines)


@pytest.mark.parametrize(("units", "other"), [("mm", "in"), ("in", "mm")])
def test_lengths_have_the_units_of_the_job(units: Units, other: Units) -> None:
    for _, said, _ in texts(units):
        assert not any(f"0 {other}" in part for part in (said.todo, said.measured, said.limit)), said.text


def test_a_clearance_has_the_digits_that_it_is_judged_by() -> None:
    assert "Clearance 0.055 mm" == shape.fits_badly(PIECE, 0.055, 0.02, "mm").measured
    assert "Clearance 0.0022 in" == shape.fits_badly(PIECE, 0.055, 0.02, "in").measured
