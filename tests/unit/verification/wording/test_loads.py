"""What is said of the loads on bit and spindle: three lines at most, lengths in the job's units."""

from __future__ import annotations

import re

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.finding import Entry, Finding, Remedy, Severity
from toolpaths.verification.remedies import in_words
from toolpaths.verification.wording import loads
from toolpaths.verification.wording.message import Message

FEED: Remedy = (Entry("feed", "1137"),)
SLOWER_TURNS: Remedy = (Entry("rpm", "14500"), Entry("feed", "1110"))
EITHER = in_words((FEED, SLOWER_TURNS), "")
DEPTH = in_words(((Entry("pass_depth", "1.588"),),), "")


def texts(units: Units) -> list[tuple[str, Message]]:
    """Every text, with the code that it is said under."""
    return [
        ("chip-thick", loads.chip_too_thick(0.0398, 0.03, down=False, remedy=EITHER, feed=1, units=units)),
        ("chip-thick", loads.chip_too_thick(0.0398, 0.03, down=True, remedy=EITHER, feed=1137, units=units)),
        ("chip-thin", loads.chip_too_thin(0.0098, 0.01, remedy=EITHER, feed=1, units=units)),
        ("chip-thin", loads.chip_too_thin(0.0098, 0.01, remedy="", feed=1137, units=units)),
        ("chip-thin", loads.pass_too_narrow(0.0098, 0.01, brief=True, units=units)),
        ("chip-thin", loads.pass_too_narrow(0.0098, 0.01, brief=False, units=units)),
        ("chip-thin", loads.moves_too_short(0.0098, 0.01, units=units)),
        ("pass-deep", loads.pass_too_deep_for_bit("tapered_eighth", 14.5, 12.5, remedy=DEPTH, units=units)),
        ("pass-depth", loads.pass_deeper_than_the_job_s(14.5, 12.5, units=units)),
        ("fine-bit", loads.fine_bit_too_deep(0.35, 0.3, remedy=DEPTH, units=units)),
        ("fine-bit", loads.fine_bit_too_steep(15.5, 2.0)),
        ("fine-bit", loads.fine_bit_plunges(12.5, 2.0, units=units)),
        ("chips-pack", loads.chips_packed(14.8, 12.7, wider=8.89, units=units)),
        ("chips-pack", loads.chips_packed(2.0, 1.2, wider=None, units=units)),
        ("plunge", loads.end_does_not_cut(12.0, units=units)),
        ("plunge", loads.plunge_too_fast(1300, 1200, units=units)),
        ("deflection", loads.bends_aside(0.152, 0.1, remedy=in_words((FEED,), ""), feed=1, units=units)),
        ("power", loads.power_too_low(1190, 0.63, 182, remedy=in_words((FEED,), ""), feed=1, units=units)),
        ("power", loads.power_too_low(1190, 0.63, 182, remedy="", feed=1137, units=units)),
        ("surface-speed", loads.rim_too_fast(1131, 720, remedy=in_words((SLOWER_TURNS,), ""), rpm=1, units=units)),
        ("surface-speed", loads.rim_too_fast(1131, 720, remedy="", rpm=11400, units=units)),
        ("spiral", loads.lifts_thin_wood(8.5, 10.0, by="a vacuum", units=units)),
        ("spiral", loads.frays_the_edge()),
        ("runout", loads.runout_above_the_chip(0.08, 0.0067, slot=0.68, units=units)),
    ]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_has_three_lines_at_most(which: int, units: Units) -> None:
    code, said = texts(units)[which]
    lines = lines_on_80(_placed(code, said), JOB)
    assert len(lines) <= 3, "\n".join(lines)


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_a_job_in_inches_is_told_nothing_in_metric(which: int) -> None:
    assert [] == re.findall(r"\d ?m?m\b", texts("in")[which][1].text)


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_says_what_is_wrong_and_what_to_do(which: int) -> None:
    _, said = texts("mm")[which]
    assert said.wrong
    assert said.todo


def test_the_parts_of_a_thick_chip() -> None:
    said = loads.chip_too_thick(0.0398, 0.03, down=False, remedy=EITHER, feed=1, units="mm")
    assert "set `feed: 1137` or `rpm: 14500` with `feed: 1110`" == said.todo
    assert ("0.0398 mm a tooth", "most 0.0300 mm") == (said.measured, said.limit)


def test_the_speed_of_a_rim_is_in_feet_where_the_job_is_in_inches() -> None:
    # 720 m/min are 2362 ft/min. Arithmetic.
    said = loads.rim_too_fast(1131, 720, remedy="", rpm=11400, units="in")
    assert ("3711 ft/min", "most 2362") == (said.measured, said.limit)


def _placed(code: str, said: Message) -> Finding:
    """With all places that a finding of its code has, and its longest weight."""
    if code == "runout":
        return longest(code, said, feature="", in_job=False, place=False)
    return longest(code, said, severity=Severity.stop)
