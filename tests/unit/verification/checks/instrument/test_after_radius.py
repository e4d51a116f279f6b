"""Lines and pockets that hand-radiusing takes away are warned of, with what would help.

The sagitta at the edge of a board 42 mm wide: 0.9155 mm under a radius of 241.3 mm (derived: elementary geometry).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from tests.support.words_builder import (
    CUTTING,
    AskedLines,
    AskedPlane,
    AskedPockets,
    AskedRadius,
    good,
    inputs,
    job,
    score_lines,
)
from toolpaths.features.crowned_cuts import groove_shape
from toolpaths.geometry.loop import Area, Loop, box_polygon
from toolpaths.instrument.boards import half_width
from toolpaths.job.bits.vee import Vee
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST, Board, Compound, Instrument, Width
from toolpaths.operations.operation import Clear, Lines, Operation
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument.after_radius import check, left_after
from toolpaths.verification.finding import Finding, Severity


def board(radius: float | Compound | None, nut: float = 42, end: float = 42) -> Instrument:
    width = Width(nut=nut, there=end, at="end")
    return Instrument(
        scale_length=300,
        frets=5,
        strings=4,
        board=Board(width=width, overhang=8, thickness=6, radius=None).model_copy(update={"radius": radius}),
    )


def demanded(instrument: Instrument, operation: Operation) -> list[Demand]:
    """The shapes that such an operation stands for, from edge to edge of the board."""
    if isinstance(operation, Lines):
        names = list(operation.names)
        edges = [float(half_width(instrument, x)) for x in operation.lines[:, 0, 0]]
        shapes = [
            box_polygon(x - 0.3, -edge, x + 0.3, edge) for x, edge in zip(operation.lines[:, 0, 0], edges, strict=True)
        ]
    else:
        assert isinstance(operation, Clear)
        names, shapes = [area.name for area in operation.areas], [area.outer.shape() for area in operation.areas]
    kind = CutKind.line if isinstance(operation, Lines) else CutKind.marker
    return [
        Demand(operation.feature, operation.job_line, "face", name, shape, Level(operation.floor), 0.3, kind=kind)
        for name, shape in zip(names, shapes, strict=True)
    ]


def given(instrument: Instrument, *operations: Operation, **more: Any) -> CheckInput:
    demands = tuple(d for o in operations for d in demanded(instrument, o))
    of = job(instrument=instrument).model_copy(update=more)
    return inputs(good(), of=of, operations=operations, demands=demands)


def scored(depth: float) -> Operation:
    return score_lines(floor=6 - depth)


def pockets(depth: float, y: float = 0.0) -> Operation:
    return Clear(
        feature="marker_pockets",
        job_line=32,
        bit="scorer",
        cutting=CUTTING,
        title="pockets",
        top=6.0,
        floor=6.0 - depth,
        areas=(
            Area(Loop.circle(25, 0, 3), (), "marker at fret 2"),
            Area(Loop.circle(50, y, 3), (), "marker at fret 4"),
        ),
    )


@pytest.mark.parametrize(
    ("depth", "codes"),
    [(0.91, ["gone-after-radius"]), (0.92, ["thin-after-radius"]), (1.06, ["thin-after-radius"]), (1.07, [])],
)
def test_a_line_shallower_than_the_sagitta_at_the_edge_is_warned_of(depth: float, codes: list[str]) -> None:
    # Gone up to 0.9155, thin as long as less than 0.15 is left: common practice, no source.
    assert codes == [f.code for f in check(given(board(241.3), scored(depth)))]


def test_a_line_that_follows_the_radius_keeps_its_depth() -> None:
    instrument = board(241.3)
    under = replace(given(instrument, scored(0.5)).demands[0], floor=CrownFloor(Level(5.5), 241.3, 241.3, 83.0))
    assert [] == check(inputs(good(), of=job(instrument=instrument), operations=(scored(0.5),), demands=(under,)))
    (left,) = left_after(given(instrument, scored(0.5)), [under])
    assert (0.5, 0.5) == pytest.approx((left.remains, left.middle), abs=1e-3)


def test_the_level_end_of_a_blind_line_is_not_its_depth_and_no_line_is_told_what_it_does() -> None:
    """A flat bit's end is level for its last half width, 0.07 mm less deep at its rim here than the line is."""
    instrument = board(241.3)

    def found(depth: float) -> list[Finding]:
        under = given(instrument, scored(depth)).demands[0]
        (_, y0, _, y1) = under.asked.bounds
        dome = CrownFloor(Level(6 - depth), 241.3, 241.3, 83.0, (-y0 - 0.6, y1 - 0.6))
        operation, asked = scored(depth), replace(under, floor=dome)
        return check(inputs(good(), of=job(instrument=instrument), operations=(operation,), demands=(asked,)))

    assert [] == found(0.16)
    (thin,) = found(0.14)
    assert thin.code == "thin-after-radius"
    assert "cut it at least 0.15 mm deep" == thin.said.todo
    assert ("fret 1: 0.14 mm", "least 0.15 mm") == (thin.said.measured, thin.said.limit)


@pytest.mark.parametrize("lean", [0.0, 0.2, -0.6])
@pytest.mark.parametrize("end", [42, 50])
@pytest.mark.parametrize("angle", [40, 60, 90])
def test_a_pointed_bit_s_line_is_told_by_its_bottom(angle: float, end: float, lean: float) -> None:
    """Where it leans or the board tapers, the corners of such a line lie up its walls, not at its depth."""
    instrument = board(203, nut=42, end=end)
    bit = Vee(shape="vee", angle=angle, tip=0.1, diameter=6, cutting_length=10, shank=6, stickout=20)
    rise, places = 1 / math.tan(math.radians(angle / 2)), ((40 - 30 * lean, -30.0), (40 + 30 * lean, 30.0))
    x = np.array([0.0, 83.0])
    edge = half_width(instrument, x)
    whole = Polygon([(x[0], -edge[0]), (x[1], -edge[1]), (x[1], edge[1]), (x[0], edge[0])])
    dome, remains = CrownFloor(Level(5.5), 203, 203, 83.0), []
    for under, drop in ((Level(5.5), None), (dome, dome)):
        asked = groove_shape(bit, 0.5, drop, places, False).intersection(whole)
        floor = ConeGroove(under, *places, 0.05, rise, 3.0)
        demand = Demand("score_lines", 31, "face", "fret 3", asked, floor, 0.3, kind=CutKind.line)
        (left,) = left_after(given(instrument, scored(0.5)), [demand])
        assert left.depth - float(dome.drop(left.x, left.y) if drop else 0.0) == pytest.approx(0.5, abs=0.01)
        # At the bottom's end, on the board's edge.
        assert abs(left.y) == pytest.approx(half_width(instrument, left.x), abs=1e-3)
        remains.append(left.remains)
    assert remains == pytest.approx([0.0, 0.5], abs=0.01)


def test_slots_sawn_first_are_not_lost_but_markers_are() -> None:
    instrument = board(241.3)
    assert [] == check(given(instrument, scored(0.5), by_hand=(SAWN_FIRST,)))
    assert ["gone-after-radius"] == [
        f.code for f in check(given(instrument, pockets(0.6, y=15), by_hand=(SAWN_FIRST,)))
    ]


def test_the_warning_says_what_is_left_and_what_helps() -> None:
    (found,) = check(given(board(241.3), scored(0.5)))
    assert Severity.warn == found.severity
    assert ("fret 1: 0.92 mm", "depth 0.50 mm") == (found.said.measured, found.said.limit)
    assert "radiusing removes 3 of 3 at the edges" == found.said.wrong
    assert "set `by_hand: slots sawn before radiusing`" == found.said.todo
    assert "score_lines" == found.feature


def test_the_widest_place_is_the_worst() -> None:
    (found,) = check(given(board(241.3, nut=36, end=50), scored(0.8)))
    assert "fret 3: 1.01 mm" == found.said.measured
    assert "3 of 3 at the edges" in found.said.wrong


def test_a_radius_that_grows_is_taken_at_each_fret() -> None:
    # 120 mm at the nut, 600 at the end: the first fret has the deepest edge.
    (found,) = check(given(board(Compound(nut=120, end=600)), scored(0.5)))
    assert found.said.measured.startswith("fret 1: ")


def test_a_flat_board_loses_nothing() -> None:
    assert [] == check(given(board(None), scored(0.1)))


def test_a_top_that_is_radiused_in_this_job_is_not_radiused_by_hand() -> None:
    features = (
        AskedPlane(bit="planer", leave=6.0).placed("plane", 30),
        AskedLines(bit="scorer").placed("score_lines", 31),
        AskedRadius(bit="quarter").placed("radius", 33),
    )
    of = job(instrument=board(241.3), features=features)
    demands = tuple(demanded(of.instrument, scored(0.5)))
    assert [] == check(inputs(good(), of=of, operations=(scored(0.5),), demands=demands))


def test_pockets_on_the_centreline_hardly_lose() -> None:
    # 3 mm from the centreline the top comes down 0.0187 mm under 241.3 mm. Derived.
    assert [] == check(given(board(241.3), pockets(1.8)))


def test_a_shallow_pocket_far_out_is_warned_of() -> None:
    # At y = 15 + 3 mm the top comes down 241.3 - sqrt(241.3^2 - 18^2) = 0.6723 mm. Derived.
    assert [] == check(given(board(241.3), pockets(1.18, y=15)))
    assert ["thin-after-radius"] == [f.code for f in check(given(board(241.3), pockets(0.7, y=15)))]
    (found,) = check(given(board(241.3), pockets(0.6, y=15)))
    assert ("0.67 mm", "depth 0.60 mm") == (found.said.measured, found.said.limit)
    assert "radiusing removes 1 of 2 at the edges" == found.said.wrong


def test_a_numbered_feature_is_known_by_its_kind() -> None:
    features = (AskedPlane(bit="planer", leave=6.0).placed("plane", 30), AskedPockets(bit="scorer").placed("other", 31))
    of = job(instrument=board(241.3), features=features)
    demands = tuple(replace(d, feature="other") for d in demanded(of.instrument, pockets(0.1, y=15)))
    found = check(inputs(good(), of=of, operations=(replace(pockets(0.1, y=15), feature="other"),), demands=demands))
    assert [("gone-after-radius", "other")] == [(f.code, f.feature) for f in found]
