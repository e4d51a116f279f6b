"""Fine bits at a maker's pace: minutes from the simulated text, and any line judged by its emitted text.

The trade cuts with bits of 0.5 to 0.6 mm at 300 to 600 mm/min, 0.2 to 0.3 mm a pass: from memory.
"""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.made import made as make
from tests.support.text_moves import TextMove, TextReader
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import compare
from toolpaths.reports.text.line_words import line_words
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import FeatureReport, Outcome

DEMO = Path(__file__).parents[2] / "demo_jobs" / "tenor_board.yaml"
LOOSE = Changes(pitch=0.5)
BOARD = """\
title: Lines of an invented board
units: mm
machine: {machine}
wood: hard maple
instrument:
  scale_length: {scale}
  frets: {frets}
  strings: 6
  board: {{width: {{nut: 42, end: 52}}, overhang: 10, thickness: 6, radius: 305}}
stock: {{length: {long}, width: {wide}, thickness: 6}}
by_hand: slots sawn before radiusing
bits:
  fine: {{shape: flat, diameter: {diameter}, flutes: 2, cutting_length: 4.5, shank: 3.175, stickout: 15}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 15
    hold: {hold}
    features:
      - {feature}
"""


def job(folder: Path, feature: str, **keys: Any) -> Path:
    given = {
        "machine": "bench-router", "scale": 648, "frets": 22, "long": 510, "wide": 70, "diameter": 0.58, "hold": "tape",
        **keys,
    }  # fmt: skip
    path = folder / "lines.yaml"
    path.write_text(BOARD.format(feature=feature, **given), encoding="utf-8")
    return path


def row(outcome: Outcome) -> FeatureReport:
    return next(f for s in outcome.setups for f in s.features if f.cutting.lines is not None)


def program_minutes(outcome: Outcome) -> float:
    bit = row(outcome).bit
    return next(p.minutes for p in outcome.programs if p.bits == (bit,))


def serious(outcome: Outcome) -> list[str]:
    """What is found but notes, and what hand-radiusing takes away."""
    found = [f for f in outcome.findings if f.severity is not Severity.note and "after-radius" not in f.code]
    return [f"{f.code}: {f.message}" for f in found]


# The figures


def test_the_tenor_demo_is_scored_in_twelve_minutes() -> None:
    outcome = make(DEMO, LOOSE)
    assert 12.0 >= program_minutes(outcome)
    assert "one way" == row(outcome).cutting.lines


@pytest.mark.parametrize(
    ("feature", "minutes"),
    [("score_lines: {bit: fine, depth: 0.5}", 12.0), ("fret_slots: {bit: fine, depth: 2}", 50.0)],
)
def test_twenty_two_lines_or_slots_of_a_fine_bit(tmp_path: Path, feature: str, minutes: float) -> None:
    outcome = make(job(tmp_path, feature), LOOSE)
    assert ([], "one way") == (serious(outcome), row(outcome).cutting.lines)
    assert minutes >= program_minutes(outcome)


@pytest.mark.parametrize("diameter", [0.5, 0.55, 0.58, 0.6])
def test_defaults_of_such_bits_are_those_of_the_trade(tmp_path: Path, diameter: float) -> None:
    found = row(make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5}", frets=1, diameter=diameter), LOOSE))
    assert 0.2 <= found.cutting.pass_depth <= 0.3
    assert 0.004 <= found.chip_load_mm <= 0.016
    assert 300 <= found.cutting.feed <= 600
    assert found.cutting.safety is not None
    assert found.cutting.safety >= 4.0


# Said


def test_what_one_way_costs_and_what_the_bit_bears_are_said(tmp_path: Path) -> None:
    one = make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5}", frets=5), LOOSE)
    cost = row(one).one_way_minutes
    assert cost is not None
    (tmp_path / "both").mkdir()
    both = make(job(tmp_path / "both", "score_lines: {bit: fine, depth: 0.5, direction: both}", frets=5), LOOSE)
    assert row(both).one_way_minutes is None
    # The other end begins further out, too, where levels begin at both: a second or two.
    assert cost == pytest.approx(program_minutes(one) - program_minutes(both), abs=0.1)
    said = list(line_words(one.setups[0]))
    assert any(f"takes {cost:.1f} min more than both ways: the machine's backlash in X is not" in w for w in said)
    assert any("fine in score_lines would break at about" in words for words in said)
    text = one.programs[0].text.replace(")\n(+ ", " ")
    assert "(score_lines: the bit would break at about" in text
    assert "(score_lines: every level in the same direction, reason: the machine's" in text


@pytest.mark.parametrize(("backlash", "cut"), [(None, "one way"), (0.0, "both"), (0.009, "both"), (0.01, "one way")])
def test_levels_go_both_ways_where_the_machine_has_no_backlash(
    tmp_path: Path, backlash: float | None, cut: str
) -> None:
    machine = (Path(__file__).parents[2] / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
    known = "" if backlash is None else f"\nmeasured: {{backlash: {{x: {backlash}}}}}\n"
    (tmp_path / "own.yaml").write_text(machine + known, encoding="utf-8")
    found = make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5}", frets=2, machine="./own.yaml"), LOOSE)
    assert ([], cut, "machine") == (serious(found), row(found).cutting.lines, row(found).cutting.limits["direction"])


def test_the_job_may_ask_for_a_direction_of_lines_only(tmp_path: Path) -> None:
    asked = make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5, direction: both}", frets=2), LOOSE)
    assert ("both", "job") == (row(asked).cutting.lines, row(asked).cutting.limits["direction"])
    for feature in ("score_lines: {bit: fine, depth: 0.5, direction: climb}", "plane: {bit: planer, direction: both}"):
        with pytest.raises(JobError):
            make(job(tmp_path, feature), LOOSE)


def test_compare_shows_the_careful_way_beside_it(tmp_path: Path) -> None:
    compared = compare(job(tmp_path, "score_lines: {bit: fine, depth: 0.5}", frets=2), [("fine", "careful")], LOOSE)
    (careful,) = compared.variants
    (now,), (then,) = compared.base.rows, careful.rows
    # A quarter of the diameter a pass, every level twice, at half of the feed.
    assert (0.145, 4) == (pytest.approx(then.pass_depth_mm), then.passes)
    assert 0.29 == pytest.approx(now.pass_depth_mm)
    assert then.minutes > 3 * now.minutes
    assert "fine=careful" == careful.label
    with pytest.raises(JobError, match="careful"):
        compare(job(tmp_path, "score_lines: {bit: fine, depth: 0.5}", frets=2), [("quarter", "careful")], LOOSE)


# What holds the blank


def test_a_ramp_is_not_led_into_a_clamp(tmp_path: Path) -> None:
    # Fret 1 lies at x 36.37 of 648; the board's edge there near y -21.2, the blank's at -35. Derived.
    clamp = "{tape: {}, clamps: [{name: jaw, x: [20, 60], y: [-45, -26], height: 10}]}"
    free = _begins(make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5, frets: [1]}"), LOOSE))
    held = make(job(tmp_path, "score_lines: {bit: fine, depth: 0.5, frets: [1]}", hold=clamp), LOOSE)
    assert not [f for f in held.findings if f.code == "keep-out"]
    assert free < _begins(held) - 1.0


def _begins(outcome: Outcome) -> float:
    return min(min(m.start[1], m.end[1]) for m in _cuts(outcome))


def _cuts(outcome: Outcome) -> list[TextMove]:
    text = outcome.programs[0].text
    moves = TextReader().read(text[text.index("(Feature") :].splitlines())
    return [m for m in moves if m.code == 1 and min(m.start[2], m.end[2]) < 6.0 - 1e-9]


# Any line


@pytest.mark.slow
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(
    diameter=st.sampled_from([0.4, 0.5, 0.58, 0.7, 0.9, 1.2]),
    depth=st.sampled_from([0.2, 0.5, 1.1, 2.0]),
    wide=st.sampled_from([56, 60, 64, 70, 110]),
    kind=st.sampled_from(["score_lines", "fret_slots"]),
    ends=st.sampled_from(["open", "blank", "{blind: 2.5}", "{blind: 15}"]),
    below=st.sampled_from(["face", "radius"]),
    direction=st.sampled_from(["both", "one way"]),
    pace=st.sampled_from(["usual", "usual", "careful"]),
    fan=st.booleans(),
    handed=st.sampled_from(["left", "right"]),
)
def test_any_line_passes_its_judge(tmp_path: Path, kind: str, ends: str, below: str, fan: bool, **of: Any) -> None:
    if ends == "blank" and (kind == "fret_slots" or below == "radius" or of["wide"] < 60):
        ends = "open"
    keys = f"depth: {of['depth']}, ends: {ends}, below: {below}, direction: {of['direction']}, pace: {of['pace']}"
    scale = "{bass: 330, treble: 300, square_fret: 2}" if fan else "330"
    path = job(
        tmp_path, f"{kind}: {{bit: fine, {keys}, frets: [1, 2, 3]}}",
        scale=scale, frets=3, long=120, wide=of["wide"], diameter=of["diameter"],
    )  # fmt: skip
    path.write_text(path.read_text().replace("units: mm\n", f"units: mm\nhanded: {of['handed']}\n", 1))
    outcome = make(path, Changes(pitch=0.25))
    allowed = {"kerf", "chips-pack"}
    assert [] == [words for words in serious(outcome) if words.split(":")[0] not in allowed]
    _no_longer_than_its_levels(outcome, twice=of["pace"] == "careful")


def _no_longer_than_its_levels(outcome: Outcome, *, twice: bool) -> None:
    """The length cut, from the text: each level of a line once along it, and its ramp."""
    found, text = row(outcome), outcome.programs[0].text
    for part in re.split(r"\(Feature ", text)[1:]:
        moves = [m for m in TextReader().read(part.splitlines()) if m.code == 1]
        runs = [(m, math.dist(m.start[:2], m.end[:2])) for m in moves if not any(map(math.isnan, m.start))]
        at = [p for m, _ in runs for p in (m.start, m.end)]
        long = max(math.dist(a[:2], b[:2]) for a in at for b in at[:4])
        levels = int(re.search(r", (\d+) levels?", part)[1])  # type: ignore[index]
        deep = 6.0 - min(p[2] for p in at)
        once = levels * long * (2 if twice else 1)
        assert sum(run for _, run in runs) <= once + deep / math.tan(math.radians(found.cutting.ramp_angle)) + 0.1
