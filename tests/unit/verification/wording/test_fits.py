"""What `neckpath fit` says: what is wrong and what to do, lengths in the job's units."""

from __future__ import annotations

import re

import pytest

from toolpaths.common.units import Units
from toolpaths.verification.wording import fits

VERBS = "give|move|see|trim|use|make|leave|round|bore|clamp|check|set|cut|correct|write"


def texts(units: Units) -> list[str]:
    """Every text that is a sentence."""
    names = (name for name in vars(fits) if name.isupper() and name not in ("PAST_END", "BEHIND_NUT", "AT_SIDE"))
    return [
        *(getattr(fits, name) for name in names),
        fits.board_too_wide("fret 12"),
        fits.neck_too_wide("the end"),
        fits.nut_slot_off(0.1, units),
        fits.nut_slot_off(-0.1, units),
        fits.not_covered(fits.AT_SIDE),
        fits.thin_over(2.0, units),
        fits.glue_face_too_low(1.5, units),
        fits.board_near_body(7.11, 0.4, 0.5, units),
        fits.corners_differ(6.35, units),
        fits.pins_apart(0.2, units),
        fits.too_deep_in_jig(5.0, units),
    ]


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_says_what_to_do_in_one_sentence(which: int) -> None:
    text = texts("mm")[which]
    assert len(text) <= 190
    assert not text.endswith(".")
    assert re.search(
        r"\b(give|move|see|trim|use|make|leave|round|bore|clamp|check|set|cut|correct|write|in both)\b", text
    )


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_a_job_in_inches_is_told_nothing_in_metric(which: int) -> None:
    assert [] == re.findall(r"\d ?m?m\b", texts("in")[which])


def test_a_clearance_is_told_finely() -> None:
    assert "0.400 mm above the body" in fits.board_near_body(7.11, 0.4, 0.5, "mm")
    assert "0.0079 in apart" in fits.pins_apart(0.2, "in")
