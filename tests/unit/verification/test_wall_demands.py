"""Which walls each thing asked for must leave, on an invented neck of 584 mm with heel and headstock."""

from dataclasses import replace
from typing import ClassVar

import numpy as np
import pytest
from shapely import LineString, Point, box

from tests.support.check_input_builder import Asked, demand, inputs, kind_of, program
from tests.support.neck_builder import WHOLE, instrument, on_neck
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Level
from toolpaths.verification.wall_demands import Walls, holders, neck_as_cut, walled_cuts


def context(kind: str, **setup):
    seen = inputs(program("G0 X8 Y0"))
    return on_neck(seen, instrument(WHOLE), {"pocket": kind}, **setup).context


def judged(kind: str, region, floor: float = 3.0, *, setup=None, **more):
    # The block's top, Z 10, is the glue face: a floor at Z 3 lies 7 mm below it.
    seen = context(kind, **(setup or {}))
    [cut] = walled_cuts(seen, [demand(region, floor, kind=kind_of(kind), **more)], neck_as_cut(seen))
    return cut


HOLE = Point(360, 10).buffer(4)


@pytest.mark.parametrize(
    ("kind", "region", "more", "walls"),
    [
        ("truss_rod_channel", box(5, -3, 300, 3), {}, Walls.around),
        ("reinforcement_slots", box(12, 9, 300, 12), {}, Walls.around),
        ("pocket", box(-120, -10, -90, 10), {}, Walls.around),
        ("bolt_bores", HOLE, {}, Walls.around),
        ("bolt_bores", HOLE, {"reach": 0.2}, Walls.beside),
        ("tuner_bores", Point(-60, 15).buffer(4), {"floor": 0.0}, Walls.beside),
        ("pin_bores", Point(-165, 0).buffer(4), {}, Walls.none),
        ("engraving", LineString([(-120, 0), (-100, 30)]).buffer(0.3), {}, Walls.under),
        ("nut_slot", box(-3, -18, 0, 18), {"run_out": box(-3, -25, 0, 25)}, Walls.under),
        ("headstock_face", box(-175, -45, -8, 45), {}, Walls.under),
        ("outline", box(-10, -60, 420, 60), {}, Walls.none),
        ("plane", box(-175, -45, 425, 45), {"everywhere": True}, Walls.none),
    ],
)
def test_what_must_have_wood_where(kind, region, more, walls) -> None:
    assert walls is judged(kind, region, **more).walls


def test_a_channel_never_goes_through_or_across_on_purpose() -> None:
    assert Walls.around is judged("truss_rod_channel", box(5, -3, 300, 3), 0.0, reach=0.2).walls
    assert Walls.around is judged("truss_rod_channel", box(5, -30, 30, 30)).walls


def test_from_the_back_upright_sides_are_all_that_is_left_to_judge() -> None:
    turned = {"flip": "about x"}
    assert Walls.beside is judged("bolt_bores", HOLE, setup=turned).walls
    assert Walls.none is judged("engraving", Point(-100, 0).buffer(3), setup=turned).walls


def test_an_end_that_is_run_out_of_is_no_wall() -> None:
    closed = judged("truss_rod_channel", box(5, -3, 398, 3))
    assert (True, True) == (closed.low, closed.high)
    opened = judged("truss_rod_channel", box(5, -3, 400, 3), run_out=box(400, -3, 408, 3))
    assert (True, False) == (opened.low, opened.high)


def test_the_headstocks_drop_is_the_jobs_own() -> None:
    class Lowered(Asked):
        key = "headstock_face"
        cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.step})
        drop: float = 4.0

    seen = context("pocket")
    lowered = Lowered(bit="six").placed("headstock_face", 9)
    setup = seen.setup.model_copy(update={"features": (*seen.setup.features, lowered)})
    job = seen.job.model_copy(update={"setups": (setup,)})
    assert 4.0 == neck_as_cut(replace(seen, job=job, setup=setup)).drop
    assert 0.0 == neck_as_cut(seen).drop


def test_a_point_belongs_to_the_demand_whose_floor_is_nearest() -> None:
    wide, deep = demand(box(0, 0, 20, 20), 6.0), demand(box(5, 5, 10, 10), 2.0)
    points = np.array([[7.0, 7.0], [7.0, 7.0], [15.0, 15.0], [10.04, 7.0], [30.0, 30.0]])
    heights = np.array([2.1, 5.9, 2.0, 2.0, 2.0])
    assert [1, 0, 0, 1, -1] == holders(points, heights, [wide, deep], 0.05).tolist()
    assert isinstance(wide.floor, Level)
