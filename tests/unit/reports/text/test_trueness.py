"""What the errors of a machine do to lines, in words: numbers from equal temperament, worked out here."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured
from toolpaths.reports.text.trueness import machine_trueness


def told(name: str = "bench-router", **measured: Any) -> list[str]:
    machine: Machine = load_machine(name)
    if measured:
        found = Measured.model_validate(measured, context={"units": machine.units})
        machine = machine.model_copy(update={"measured": found})
    return list(machine_trueness(machine, name))


def test_an_axis_that_nobody_measured() -> None:
    # 0.1 mm in 500 (common practice, no source) is 0.06 at 300; fret 12 of L 650 is at 325.000 (derived): 0.065 mm,
    # 1200 log2(325 / 324.935) = 0.35 cents.
    assert [
        "The X axis has not been calibrated. An error of 0.1 mm in 500 mm is 0.060 mm at 300.00 mm; on a scale of "
        "650.00 mm, taken as an example, it would move fret 12 by 0.065 mm, 0.3 cents: `neckpath gauge bench-router` "
        "measures it."
    ] == told()
    assert "0.0024 in at 12.000 in" in told("hand-dial")[0]


def test_what_corrections_are_worth() -> None:
    # 0.32 mm short in 400: 0.24 in 300, 0.26 in 325 (fret 12 of L 650: 325.000, derived), 1200 log2(325 / 325.26) =
    # -1.38 cents. 0.1 mm long in 300: 0.0167 in 50.
    x, y = told(x={"commanded": 400, "measured": 399.68}, y={"commanded": 300, "measured": 300.1})
    assert "Over 300.00 mm that is 0.240 mm, which the programs correct." in x
    assert "fret 12 would be 0.260 mm too near the nut, 1.4 cents flat, on a scale of 650.00 mm, taken as an" in x
    assert "That is 0.017 mm on a width of 50.00 mm" in y


@given(st.floats(-0.019, 0.019).filter(lambda part: abs(part) > 1e-4))
def test_millimetres_and_cents_follow_the_error(part: float) -> None:
    (words,) = told(x={"commanded": 400, "measured": 400 * (1 + part)})
    # d(12) = L / 2; cents by Mersenne's law.
    error = 325 * part
    found = re.search(r"fret 12 would be ([\d.]+) mm too (far from|near) the nut, ([\d.]+) cents (sharp|flat)", words)
    assert found is not None
    assert abs(error) == pytest.approx(float(found[1]), abs=0.0006)
    cents = 1200 * math.log2(325 / (325 - error))
    assert abs(cents) == pytest.approx(float(found[3]), abs=0.051)
    assert (("far from", "sharp") if part > 0 else ("near", "flat")) == (found[2], found[4])


def test_backlash_does_not_part_the_lines_and_is_said_for_what_goes_both_ways() -> None:
    _, lines, both, down = told(backlash={"x": 0.08, "z": 0.02})
    # 1200 log2(325 / 324.92) = 0.43 cents.
    assert "the programs come to each line from lower X, so all lines are off by the same amount" in lines
    assert "From both sides they would differ by 0.4 cents at fret 12" in lines
    assert both.startswith("Backlash in X, 0.080 mm: what is cut with X going there and back may come out narrower")
    assert down == "Backlash in Z, 0.020 mm: set Z by coming down onto the paper, never up to it."


def test_backlash_that_is_none_is_not_said() -> None:
    assert 1 == len(told(backlash={"x": 0.0, "y": None}))
    with pytest.raises(ValueError, match="less than or equal"):
        told(backlash={"x": 2})
