"""A program that runs in the air touches nothing and says that it is lifted."""

from __future__ import annotations

import re

from tests.support.words_builder import changed, good, inputs, job
from toolpaths.job.stock import KeepOut
from toolpaths.verification.checks.program.air import check
from toolpaths.verification.finding import Severity


def lifted(text: str, lift: float, says: str | None = None) -> str:
    """All heights raised, and said so in the header."""
    body = re.sub(r"\bZ(-?[0-9.]+)", lambda m: f"Z{float(m[1]) + lift:g}", text)
    said = f"(Lifted: {lift:.3f} mm)\n" if says is None else says
    return changed(body, "(Bit 2:", said + "(Bit 2:")


def test_a_program_that_cuts_and_says_nothing_of_a_lift_passes() -> None:
    assert [] == check(inputs())


def test_a_program_lifted_clear_passes() -> None:
    assert [] == check(inputs(lifted(good(), 20), lift=20))


def test_a_lift_that_the_header_does_not_say_is_a_stop() -> None:
    (found,) = check(inputs(lifted(good(), 20, says=""), lift=20))
    assert Severity.stop == found.severity
    assert ("Header: no lift", "must be 20.00 mm") == (found.said.measured, found.said.limit)


def test_a_header_that_says_another_lift_is_a_stop() -> None:
    text = lifted(good(), 20, says="(Lifted: 19.990 mm)\n")
    (found,) = check(inputs(text, lift=20))
    assert "Header: 19.99 mm; must be 20.00 mm" in found.message
    # Half of the last digit is rounding.
    assert [] == check(inputs(lifted(good(), 20, says="(Lifted: 20.0004 mm)\n"), lift=20))


def test_a_program_to_cut_with_that_says_it_is_lifted_is_a_stop() -> None:
    text = changed(good(), "(Bit 2:", "(Lifted: 20.000 mm)\n(Bit 2:")
    (found,) = check(inputs(text))
    assert "the header says that the program is lifted to run in the air, but it is to cut" == found.said.wrong
    assert "Lifted by 20.00 mm" == found.said.measured


def test_a_lift_too_small_to_clear_the_stock_is_a_stop() -> None:
    # The lines' floor is 5.5 above the bed and the stock 8: a lift of 3.5 clears it by 1 mm.
    assert [] == check(inputs(lifted(good(), 3.5), lift=3.5))
    (found,) = check(inputs(lifted(good(), 3.4), lift=3.4))
    # 5.5 + 3.4 is 8.9 above the bed.
    assert (
        "the lifted bit is too near the blank. Lift by 3.50 mm or more. 0.90 mm above its top; least 1.00 mm above"
    ) == found.message


def test_a_clamp_taller_than_the_stock_decides() -> None:
    of = job(keep_out=[KeepOut(name="end stop", x=(-60, -40), y=(-25, 25), height=14)])
    assert [] == check(inputs(lifted(good(), 9.5), of=of, lift=9.5))
    (found,) = check(inputs(lifted(good(), 9.4), of=of, lift=9.4))
    # 5.5 + 9.4 is 14.9 above the bed.
    assert "too near end stop. Lift by 9.50 mm or more. 0.90 mm above its top" in found.message


def test_one_move_left_low_is_found() -> None:
    text = changed(lifted(good(), 20), "G1 Z25.5 F80", "G1 Z5.5 F80")
    (found,) = check(inputs(text, lift=20))
    assert text.split("\n").index("G1 Z5.5 F80") + 1 == found.program_line
