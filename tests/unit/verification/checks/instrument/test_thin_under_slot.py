"""Under 1.5 mm of wood below a slot is warned of: in the wood for the router's slots, by the numbers for the saw's.

Sagitta: R - sqrt(R^2 - (w/2)^2), elementary geometry. The limit is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.check_input_builder import demand, inputs, operation, program
from tests.support.neck_builder import on_neck
from toolpaths.job.job import SAWN_FIRST, Board, Compound, Fan, Instrument, Saw, Width
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument.thin_under_slot import check
from toolpaths.verification.finding import Severity

THICK = 6.0


def board(inputs: CheckInput, key: str, units: str = "mm", **job: Any) -> CheckInput:
    """The builder's block as a board's job of one feature of that kind: board 20 mm wide, 6 mm thick."""
    made = on_neck(inputs, inputs.job.instrument, {"pocket": key})
    own = made.job.model_copy(update={"part": "board", "units": units, **job})
    return replace(made, context=replace(made.context, job=own))


def slot(middle: float, edges: float) -> CheckInput:
    """A groove across at x 12, deeper towards the edges at y -10 and 10; depths below the block's top, Z 10, in mm."""
    text = program(
        f"G0 X12 Y-10\nG1 Z{10 - edges:.4f} F200\nG1 Y0 Z{10 - middle:.4f} F400\nG1 Y10 Z{10 - edges:.4f}", bit=2
    )
    asked = demand(box(11.5, -10, 12.5, 10), 10 - middle, name="fret 3", radius=0.5)
    return inputs(text, demands=[asked], operations=[operation(bit="thin")])


@pytest.mark.parametrize("seed", range(20))
def test_what_the_router_leaves_under_a_slot_is_measured_in_the_wood(seed: int) -> None:
    rng = np.random.default_rng(seed)
    middle = 2.0 + 2.6 * float(rng.random())
    edges = middle + float(rng.choice([0.0, 0.4, 0.9]))
    found = check(board(slot(middle, edges), "fret_slots"))
    assert (THICK - edges < 1.5) == bool(found)
    for one in found:
        assert ("thin-under-slot", Severity.warn, 7) == (one.code, one.severity, one.job_line)
        left = float(one.said.measured.split(" mm")[0])
        assert THICK - edges == pytest.approx(left, abs=0.011)
        assert one.said.wrong.endswith("of fret 3")
        assert 12.0 == pytest.approx(one.x, abs=0.005)
        assert edges == middle or 9.9 < abs(one.y or 0.0) < 10.0
        less = float(one.said.todo.split("cut them ")[1].split(" mm less")[0])
        assert [] == check(board(slot(middle - less, edges - less), "fret_slots"))


def test_an_inch_job_is_told_in_inches() -> None:
    [one] = check(board(slot(5.0, 5.0), "fret_slots", units="in"))
    assert "0.039 in" == one.said.measured
    assert "mm" not in one.message


def sawn(instrument: Instrument, depth: float, first: bool = False, units: str = "mm") -> list[Any]:
    made = inputs(program("G0 X0 Y0"), demands=[], operations=[operation()])
    by_hand = (SAWN_FIRST,) if first else ()
    return check(board(made, "score_lines", units, instrument=instrument, saw=Saw(depth=depth), by_hand=by_hand))


def sagitta(radius: float, width: float) -> float:
    return radius - math.sqrt(radius**2 - (width / 2) ** 2)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("first", [False, True])
def test_what_the_saw_leaves_is_least_at_the_widest_fret_s_edge(seed: int, first: bool) -> None:
    rng = np.random.default_rng(seed)
    nut, end = 38 + 8 * float(rng.random()), 50 + 14 * float(rng.random())
    radius = [None, 184.0, 241.3, 305.0][int(rng.integers(4))]
    thick = 4.0 + 3 * float(rng.random())
    made = Instrument(
        scale_length=610,
        frets=20,
        board=Board(width=Width(nut=nut, there=end, at="end"), overhang=8, thickness=thick).model_copy(
            update={"radius": radius}
        ),
    )
    last = 610 * (1 - 2 ** (-20 / 12))
    width = nut + (end - nut) * last / (last + 8)
    depth = 1.8 + float(rng.random())
    left = thick - depth - (0.0 if radius is None else sagitta(radius, width))
    found = sawn(made, depth, first)
    assert (left < 1.5 - 1e-3) == bool(found)
    for one in found:
        assert max(left, 0.0) == pytest.approx(float(one.said.measured.split(" mm")[0]), abs=0.006)
        if "`saw: {depth: " in one.said.todo:
            lower = float(one.said.todo.split("`saw: {depth: ")[1].split("}")[0])
            assert [] == sawn(made, lower, first)


def test_a_compound_radius_and_a_fan_count_where_the_top_falls_most() -> None:
    wide = Width(nut=54, there=54, at="end")
    compound = Board(width=wide, overhang=8, thickness=5.0).model_copy(update={"radius": Compound(nut=184, end=400)})
    # 5.0 - 2.0 - sagitta: 2.0 mm at the nut's radius, 0.9 at the end's; fret 1 is the worst.
    [one] = sawn(Instrument(scale_length=610, frets=20, board=compound), 2.0)
    assert one.said.wrong.endswith("of fret 1")
    flat = compound.model_copy(update={"radius": 184.0})
    fan = Instrument(scale_length=Fan(bass=640, treble=610, square_fret=7), frets=20, board=flat)
    [one] = sawn(fan, 2.0)
    assert 5.0 - 2.0 - sagitta(184, 54) == pytest.approx(float(one.said.measured.split(" mm")[0]), abs=0.006)


def test_slots_that_the_router_cuts_are_not_left_to_the_saw() -> None:
    thin = Instrument(
        scale_length=610, frets=20, board=Board(width=Width(nut=42, there=52, at="end"), overhang=8, thickness=3.0)
    )
    assert 1 == len(sawn(thin, 2.0))
    made = inputs(program("G0 X0 Y0"), demands=[], operations=[operation()])
    both = on_neck(made, thin, {"pocket": "score_lines", "slots": "fret_slots"})
    both = replace(both, context=replace(both.context, job=both.job.model_copy(update={"part": "board"})))
    assert [] == check(both)
