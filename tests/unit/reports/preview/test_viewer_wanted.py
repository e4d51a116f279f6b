"""What the page is told of the target: forms of floors that give back the floors' own heights, and regions."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely import LineString, Point, box

from tests.support.closed_forms import unpacked
from tests.support.neck_builder import instrument
from toolpaths.instrument.back_surfaces import KerfFloor
from toolpaths.job.cut_kind import CutKind
from toolpaths.reports.preview.viewer_wanted import wanted_data
from toolpaths.target_shape.bevel_floor import ConeFloor
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import ArcFloor, Demand, Floor, Groove, Level
from toolpaths.verification.bounds import Bounded, Bounds
from toolpaths.verification.outcome import Outcome

EPS = 0.03


def _told(outcome: Outcome, *demands: Demand, finished: bool = True) -> dict[str, Any]:
    bounded = tuple(Bounded.of(d, EPS) for d in demands)
    setup = replace(outcome.setups[0], bounds=Bounds(bounded, bounded if finished else ()))
    return wanted_data(setup)


def _demand(floor: Floor, **more: Any) -> Demand:
    return Demand("pocket", 12, "face", "star", box(10, -5, 50, 5), floor, 1.0, **more, kind=CutKind.pocket)


def _height(form: dict[str, Any], x: float, y: float) -> float:
    """The height of a form by the words of its keys, written apart from the page's own script."""
    match form["form"]:
        case "level":
            return float(form["z"])
        case "aside":
            if "point" in form:
                away = math.dist((x, y), form["point"])
            else:
                away = min(LineString(np.reshape(line, (-1, 2))).distance(Point(x, y)) for line in form["lines"])
            return float(form["z"] + form["rise"] * min(form["most"], max(0.0, away - form["flat"])))
        case "along":
            return float(np.interp(x, np.linspace(form["x0"], form["x1"], len(form["z"])), form["z"]))
        case "cones":
            tips = np.linspace(form["start"], form["end"], 4001)
            away = np.hypot(*(tips - (x, y)).T)
            under = [_height(form["under"], a, max(abs(b) - form["flat"], 0.0)) for a, b in tips.tolist()]
            low = np.array(under) + form["rise"] * np.maximum(away - form["flat"], 0.0)
            return float(low[(away <= form["rim"]) | (away == away.min())].min())
        case "domed":
            radius = form["nut"] + (form["end"] - form["nut"]) * x / form["length"]
            return _height(form["base"], x, y) - (
                radius - math.sqrt(radius**2 - min(max(y, -form["levelFrom"][0]), form["levelFrom"][1]) ** 2)
            )
        case "across":
            tip = min(abs(y) + math.sqrt(max(form["radius"] ** 2 - (x - form["x"]) ** 2, 0.0)), form["end"])
            return float(np.interp(tip, np.linspace(0.0, form["end"], len(form["z"])), form["z"]))
    raise AssertionError(form["form"])


@pytest.mark.parametrize(
    "floor",
    [
        Level(4.2),
        ConeGroove(Level(5.0), (30.2, -5.0), (29.8, 5.0), 0.1, 1.7, 3.0),
        ConeGroove(CrownFloor(Level(5.0), 30.0, 40.0, 420.0), (12.0, -4.0), (40.0, 5.0), 0.1, 1.7, 3.0),
        ConeFloor(30.0, 1.0, 3.0, 0.5, 2.0),
        Groove(LineString([(15, 0), (30, 2), (45, 0)]), 5.0, 0.1, 1.2, 1.5),
        ArcFloor(21.0, 45.0, 5.0, 3.0, rising=True),
        ArcFloor(10.0, 50.0, 9.0, 11.0),
        CrownFloor(Level(6.0), 254.0, 406.4, 420.0, (3.0, 4.0)),
        KerfFloor(instrument({"thickness": {1: 18}}), 0.0, 0.5, 30.0, 2.5, 12.0),
    ],
    ids=lambda floor: type(floor).__name__,
)
def test_the_form_of_a_floor_gives_the_floor_s_own_heights(outcome: Outcome, floor: Floor) -> None:
    form = _told(outcome, _demand(floor))["demands"][0]["floor"]
    rng = np.random.default_rng(3)
    x, y = rng.uniform(10, 50, 60), rng.uniform(-5, 5, 60)
    told = [_height(form, float(a), float(b)) for a, b in zip(x, y, strict=True)]
    assert pytest.approx(floor.height(x, y), abs=2e-4) == told


def test_regions_are_rings_of_one_list_of_points(outcome: Outcome) -> None:
    ring = box(10, -5, 50, 5).difference(box(20, -1, 30, 1))
    told = _told(outcome, replace(_demand(Level(4.0)), asked=ring))
    [demand] = told["demands"]
    points = unpacked(told["points"]).reshape(-1, 2)
    assert [4, 4] == demand["asked"]
    assert {(10.0, -5.0), (50.0, 5.0), (20.0, -1.0), (30.0, 1.0)} <= {tuple(p) for p in points[:8].tolist()}
    assert sum(demand["asked"] + demand["may"] + demand["must"]) == len(points)
    # Grown by the tolerance: docs/verification.md.
    assert pytest.approx(10 - EPS, abs=1e-5) == points[8 : 8 + demand["may"][0], 0].min()


def test_what_is_not_finished_is_allowed_but_not_yet_wanted(outcome: Outcome) -> None:
    [demand] = _told(outcome, _demand(Level(4.0)), finished=False)["demands"]
    assert not demand["wanted"]
    assert [] == demand["must"]
    assert [] != demand["may"]


def test_where_another_demand_speaks_nothing_is_asked(outcome: Outcome) -> None:
    told = _told(outcome, _demand(Level(4.0), relaxed=box(40, -9, 60, 9)))
    points = unpacked(told["points"]).reshape(-1, 2)
    assert 40.0 == points[: told["demands"][0]["asked"][0], 0].max()
