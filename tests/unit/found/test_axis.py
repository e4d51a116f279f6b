"""Which setups follow a measured X: one side is cut by one X, and the other by that which bored its pins."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from toolpaths.found.axis import READ, corrected_axes
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import Values
from toolpaths.instrument.handwork.handwork import Figure, Measure
from toolpaths.job.cut_kind import CutKind

LINES = Mark(1, "face", "lines", "six", 1, Measure("", (Figure("between", 300.0, "face", (300.0, 0.0)),)), Meaning.axis)
BORE = Mark(2, "face", "pins", "four", 2, Measure("", (Figure("width", 5.0, "face", (-10.0, 8.0)),)), Meaning.bit)
PINS = Mark(3, "face", "pins", "four", 2, Measure("", (Figure("between", 400.0, "face", (390.0, 8.0)),)), Meaning.axis)


def job() -> SimpleNamespace:
    """A face with lines and bores for pins, and a second side that lies on those pins."""

    def setup(name: str, flip: str | None, **cuts: CutKind) -> SimpleNamespace:
        features = [SimpleNamespace(name=feature, cuts=frozenset({kind})) for feature, kind in cuts.items()]
        return SimpleNamespace(name=name, flip=flip, stock=None, features=features)

    face = setup("face", None, lines=CutKind.line, pins=CutKind.pin_hole)
    return SimpleNamespace(setups=[face, setup("back", "x")])


def corrected(found: dict[Mark, tuple[float, int]]) -> dict[str, float]:
    """By setup, how far X goes for a mm that it is told. `found`: by mark, the value and how many programs were cut."""
    values = Values(
        (LINES, BORE, PINS),
        {m.number: value for m, (value, _) in found.items()},
        {m.number: cut for m, (_, cut) in found.items()},
    )
    return {c.subject: c.found / c.asked for c in corrected_axes(job(), values)}


@pytest.mark.parametrize("part", [0.998, 1.002])
def test_a_second_side_follows_the_x_that_was_known_when_its_pins_were_bored(part: float) -> None:
    assert {"face": part, "back": part} == pytest.approx(corrected({LINES: (300.0 * part, 1)}))


@pytest.mark.parametrize("part", [0.998, 1.002])
def test_it_does_not_follow_what_was_known_later(part: float) -> None:
    assert {"face": part} == pytest.approx(corrected({LINES: (300.0 * part, 2)}))
    assert {"face": part} == pytest.approx(corrected({PINS: (400.0 * part, 2)}))


def test_a_way_that_followed_a_correction_and_came_out_as_asked_keeps_it() -> None:
    assert {"face": 1.002, "back": 1.002} == pytest.approx(corrected({LINES: (300.6, 1), PINS: (400.0, 2)}))


def test_less_than_a_rule_shows_corrects_nothing() -> None:
    assert {} == corrected({LINES: (300.0 + 0.9 * READ, 1)})
