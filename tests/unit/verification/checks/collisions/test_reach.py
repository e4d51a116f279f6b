"""A bit sticks out far enough, and the collet grips its shank alone."""

from __future__ import annotations

from tests.support.check_input_builder import BITS, inputs, program
from toolpaths.job.bits.flat import Flat
from toolpaths.verification.checks.collisions.reach import check
from toolpaths.verification.finding import Severity


def _bit(stickout: float, edges: float = 6.0) -> Flat:
    return Flat(shape="flat", diameter=6.0, flutes=2, cutting_length=edges, shank=6.0, stickout=stickout)


def _slot(stickout: float, depth: float = 5.0, edges: float = 6.0) -> list[tuple[str, Severity, str]]:
    text = program(f"G0 X-14 Y0\nG1 Z{10 - depth:g} F200\nG1 X44 F1000\nG0 Z16\n")
    found = check(inputs(text, bits={**BITS, 1: ("six", _bit(stickout, edges))}))
    return [(f.code, f.severity, f.message) for f in found]


def test_a_millimetre_of_air_is_enough() -> None:
    assert [] == _slot(6.1)


def test_less_is_told_with_what_is_missing() -> None:
    ((code, severity, message),) = _slot(5.4, edges=5.0)
    assert ("reach", Severity.warn) == (code, severity)
    # It sticks out 5.4, and 1 mm of air is wanted: 0.6 mm more.
    assert "the collet nut passes close to wood. Set `bits: {six: {stickout: 6}}`. 0.400 mm; least 1.000 mm" == message


def test_a_pass_high_above_does_not_hide_a_deep_one() -> None:
    text = program("G0 X-14 Y0\nG1 Z8 F200\nG1 X44 F1000\nG1 Z5 F200\nG1 X-14 F1000\nG0 Z16\n")
    (found,) = check(inputs(text, bits={**BITS, 1: ("six", _bit(5.4, 5.0))}))
    assert "0.400 mm" == found.said.measured


def test_where_the_nut_touches_another_check_stops() -> None:
    assert [] == _slot(4.5, edges=4.0)
    text = program("G0 X-14 Y0\nG1 Z8 F200\nG1 X44 F1000\nG1 Z5 F200\nG1 X-14 F1000\nG0 Z16\n")
    assert [] == check(inputs(text, bits={**BITS, 1: ("six", _bit(4.5, 4.0))}))


def test_flutes_in_the_collet_are_told() -> None:
    ((code, severity, message),) = _slot(10.0, edges=12.0)
    assert ("reach", Severity.warn) == (code, severity)
    assert "the collet grips the flutes of six, not only its shank. Set `bits: {six: {stickout: 12}}`" in message
    assert "10.00 mm out of the collet; edges 12.00 mm long" in message
