"""A scored line is narrow enough for the saw. Its width is measured in the wood that the text leaves."""

from __future__ import annotations

import numpy as np
import pytest

from tests.words_builder import SCORER, changed, evidence, good, job, score_lines, scored
from toolpaths.checks.kerf import check, widths_of
from toolpaths.core.finding import Severity


def test_a_line_of_the_saws_width_passes() -> None:
    assert [] == check(evidence())


@pytest.mark.parametrize(("kerf", "warns"), [(0.49, True), (0.51, False)])
def test_a_line_a_tenth_wider_than_the_kerf_is_warned_of(kerf: float, warns: bool) -> None:
    found = check(evidence(of=job(kerf=kerf)))
    assert warns == bool(found)
    if warns:
        assert Severity.warn == found[0].severity
        assert (
            "is 0.60 mm wide, and the saw's kerf is 0.49 mm (3 of 3 lines are more than 0.10 mm wider)"
            in found[0].message
        )
        assert 31 == found[0].job_line


def test_the_width_is_that_of_the_text() -> None:
    # A second run 0.15 mm beside the first makes line 1 wider: 0.6 + 0.15. Derived.
    beside = "G0 X16.988 Y-21.3\nG1 Z6.5 F80\nG1 Z5.5 F80\nG1 Y21.3 F240\nG0 Z13\n"
    given = evidence(changed(good(), "M5\n", beside + "M5\n"))
    assert pytest.approx([0.75, 0.6, 0.6], abs=1e-3) == widths_of(given, score_lines()).tolist()
    (found,) = check(given)
    assert "the line of fret 1 is 0.75 mm wide" in found.message
    assert "(1 of 3 lines" in found.message
    assert pytest.approx((16.838, 0)) == (found.x, found.y)


def test_a_pointed_bit_widens_with_depth() -> None:
    # 60 degrees, tip 0.1: 0.1 + 2 x 0.5 tan 30 = 0.6774 at 0.5 mm, 0.1 + 1.0 tan 30 x 1.2 = 0.7928 at 0.6. Derived.
    text = changed(good(), "T2\n", "T4\n")
    lines = (score_lines(bit="vee60"),)
    given = evidence(text, operations=lines)
    assert pytest.approx([0.6774] * 3, abs=1e-3) == widths_of(given, lines[0]).tolist()
    assert [] == check(given)
    deeper = changed(text, scored(), scored(depths=[5.7, 5.4]))
    assert ["kerf"] == [f.code for f in check(evidence(deeper, operations=lines))]


def test_a_line_that_is_not_cut_has_no_width() -> None:
    text = changed(good(), scored(), "G0 X0 Y0\n")
    assert np.all(np.isnan(widths_of(evidence(text), score_lines())))
    assert [] == check(evidence(text))


def test_a_line_that_runs_into_a_pocket_is_not_measured_there() -> None:
    pocket = "".join(f"G0 X{x:g} Y0\nG1 Z6.5 F80\nG1 Z5.5 F80\nG0 Z13\n" for x in np.arange(17.2, 19.0, 0.4))
    given = evidence(changed(good(), "M5\n", pocket + "M5\n"))
    assert np.isnan(widths_of(given, score_lines())[0])
    assert [] == check(given)


def test_the_scorer_of_these_tests_is_the_width_they_say() -> None:
    assert 0.6 == SCORER.cut_diameter
