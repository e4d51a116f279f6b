"""What the blank and every plane leave must hold the finished part.

The thickness of the necks is worked out here once more: numpy's interpolation, and 3 t^2 - 2 t^3 in the blends.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.check_input_builder import MACHINE, Asked, inputs, program
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.geometry.loop import box_polygon
from toolpaths.job.bits.flat import Flat
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.setup_context import setup_context_of
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.collisions import stock_too_small
from toolpaths.verification.finding import Finding, Severity

PLANER = Flat(shape="flat", diameter=150.0, flutes=2, cutting_length=30.0, shank=8.0, stickout=60.0)
SCALE = 610.0
X = np.linspace(-150.0, 442.0, 200_001)


class Planed(Asked):
    """A feature that leaves a thickness."""

    leave: float


def neck(rng: np.random.Generator, **more: Any) -> dict[str, Any]:
    """A neck in numbers, from x -150 to 442."""
    return {
        "thickness": {1: 18 + 6 * rng.random(), 12: 19 + 6 * rng.random()},
        "back": ["round", "soft vee"][int(rng.integers(2))],
        "heel": {"from": 362, "to": 442, "width": 56, "thickness": 20 + 12 * rng.random(), "blend": 20},
        "headstock": {"length": 150, "width": 76, "thickness": 10 + 14 * rng.random(), "blend": 25},
        **more,
    }


def thickness(made: dict[str, Any], board: float) -> float:
    """The thickest place of a neck without its board, on the centreline, mm."""

    def eased(t: Any) -> Any:
        t = np.clip(t, 0, 1)
        return 3 * t**2 - 2 * t**3

    first, twelfth = (SCALE * (1 - 2 ** (-n / 12)) for n in (1, 12))
    a, b = made["thickness"][1] - board, made["thickness"][12] - board
    depth = a + (b - a) * (np.maximum(X, 0) - first) / (twelfth - first)
    heel, head = eased((X - 342) / 20), eased(-X / 25)
    depth = depth * (1 - heel) + (made["heel"]["thickness"] - board) * heel
    return float((depth * (1 - head) + made["headstock"]["thickness"] * head).max())


def wood(
    part: str,
    blank: float | tuple[float, float],
    leave: float | None = None,
    *,
    flip: bool = False,
    neck: dict[str, Any] | None = None,
    board: float = 6.0,
    units: str = "mm",
    length: float = 680.0,
    planed_in_job: float | None = None,
) -> CheckInput:
    """A program that planes a blank to `leave`, or cuts nothing yet, on the face or on the back."""
    low, high = blank if isinstance(blank, tuple) else (blank, blank)
    features = [Asked(bit="six").placed("screws", 7)]
    if leave is not None:
        features.append(Planed(bit="six", leave=leave if planed_in_job is None else planed_in_job).placed("plane", 9))  # type: ignore[call-arg]
    setup = {
        "name": "back" if flip else "face",
        "zero": {"x": "nut", "y": "centreline", "z": "bed"},
        "nut_at": "195 mm",
        "features": features,
        **({"flip": "about x"} if flip else {}),
    }
    job = Job.model_validate(
        {
            "title": "Wood",
            "units": units,
            "machine": "test table",
            "wood": "hard maple",
            "part": part,
            "instrument": {
                "scale_length": f"{SCALE} mm",
                "frets": 21,
                "board": {"width": {"nut": "42.5 mm", 12: "51.5 mm"}, "overhang": "7 mm", "thickness": f"{board} mm"},
                **({} if neck is None else {"neck": _in_mm(neck)}),
            },
            "stock": {
                "length": f"{length} mm",
                "width": "100 mm",
                "thickness": {"min": f"{low} mm", "max": f"{high} mm"},
            },
            "bits": {"six": PLANER},
            "setups": [setup],
        },
        context={"units": units},
    )
    context = setup_context_of(job, MACHINE, inputs(program("G0 X0 Y0")).context.wood, job.setups[0])
    bits = {1: ("six", PLANER)}
    standing = StandingWood(context.stock_box, context.top)
    demands = []
    if leave is not None:
        text = program(f"G0 X-300 Y0\nG1 Z{leave:.3f} F200\nG1 X600 F400")
        standing = standing.after(flattened(read(text.replace("G0 Z16\n", "G0 Z60\n")), context.zero), {1: PLANER})
        whole = box_polygon(*context.stock_box)
        demands = [Demand("plane", 9, "face", "face", whole, Level(leave), 75.0, everywhere=True, kind=CutKind.face)]
    made = inputs(program("G0 X0 Y0"), demands=demands, operations=[], begun=["plane"])
    return replace(made, context=context, bits=bits, standing=standing)


def _in_mm(value: Any) -> Any:
    """The same numbers, whatever the job's units are; the parts of a profile stay."""
    if isinstance(value, dict):
        return {k: _in_mm(v) for k, v in value.items()}
    return f"{value} mm" if isinstance(value, int | float) else value


def found(seen: CheckInput) -> list[Finding]:
    out = stock_too_small.check(seen)
    assert all((f.code, f.severity) == ("stock-too-small", Severity.stop) for f in out)
    return out


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("planed", "flip"), [(False, False), (True, False), (True, True)])
def test_a_neck_that_the_wood_does_not_hold_is_stopped_by_so_much_as_is_missing(
    seed: int, planed: bool, flip: bool
) -> None:
    rng = np.random.default_rng(seed)
    made = neck(rng)
    most = thickness(made, 6.0)
    for missing in (-3.0, -0.02, 0.02, 0.5 + 3 * float(rng.random())):
        left = round(most - missing, 3)
        missing = most - left
        seen = wood("neck", left + 4 if planed else left, left if planed else None, flip=flip, neck=made)
        told = found(seen)
        assert (missing > 0.0115) == bool(told), (missing, told)
        for one in told:
            assert "too little for the neck alone" in one.said.wrong
            assert f"{left:.2f} mm" == one.said.measured
            assert -1e-6 <= least(one, "mm") - most < 0.0101
            assert ("plane", 9) == (one.feature, one.job_line) if planed else "stock" == one.feature
            assert 0.0 == one.y


def test_the_remedy_as_it_is_printed_puts_it_right() -> None:
    for units in ("mm", "in"):
        for seed in range(6):
            made = neck(np.random.default_rng(seed))
            [one] = found(wood("neck", 40.0, 15.0, neck=made, units=units))
            assert "raise `leave`" == one.said.todo
            assert [] == found(wood("neck", 40.0, least(one, units), neck=made, units=units))
            [one] = found(wood("neck", 15.0, neck=made, units=units))
            assert "take a thicker blank" == one.said.todo
            assert [] == found(wood("neck", least(one, units), neck=made, units=units))
            [one] = found(wood("neck", 15.0, 14.0, neck=made, units=units))
            assert "raise `leave`, in a thicker blank" == one.said.todo


def least(one: Finding, units: str) -> float:
    """The limit that is printed, mm."""
    number, unit = one.said.limit.removeprefix("least ").split(" ")
    assert units == unit
    return float(number) * (25.4 if units == "in" else 1.0)


def test_what_the_text_leaves_counts_not_what_the_job_says() -> None:
    made = neck(np.random.default_rng(1))
    most = thickness(made, 6.0)
    assert [] == found(wood("neck", 40.0, most + 0.1, neck=made, planed_in_job=10.0))
    assert 1 == len(found(wood("neck", 40.0, most - 0.1, neck=made, planed_in_job=39.0)))


def test_an_unplaned_blank_counts_at_its_thinnest() -> None:
    made = neck(np.random.default_rng(2))
    most = thickness(made, 6.0)
    assert [] == found(wood("neck", (most, most + 1), neck=made))
    [one] = found(wood("neck", (most - 0.3, most + 1), neck=made))
    assert "the blank has too little for the neck alone" == one.said.wrong
    assert f"{most - 0.3:.2f} mm" == one.said.measured


@pytest.mark.parametrize("board", [4.9, 6.1, 7.0])
@pytest.mark.parametrize("flip", [False, True])
def test_a_board_must_keep_its_thickness(board: float, flip: bool) -> None:
    for missing in (-2.0, 0.0, 0.02, 0.7):
        told = found(wood("board", 10.0, board - missing, flip=flip, board=board))
        assert (missing > 0.01) == bool(told)
        assert all("too little for the board" in f.said.wrong for f in told)
        assert all(f"least {board:.2f} mm" == f.said.limit for f in told)
    assert 1 == len(found(wood("board", board - 0.1, board=board)))
    assert [] == found(wood("board", board, board=board))


def test_a_part_beyond_the_blank_is_told_where_no_outline_tells_it() -> None:
    # The board ends at 610 (1 - 2^(-21/12)) + 7 = 435.6 mm, the blank 195 mm less than its length from the nut line.
    end = SCALE * (1 - 2 ** (-21 / 12)) + 7
    assert [] == found(wood("board", 6.0, length=end + 195))
    [one] = found(wood("board", 6.0, length=end + 195 - 1.25))
    assert "the finished board goes past the right end of the blank" == one.said.wrong
    assert "1.25 mm" == one.said.measured
