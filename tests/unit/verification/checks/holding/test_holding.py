"""What holds the blank and the part is proven from both maps; each fault is seen, and what nearly is one is not."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from tests.support.small_board import small_board, written
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make, verify
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome

CODES = {
    "part-loose", "part-parted", "hold-weak", "gives-way", "offcut-loose", "holder-unplaced", "holder-place",
}  # fmt: skip
PITCH = Changes(pitch=0.5)
PLANE = "      - plane: {bit: planer, leave: 5}\n"
LINES = "score_lines: {bit: scorer, depth: 0.4}"
FENCE = "{stops: [{name: fence, x: [-30, -18], y: [-20, 20], height: 4}]}"
PIN = "{pins: {at: [{x: -12, y: 0, diameter: 4}], height: 2}}"
ENDS = (
    "{clamps: [{name: left clamp, x: [-40, -10], y: [-8, 8], height: 20}, "
    "{name: right clamp, x: [98, 130], y: [-8, 8], height: 20}]}"
)


def job(*features: str, hold: str = "tape", planed: bool = True) -> str:
    """The small board: blank 124 x 70 from x -18, cut to 6 mm where nothing is planed. The part is 40 to 44 wide."""
    text = small_board(*features, hold=hold)
    return text if planed else text.replace(PLANE, "")


def outcome_of(folder: Path, text: str) -> Outcome:
    return make(written(folder, text), PITCH)


def found(folder: Path, text: str, code: str = "") -> list[Finding]:
    return [f for f in outcome_of(folder, text).findings if f.code in ({code} if code else CODES)]


def outline(**tabs: float) -> str:
    sizes = ", ".join(f"{k}: {v}" for k, v in tabs.items())
    return "outline: {bit: quarter" + (f", tabs: {{{sizes}}}" if tabs else "") + "}"


# The part


def test_on_tape_nothing_comes_loose_without_a_tab(tmp_path: Path) -> None:
    assert [] == found(tmp_path, job(outline()))


def test_without_a_tab_a_clamped_blank_lets_the_part_go_at_the_last_level(tmp_path: Path) -> None:
    outcome = outcome_of(tmp_path, job(outline(), hold=ENDS, planed=False))
    (loose,) = [f for f in outcome.findings if f.code == "part-loose"]
    assert loose.severity is Severity.stop
    assert loose.never_accepted
    # The line is one of the last level's: below it 1 mm of wood is no longer there.
    lines = outcome.programs[0].text.splitlines()
    z = [float(v) for line in lines[: loose.program_line] for v in re.findall(r"\bZ(-?[\d.]+)", line.split("(")[0])]
    assert z[-1] < 1.0
    assert re.search(r"`tabs: \{count: \d+, length: [\d.]+, height: [\d.]+\}`", loose.message)


@pytest.mark.parametrize(("height", "free"), [(0.9, True), (1.1, False), (2.0, False)])
def test_wood_joins_from_one_millimetre_on(height: float, free: bool, tmp_path: Path) -> None:
    """The least tab: common practice, no source."""
    codes = {f.code for f in found(tmp_path, job(outline(count=4, length=8, height=height), hold=ENDS, planed=False))}
    assert free == ("part-loose" in codes)


def test_one_tab_holds_no_turning_and_four_do(tmp_path: Path) -> None:
    (one,) = found(tmp_path, job(outline(count=1, length=8, height=2), hold=ENDS, planed=False), "hold-weak")
    assert one.severity is Severity.stop
    assert "bears no turning" in one.said.measured
    assert [] == found(tmp_path, job(outline(count=4, length=8, height=2.5), hold=ENDS, planed=False), "hold-weak")


def test_a_part_that_falls_in_two_is_told_where(tmp_path: Path) -> None:
    """Cut across between its tabs and its end: what lies beyond, a quarter of it, hangs on nothing."""
    path = written(tmp_path, job(outline(count=2, length=8, height=2.5), hold=ENDS, planed=False))
    program = make(path, PITCH).programs[-1]
    cut = "G0 X62 Y-40\nG1 Z-0.1 F300\nG1 Y40 F900\nG0 Z40"
    spoilt = tmp_path / program.name
    spoilt.write_text(program.text.replace("\nM5\n", f"\n{cut}\nM5\n", 1))
    (parted,) = [f for f in verify(path, [spoilt], PITCH).findings if f.code == "part-parted"]
    assert "G1 Y40" in spoilt.read_text().splitlines()[parted.program_line - 1]


@pytest.mark.parametrize("hold", [FENCE, PIN], ids=["stop", "pin"])
def test_stops_and_pins_hold_nothing_down(hold: str, tmp_path: Path) -> None:
    features = ("pin_bores: {bit: eighth, diameter: 4, at: [[-12, 0]]}", outline(count=4, length=8, height=2))
    codes = [f.code for f in found(tmp_path, job(*features, hold=hold, planed=False))]
    assert "part-loose" in codes


def test_a_job_that_does_not_say_what_holds_is_warned_once(tmp_path: Path) -> None:
    text = job(outline()).replace("    hold: tape\n", "")
    (said,) = found(tmp_path, text, "part-loose")
    assert said.severity is Severity.warn


def test_tape_under_one_end_bears_less_than_tape_under_all(tmp_path: Path) -> None:
    weak = found(tmp_path, job(outline(), hold="{tape: {x: [-18, -8]}}"))
    assert {"hold-weak", "part-loose"} & {f.code for f in weak if f.severity is Severity.stop}


# Offcuts


def test_waste_beside_a_part_that_alone_is_held_comes_free(tmp_path: Path) -> None:
    """Tape under the board alone: the frame around it is loose once the kerf is through; its weight is its volume times
    580 kg/m3 of black cherry (G 0.50, Wood Handbook, from memory, x 1120)."""
    text = job(outline(), hold="{tape: {x: [0, 75], y: [-18, 18]}}")
    (frame,) = found(tmp_path, text, "offcut-loose")
    kerf = 6.35 + 0.2
    area = 124 * 70 - (81.2 + 2 * kerf) * (42 + 2 * kerf)
    grams = int(re.search(r"(\d+) g$", frame.said.measured)[1])  # type: ignore[index]
    assert math.isclose(grams, area * 5 * 560e-6, rel_tol=0.25)
    assert frame.program_line > 0
    # Its place is on the frame, beside the board and its kerf, and not in the frame's middle, where the board lies.
    assert frame.x is not None
    assert frame.y is not None
    assert 20 + kerf < abs(frame.y) < 35
    assert -18 < frame.x < 106


# Holders


@pytest.mark.parametrize(
    ("hold", "severity", "words"),
    [
        ("{tape: {}, stops: [{name: fence, x: [-30, -15], y: [-9, 9], height: 3}]}", "stop", "stands inside the blank"),
        ("{tape: {}, stops: [{name: fence, x: [-40, -20], y: [-9, 9], height: 3}]}", "warn", "2.000 mm off"),
        ("{tape: {}, stops: [{name: fence, x: [-40, -18.3], y: [-9, 9], height: 3}]}", "", ""),
        ("{clamps: [{name: toe, x: [-40, -19], y: [-9, 9], height: 30}], tape: {}}", "stop", "does not reach over"),
        ("{clamps: [{name: toe, x: [-40, -12], y: [-9, 9], height: 5}], tape: {}}", "stop", "stands in the wood"),
        ("{screws: {at: [[-13, 40]], head: 6, sunk: 2}, tape: {}}", "stop", "beside the blank"),
        ("{screws: {at: [[30, 0]], head: 6, sunk: 2}, tape: {}}", "stop", "goes through the part"),
        ("{screws: {at: [[-9, -26]], head: 6, head_height: 1, sunk: 3.5}, tape: {}}", "stop", "2.50 mm of wood"),
        ("{screws: {at: [[-12, -26]], head: 6, head_height: 1, sunk: 3}, tape: {}}", "warn", "6.00 mm from the"),
        ("{screws: {at: [[-9, -26]], head: 6, head_height: 0.9, sunk: 3}, tape: {}}", "", ""),
        ("{tape: {x: [300, 400]}}", "stop", "does not lie under the blank"),
        ("{}", "stop", "names nothing"),
        (
            "{tape: {}, clamps: [{name: jaw, x: [0, 60], y: [-60, -36], height: 5, presses: from the side}]}",
            "stop", "does not touch the blank's edge",
        ),
    ],
)  # fmt: skip
def test_a_holder_stands_only_where_it_can(hold: str, severity: str, words: str, tmp_path: Path) -> None:
    """The blank goes from x -18 to 106 and y -35 to 35, 6 mm thick."""
    placed = found(tmp_path, job(LINES, hold=hold), "holder-place")
    assert [severity] * bool(words) == [str(f.severity) for f in placed if words in f.message]
    if not words:
        assert [] == placed


def test_what_is_in_the_way_stands_in_no_wood_either(tmp_path: Path) -> None:
    text = job(LINES).replace(
        "    hold", "    keep_out: [{name: bolt, x: [90, 95], y: [-30, -25], height: 5}]\n    hold"
    )
    assert any("bolt stands inside" in f.message for f in found(tmp_path, text, "holder-place"))


@pytest.mark.parametrize("hold", ["screws", "clamps"])
def test_metal_without_a_place_is_refused_with_places_that_fit(hold: str, tmp_path: Path) -> None:
    """Pasted, the places are taken: nothing comes too near, and the part stays held."""
    features = ("score_lines: {bit: scorer, depth: 0.4}", outline(count=4, length=8, height=2.5))
    text = job(*features, hold=hold, planed=False).replace("length: 124, width: 70", "length: 150, width: 100")
    (told,) = found(tmp_path, text, "holder-unplaced")
    assert told.severity is Severity.stop
    value = re.search(r"`hold: (\{.*\})`", told.message)[1]  # type: ignore[index]
    assert f"hold: {value}" == told.said.paste
    pasted = text.replace(f"hold: {hold}", f"hold: {value}")
    after = outcome_of(tmp_path, pasted)
    assert not after.stopped, [f.message for f in after.findings]


def test_where_there_is_no_room_it_says_so(tmp_path: Path) -> None:
    (told,) = found(tmp_path, job(outline(count=4, length=8, height=2), hold="clamps"), "holder-unplaced")
    assert "no room" in told.message
    assert () == told.remedies
