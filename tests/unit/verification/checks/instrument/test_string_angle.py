"""Strings that turn aside at the nut are told, from 6 degrees as a note and above 10 as a warning."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.bored import bored
from toolpaths.verification.checks.instrument import string_angle
from toolpaths.verification.finding import Finding, Severity

LAYOUT = "layout: {per_side: 2, first: -50, spacing: 40, edge: 16}"


def found(folder: Path, *exchanged: tuple[str, str]) -> list[Finding]:
    return string_angle.check(bored(folder, *exchanged))


@pytest.mark.parametrize(
    ("y", "expected"),
    # String 2 lies at 31 / 6 = 5.1667 at the nut, its post at (-90, y): the limits are at
    # 5.1667 + 90 tan 6 = 14.626 and 5.1667 + 90 tan 10 = 21.036. Elementary geometry.
    [(14.6, None), (14.65, Severity.note), (21.0, Severity.note), (21.1, Severity.warn)],
)
def test_the_limits_are_6_and_10_degrees(y: float, expected: Severity | None, tmp_path: Path) -> None:
    got = found(tmp_path, (LAYOUT, f"at: [[-50, 14], [-90, {y}], [-90, -14], [-50, -14]]"))
    assert ([] if expected is None else [expected]) == [f.severity for f in got]
    assert all(f.said.wrong == "string 2 turns aside to tuner 2" for f in got)


def test_it_says_the_degrees_the_place_and_how_they_were_counted(tmp_path: Path) -> None:
    # atan((22 - 5.1667) / 90) = 10.594 degrees.
    (f,) = found(tmp_path, (LAYOUT, "at: [[-50, 14], [-90, 22], [-90, -22], [-50, -14]]"))
    assert ("10.6 degrees", "most 10, 2 above") == (f.said.measured, f.said.limit)
    assert "move the posts inwards" == f.said.todo
    assert (-90.0, 22.0) == pytest.approx((f.x, f.y))


def test_without_a_spread_of_its_own_it_says_what_was_taken(tmp_path: Path) -> None:
    (f,) = found(tmp_path, ("  nut_spread: 31\n", ""), (LAYOUT, LAYOUT.replace("16}", "8}")))
    assert "`nut_spread`" in f.said.todo


def test_with_other_posts_than_strings_no_angle_is_told(tmp_path: Path) -> None:
    (f,) = found(tmp_path, (LAYOUT, "at: [[-50, 14], [-90, 40], [-50, -14]]"))
    assert (Severity.note, "3 posts for 4 strings, so no angle is measured") == (f.severity, f.said.wrong)


def test_posts_bored_by_two_features_are_judged_together_once_all_stand(tmp_path: Path) -> None:
    old = f"      - tuner_bores: {{bit: six, diameter: 8, {LAYOUT}}}\n"
    new = "".join(
        f"      - tuner_bores: {{bit: six, diameter: 8, at: [[-50, {s}14], [-90, {s}22]]}}\n" for s in ("", "-")
    )
    both = bored(tmp_path, (old, new))
    assert 1 == len(string_angle.check(both))
    first = [o for o in both.operations if o.feature == "tuner_bores"]
    assert [] == string_angle.check(replace(both, operations=tuple(first), begun=frozenset({"tuner_bores"})))
