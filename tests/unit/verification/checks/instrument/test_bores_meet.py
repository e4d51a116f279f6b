"""Bores keep clear of each other, tuners by two washers."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.bored import bored
from toolpaths.verification.checks.instrument import bores_meet
from toolpaths.verification.finding import Finding, Severity

LAYOUT = "layout: {per_side: 2, first: -50, spacing: 40, edge: 16}"
BOLTS = "at: [[75, 14], [75, -14]]"


def found(folder: Path, *exchanged: tuple[str, str]) -> list[Finding]:
    return bores_meet.check(bored(folder, *exchanged))


def test_a_counterbore_and_its_hole_are_one(tmp_path: Path) -> None:
    assert [] == found(tmp_path)


@pytest.mark.parametrize(
    ("spacing", "expected"),
    # Holes of 8: what is left between them is the spacing less 8.
    [(14.0, None), (13.9, Severity.warn), (9.0, Severity.warn), (8.9, Severity.stop)],
)
def test_tuners_want_room_for_two_washers(spacing: float, expected: Severity | None, tmp_path: Path) -> None:
    got = found(tmp_path, (LAYOUT, LAYOUT.replace("40", str(spacing))))
    assert ([] if expected is None else [expected] * 2) == [f.severity for f in got]
    assert all(f"leave {spacing - 8:.2f} mm of wood between them" in f.message for f in got)


@pytest.mark.parametrize(
    ("y", "expected"),
    # Counterbores of 12 at y and -14: left is y + 2; the neck's own warning is at 3.
    [(1.0, None), (0.9, Severity.warn), (-1.0, Severity.warn), (-1.1, Severity.stop)],
)
def test_other_bores_want_sound_wood_between_them(y: float, expected: Severity | None, tmp_path: Path) -> None:
    got = [f for f in found(tmp_path, (BOLTS, f"at: [[75, {y}], [75, -14]]")) if f.message.count("counterbore") == 2]
    assert ([] if expected is None else [expected]) == [f.severity for f in got]


def test_holes_that_overlap_are_said_to(tmp_path: Path) -> None:
    messages = [f.message for f in found(tmp_path, (LAYOUT, LAYOUT.replace("40", "7")))]
    assert "tuner 1 and tuner 2 run into each other; at least 1.00 mm must stay: move them apart" in messages


def test_a_pair_is_told_when_the_second_is_cut_and_not_again(tmp_path: Path) -> None:
    near = bored(tmp_path, (BOLTS, "at: [[102, 0], [75, -14]]"))
    by_name = {o.feature: o for o in near.operations}

    def codes(cut: str, *begun: str) -> list[str]:
        of = replace(near, operations=(by_name[cut],), begun=frozenset(begun))
        return [f.code for f in bores_meet.check(of) if "pin 2" in f.message and "counterbore" in f.message]

    # The counterbore's edge is at 108, the pin's at 106.
    assert [] == codes("bolt_bores", "bolt_bores")
    assert ["bores-meet"] == codes("pin_bores", "bolt_bores", "pin_bores")
    assert [] == codes("tuner_bores", "bolt_bores", "pin_bores", "tuner_bores")
