"""Bolts keep clear of the truss rod's channel, from whichever side they come."""

from __future__ import annotations

from typing import Any, ClassVar

import pytest
from shapely.geometry import box

from tests.support.bored import of_scene
from tests.support.scene_builder import BENCH, MAPLE, scene
from toolpaths.features.feature import Feature
from toolpaths.features.kinds.bolt_bores import BoltBores
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.checks.instrument import heel_bores
from toolpaths.verification.finding import Severity


class Rod(Feature):
    """A channel 6 wide on the centreline from x 0 to 300, 9 deep."""

    key: ClassVar[str] = "truss_rod_channel"

    def demands(self, scene: SetupContext) -> list[Demand]:
        floor = Level(scene.at_depth(9.0))
        return [
            Demand(
                self.name,
                self.line,
                scene.setup.name,
                "channel",
                box(0, -3, 300, 3),
                floor,
                3.0,
                kind=CutKind.rod_channel,
            )
        ]

    def operations(self, scene: SetupContext) -> list[Any]:
        return []


ROD = Rod(bit="quarter").placed("truss_rod_channel", 30)


def bolts(x: float, y: float, **more: Any) -> Feature:
    keys = {"bit": "quarter", "diameter": 8.0, "at": [[x, y]], "depth": 12.0, **more}
    return BoltBores.model_validate(keys).placed("bolt_bores", 31)


def found(feature: Feature, turned: bool = False) -> list[tuple[Severity, str]]:
    """What is found of bolts in the channel's setup, or in one turned over after it. The blank is 20 thick."""
    stock = {"length": 510, "width": 70, "thickness": 20}
    one = scene(ROD, feature, stock=stock)
    if turned:
        face = one.job.setups[0].model_copy(update={"features": (ROD,)})
        back = face.model_copy(update={"name": "back", "flip": "about x", "features": (feature,)})
        job = one.job.model_copy(update={"setups": (face, back)})
        one = setup_context_of(job, BENCH, MAPLE, back)
    demands = feature.demands(one)
    seen = tuple(d if one.mirror > 0 else d.mirrored() for d in demands)
    return [(f.severity, f.message) for f in heel_bores.check(of_scene(one, seen, tuple(feature.operations(one))))]


@pytest.mark.parametrize(
    ("x", "expected"),
    # Radius 4, the channel ends at 300: left is x - 304.
    [(307.0, []), (306.9, [Severity.warn]), (304.1, [Severity.warn]), (304.0, [Severity.stop])],
)
def test_wood_must_stay_between_bolt_and_channel(x: float, expected: list[Severity]) -> None:
    got = found(bolts(x, 0.0))
    assert expected == [severity for severity, _ in got]
    assert all("runs into the truss rod's channel" in m for s, m in got if s is Severity.stop)
    assert all(f"bolt 1 leaves {x - 304:.2f} mm of wood" in m for s, m in got if s is Severity.warn)


def test_a_counterbore_counts_too() -> None:
    got = found(bolts(200.0, 12.0, counterbore={"diameter": 16.0, "depth": 4.0}))
    assert [
        (Severity.warn, "counterbore of bolt 1 leaves 1.00 mm of wood to the truss rod's channel; 3.00 mm are sound")
    ] == [g for g in got if "counterbore" in g[1]]


@pytest.mark.parametrize(
    ("depth", "y", "expected"),
    # From the back to a floor at that depth under the glue face; the channel's floor is 9 deep.
    [
        (12.0, 0.0, []),
        (11.9, 0.0, [Severity.warn]),
        (9.0, 0.0, [Severity.stop]),
        # 3 below and 4 aside are 5 away; 1.5 below and 2 aside are 2.5.
        (12.0, 11.0, []),
        (10.5, 9.0, [Severity.warn]),
    ],
)
def test_a_bolt_from_the_back_is_measured_in_space(depth: float, y: float, expected: list[Severity]) -> None:
    got = found(bolts(200.0, y, depth=depth), turned=True)
    assert expected == [severity for severity, _ in got]
    assert all("leaves 2.50 mm" in m for _, m in got if depth == 10.5)


def test_a_job_without_a_rod_has_nothing_to_ask() -> None:
    feature = bolts(200.0, 0.0)
    one = scene(feature, stock={"length": 510, "width": 70, "thickness": 20})
    assert [] == heel_bores.check(of_scene(one, tuple(feature.demands(one)), tuple(feature.operations(one))))
