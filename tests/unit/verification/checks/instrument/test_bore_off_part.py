"""Bores lie in the part with wood around them; pins wholly in it or wholly in waste."""

from pathlib import Path

import ezdxf
import ezdxf.units
import pytest

from tests.support.bored import bored
from toolpaths.verification.checks.instrument import bore_off_part
from toolpaths.verification.finding import Finding, Severity

BOLTS = "at: [[75, 14], [75, -14]]"
PIN = "x: -128"


def found(folder: Path, *exchanged: tuple[str, str]) -> list[Finding]:
    return bore_off_part.check(bored(folder, *exchanged))


def test_bores_well_inside_and_pins_in_waste_are_fine(tmp_path: Path) -> None:
    assert [] == found(tmp_path)


@pytest.mark.parametrize(
    ("y", "expected"),
    # The counterbore's radius is 6 and the heel's half width 28: left is 22 - y.
    [(19.0, None), (19.1, Severity.warn), (20.0, Severity.warn), (20.1, Severity.stop)],
)
def test_wood_must_stay_to_the_edge(y: float, expected: Severity | None, tmp_path: Path) -> None:
    got = [f for f in found(tmp_path, (BOLTS, f"at: [[75, {y}], [75, -14]]")) if "counterbore of bolt 1" in f.message]
    assert ([] if expected is None else [expected]) == [f.severity for f in got]
    assert all(f"leaves {22 - y:.2f} mm of wood" in f.message and (75.0, y) == pytest.approx((f.x, f.y)) for f in got)


def test_a_bore_that_breaks_out_says_by_how_much(tmp_path: Path) -> None:
    messages = [f.message for f in found(tmp_path, (BOLTS, "at: [[75, 23], [75, -14]]"))]
    assert "counterbore of bolt 1 breaks out of the part's edge by 1.00 mm; move it" in messages


def test_a_bore_beside_the_part_is_told(tmp_path: Path) -> None:
    messages = [f.message for f in found(tmp_path, (BOLTS, "at: [[20, 40], [75, -14]]"))]
    assert "bolt 1 lies beside the finished part; move it onto it" in messages


def test_the_shaft_counts_as_trimmed(tmp_path: Path) -> None:
    # Half width 20 + 2 * 20 / 75.25 = 20.53 at x 20, without the margin of 0.5: a hole of 12 at 12.6 leaves 1.93.
    got = [f for f in found(tmp_path, (BOLTS, "at: [[20, 12.6], [75, -14]]")) if "counterbore" in f.message]
    assert [Severity.stop] == [f.severity for f in got]
    assert "leaves 1.93 mm" in got[0].message


@pytest.mark.parametrize(("x", "expected"), [(-123.3, 0), (-123.2, 1), (-116.8, 1), (-112.0, 0)])
def test_a_pin_may_not_lie_across_the_edge(x: float, expected: int, tmp_path: Path) -> None:
    # Radius 3.25, the headstock ends at -120.
    stops = [f for f in found(tmp_path, (PIN, f"x: {x}")) if f.severity is Severity.stop]
    assert expected == len(stops)
    assert all("pin 1 lies across the finished part's outline" in f.message for f in stops)


@pytest.mark.parametrize(("x", "expected"), [(113.0, 0), (112.0, 1)])
def test_a_pin_that_the_outline_opens_is_told(x: float, expected: int, tmp_path: Path) -> None:
    # Deeper than two diameters of 6: the kerf is 8.4 wide; the neck ends at 100 and the pin's radius is 4.
    outline = ("depth: 10}\n", "depth: 10}\n      - outline: {bit: six, depth: 15}\n")
    got = found(tmp_path, outline, ("x: 110", f"x: {x}"))
    assert [Severity.warn] * expected == [f.severity for f in got if "pin 2" in f.message]


def test_on_a_board_the_board_counts(tmp_path: Path) -> None:
    # The board is 40 wide at the nut and begins there: nothing may be bored behind it.
    messages = [f.message for f in found(tmp_path, ("part: neck", "part: board"))]
    assert "tuner 1 lies beside the finished part; move it onto it" in messages


def test_a_left_handed_neck_is_judged_alike_and_its_places_are_as_seen(tmp_path: Path) -> None:
    (f,) = [
        f
        for f in found(tmp_path, ("part: neck", "part: neck\nhanded: left"), (BOLTS, "at: [[75, 20.1], [75, -14]]"))
        if f.severity is Severity.stop
    ]
    assert (75.0, -20.1) == pytest.approx((f.x, f.y))


@pytest.mark.parametrize(("y", "expected"), [(23.0, None), (24.0, Severity.warn), (24.1, Severity.stop)])
def test_a_drawn_headstock_counts_as_drawn(y: float, expected: Severity | None, tmp_path: Path) -> None:
    # 60 wide: a hole of 8 leaves 30 - 4 - y.
    drawing = ezdxf.new(units=ezdxf.units.MM)
    corners = [(-120, -30), (-3, -30), (-3, 30), (-120, 30)]
    drawing.modelspace().add_lwpolyline(corners, close=True)
    drawing.saveas(tmp_path / "head.dxf")
    got = found(
        tmp_path,
        ("headstock: {length: 120, width: 60,", "headstock: {drawing: head.dxf,"),
        ("layout: {per_side: 2, first: -50, spacing: 40, edge: 16}", f"at: [[-50, {y}], [-90, 14]]"),
    )
    assert ([] if expected is None else [expected]) == [f.severity for f in got if "tuner 1" in f.message]
