"""A scored line is narrow enough for the saw. Its width is measured in the wood that the text leaves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.words_builder import SCORER, changed, good, inputs, job, machine, score_lines, scored
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument.kerf import check, widths_of
from toolpaths.verification.finding import Severity


def test_a_line_of_the_saws_width_passes() -> None:
    assert [] == check(inputs(of=job(kerf=0.6)))


def _wobbling(given: CheckInput, **changes: Any) -> CheckInput:
    """The same with a property of every bit changed."""
    return replace(given, bits={n: (name, b.model_copy(update=changes)) for n, (name, b) in given.bits.items()})


@pytest.mark.parametrize("runout", [0.0, 0.01, 0.02, 0.05])
@pytest.mark.parametrize("kerf", [0.4, 0.5, 0.54, 0.549, 0.55, 0.551, 0.579, 0.58, 0.581, 0.6, 0.63, 0.65])
def test_a_line_is_told_of_from_two_hundredths_over_the_saw_and_warned_of_from_five(kerf: float, runout: float) -> None:
    # The scorer of these tests is 0.6 mm; runout, the total reading, widens its line by as much.
    over = round(0.6 + runout - kerf, 6)
    of_machine = check(inputs(of=job(kerf=kerf), on=machine(runout=runout)))
    of_bit = check(_wobbling(inputs(of=job(kerf=kerf), on=machine(runout=0.9)), runout=runout))
    for found in (of_machine, of_bit):
        want = [Severity.warn] if over >= 0.05 else [Severity.note] if over >= 0.02 else []
        assert want == [f.severity for f in found]
        if found:
            said = found[0].said
            assert (f"{0.6 + runout:.3f} mm", f"kerf {kerf:.3f} mm") == (said.measured, said.limit)
            assert said.wrong.startswith("3 of 3 lines ")
            assert f"take a bit up to {kerf - runout:.3f} mm" in said.todo
            assert ("do not guide the saw" in said.wrong) == (over > 0.1)
            assert 31 == found[0].job_line


def test_the_runout_of_a_bit_that_was_measured_in_a_test_slot_is_in_its_diameter() -> None:
    given = _wobbling(inputs(of=job(kerf=0.6), on=machine(runout=0.08)), measured_diameter=0.6)
    assert [] == check(given)


@pytest.mark.parametrize("runout", [0.0, 0.03, 0.06])
def test_a_pointed_bit_s_line_is_wider_by_the_runout_too(runout: float) -> None:
    # 60 degrees, tip 0.1: 0.1 + 2 x 0.5 tan 30 = 0.6774 wide at 0.5 mm. Derived.
    text, lines = changed(good(), "T2\n", "T4\n"), (score_lines(bit="vee60"),)
    for kerf in (0.59, 0.62, 0.66, 0.7, 0.75):
        found = check(inputs(text, operations=lines, of=job(kerf=kerf), on=machine(runout=runout)))
        over = round(0.677 + runout - kerf, 3)
        assert ([] if over < 0.02 else ["note"] if over < 0.05 else ["warn"]) == [str(f.severity) for f in found]
        assert all("score less deep or take a bit" in f.said.todo for f in found)


def test_the_width_is_that_of_the_text() -> None:
    # A second run 0.15 mm beside the first makes line 1 wider: 0.6 + 0.15. Derived.
    beside = "G0 X16.988 Y-21.3\nG1 Z6.5 F80\nG1 Z5.5 F80\nG1 Y21.3 F240\nG0 Z13\n"
    given = inputs(changed(good(), "M5\n", beside + "M5\n"), of=job(kerf=0.6))
    assert pytest.approx([0.75, 0.6, 0.6], abs=1e-3) == widths_of(given, score_lines()).tolist()
    (found,) = check(given)
    assert "0.750 mm" == found.said.measured
    assert "1 of 3 lines do not guide the saw" == found.said.wrong
    assert pytest.approx((16.838, 0)) == (found.x, found.y)


def test_a_pointed_bit_widens_with_depth() -> None:
    # 60 degrees, tip 0.1: 0.1 + 2 x 0.5 tan 30 = 0.6774 at 0.5 mm, 0.1 + 1.0 tan 30 x 1.2 = 0.7928 at 0.6. Derived.
    text = changed(good(), "T2\n", "T4\n")
    lines = (score_lines(bit="vee60"),)
    given = inputs(text, operations=lines, of=job(kerf=0.66))
    assert pytest.approx([0.6774] * 3, abs=1e-3) == widths_of(given, lines[0]).tolist()
    assert [] == check(given)
    deeper = changed(text, scored(), scored(depths=[5.7, 5.4]))
    assert ["kerf"] == [f.code for f in check(inputs(deeper, operations=lines, of=job(kerf=0.66)))]


def test_a_line_that_is_not_cut_has_no_width() -> None:
    text = changed(good(), scored(), "G0 X0 Y0\n")
    assert np.all(np.isnan(widths_of(inputs(text), score_lines())))
    assert [] == check(inputs(text))


def test_a_line_that_runs_into_a_pocket_is_not_measured_there() -> None:
    pocket = "".join(f"G0 X{x:g} Y0\nG1 Z6.5 F80\nG1 Z5.5 F80\nG0 Z13\n" for x in np.arange(17.2, 19.0, 0.4))
    given = inputs(changed(good(), "M5\n", pocket + "M5\n"), of=job(kerf=0.6))
    assert np.isnan(widths_of(given, score_lines())[0])
    assert [] == check(given)


def test_the_scorer_of_these_tests_is_the_width_they_say() -> None:
    assert 0.6 == SCORER.cut_diameter
