"""With the longest values that are likely, every text about words for the controller has room on three lines."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.verification.wording import controller
from toolpaths.verification.wording.message import Message

WHOLE: dict[str, Any] = {"feature": "", "in_job": False, "place": False}
"""What concerns a line of the program, and no feature."""

SETUP_WORDS: list[tuple[Message, dict[str, Any]]] = [
    (controller.no_units("G21"), WHOLE),
    (controller.other_units("G20", "G21"), WHOLE),
    (controller.no_offset("G59.1"), WHOLE),
    (controller.other_offset("G59.1", "G54", "back, on its pins"), WHOLE),
    (controller.NO_PLANE, WHOLE),
    (controller.NO_DISTANCE, WHOLE),
    (controller.STEPS, WHOLE),
    (controller.upright_plane("G18", True), WHOLE),
    (controller.upright_plane("G18", False), WHOLE),
    (controller.arcs_refused(1453, True), {}),
    (controller.arcs_refused(1453, False), {}),
    (controller.arc_too_coarse(0.0039, 0.002, 1453, "mm"), {}),
    (controller.arc_too_coarse(0.0039, 0.002, 1453, "in"), {}),
    (controller.t_refused(12), WHOLE),
    (controller.BIT_CHANGE_REFUSED, WHOLE),
    (controller.line_too_long(122, 80, 1453), WHOLE),
    (controller.comments_refused(1453), WHOLE),
    (controller.no_line_number(1453), WHOLE),
    (controller.NO_PERCENT, WHOLE),
    (controller.BEFORE_PERCENT, WHOLE),
]
SPINDLE: list[tuple[Message, dict[str, Any]]] = [
    (controller.NOT_ENDED, WHOLE),
    (controller.spindle_off("G4 P4000", False), {}),
    (controller.spindle_off("G4 P4000", True), {}),
    (controller.not_at_speed(0.004, "18000 rpm", 4.0, "G4 P4000", "M3"), {}),
    (controller.not_at_speed(3.9, "the pause", 4.0, "G4 P4000", "M0"), {}),
    (controller.STILL_ON, WHOLE),
    (controller.CHANGED_WHILE_ON, WHOLE),
    (controller.NO_PAUSE_FOR_DIAL, WHOLE),
    (controller.NO_PAUSE_TO_START, {}),
    (controller.NO_PAUSE_TO_CHANGE, {}),
    (controller.NO_PAUSE_AT_END, WHOLE),
    (controller.ends_while_on("M30"), WHOLE),
    (controller.other_speed_in_words(12000.0, "10000 to 18000", "tapered-ball"), WHOLE),
    (controller.other_mark_in_words("dial below 3", 18000.0, "2 and 3"), WHOLE),
    (controller.waits_too_long(90000.0, 90.0, 60.0, 60000.0), WHOLE),
    (controller.speed_out_of_range(28000.0, 10000.0, 24000.0), {}),
    (controller.too_fast_for_bit(18000.0, "tapered-ball", 16000.0), {}),
]


@pytest.mark.parametrize(
    ("code", "said", "less"),
    [*(("setup-words", *one) for one in SETUP_WORDS), *(("spindle", *one) for one in SPINDLE)],
)
def test_every_text_has_room_on_three_lines(code: str, said: Message, less: dict[str, Any]) -> None:
    lines = lines_on_80(longest(code, said, **less), JOB)
    assert 3 >= len(lines), "\n".join(lines)
    assert 80 >= max(map(len, lines)), "\n".join(lines)
