"""A bass that is shorter than the treble is a warning with a set's first program; no other fan is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.check_input_builder import inputs, program
from toolpaths.job.job import Fan
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument import fan_reversed
from toolpaths.verification.finding import Severity


def of(scale: float | Fan, number: int = 1) -> CheckInput:
    found = inputs(program("G0 X0 Y0"))
    instrument = found.job.instrument.model_copy(update={"scale_length": scale})
    job = found.job.model_copy(update={"instrument": instrument})
    context = replace(found.context, job=job)
    return replace(found, context=context, program=replace(found.program, number=number))


def test_a_shorter_bass_is_told_once() -> None:
    reversed_fan = Fan(bass="610 mm", treble="648 mm", square_fret=7)  # type: ignore[arg-type]
    (found,) = fan_reversed.check(of(reversed_fan))
    assert ("fan-reversed", Severity.warn) == (found.code, found.severity)
    assert ("bass 610.00 mm", "treble 648.00 mm") == (found.said.measured, found.said.limit)
    assert [] == fan_reversed.check(of(reversed_fan, number=2))


@pytest.mark.parametrize(
    "scale", [610.0, Fan(bass=648, treble=610, square_fret=7), Fan(bass=648, treble=648, square_fret=0)]
)
def test_other_boards_are_left_alone(scale: float | Fan) -> None:
    assert [] == fan_reversed.check(of(scale))
