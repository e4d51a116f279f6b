"""An invented instrument and machine, and plain bits, for the tests of the trade's formulas."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import numpy as np
import pytest

from toolpaths.features.feature import Feature
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.job.machine import Machine
from toolpaths.job.stage import Stage
from toolpaths.job.wood import Wood

MACHINE: dict[str, Any] = {
    "name": "test bench",
    "units": "mm",
    "travel": {"x": 800, "y": 500, "z": 90},
    "rapid": {"x": 5000, "y": 4000, "z": 2000},
    "feed_limit": {"x": 4000, "y": 3000, "z": 1200},
    "acceleration": {"x": 200, "y": 200, "z": 100},
    "corner_deviation": 0.01,
    "spindle": {"min_rpm": 8000, "max_rpm": 24000, "set_by": "program"},
    "offsets": {"G54": None},
    "decimals": 4,
    "safe_height": 5,
    "park": {"x": 0, "y": 200},
    "collet": {"nut_diameter": 20, "nut_height": 15, "holder_diameter": 52},
    "ending": "nc",
}


class Straight(Bit):
    """As wide at every depth."""

    def spoils(self, rim: str) -> str:
        return ""

    def profile(self, rho: Any) -> Any:
        return np.zeros_like(rho)

    def past(self, aside: Any, steepness: Any) -> Any:
        raise NotImplementedError

    def width_at(self, depth: float) -> float:
        return self.cut_diameter if depth > 0 else 0.0


class Point60(Straight):
    """A point of 60 degrees: 2 d tan 30 wide at depth d."""

    def width_at(self, depth: float) -> float:
        return min(self.diameter, 2 * depth * float(np.tan(np.pi / 6)))


class Anything(Feature):
    """A feature of no shape: only the keys that every feature takes."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset()
    stage: ClassVar[Stage] = Stage.off_router

    def demands(self, context: Any) -> Any:
        return []

    def operations(self, context: Any) -> Any:
        return []


@pytest.fixture
def instrument() -> Instrument:
    """Scale 648 mm, 24 frets, a board from 43 at the nut to 56 mm at its end, 8 mm past the last fret."""
    return make_instrument()


@pytest.fixture(name="make_instrument")
def making_instrument() -> Callable[..., Instrument]:
    return make_instrument


def make_instrument(**board: Any) -> Instrument:
    shape: dict[str, Any] = {"width": {"nut": 43, "end": 56}, "overhang": 8, "thickness": 6}
    frets = board.pop("frets", 24)
    scale = board.pop("scale", 648)
    return Instrument.model_validate({"scale_length": scale, "frets": frets, "board": {**shape, **board}})


@pytest.fixture
def machine() -> Machine:
    """A router of no make."""
    return Machine.model_validate(MACHINE)


@pytest.fixture
def make_machine() -> Callable[..., Machine]:
    """The same with some keys changed."""
    return lambda **changed: Machine.model_validate({**MACHINE, **changed})


@pytest.fixture
def make_bit() -> Callable[..., Bit]:
    """A flat bit of a diameter, its edges 8 times as long and at most 20 mm; `pointed=True` for a 60 degree point."""

    def make(diameter: float, pointed: bool = False, **more: Any) -> Bit:
        keys: dict[str, Any] = {
            "shape": "test", "cutting_length": min(20, 8 * diameter), "shank": 6.35, "stickout": 30, **more,
        }  # fmt: skip
        return (Point60 if pointed else Straight).model_validate({"diameter": diameter, **keys})

    return make


@pytest.fixture
def ask() -> Callable[..., Feature]:
    """A feature with only the given keys."""
    return lambda **keys: Anything.model_validate({"bit": "any", **keys})


@pytest.fixture
def maple() -> Wood:
    """As hard as hard maple."""
    return Wood("hard maple", janka=1450, density=706, source="test")


@pytest.fixture
def softwood() -> Wood:
    """Softer than any band's lower end."""
    return Wood("soft wood", janka=400, density=450, source="test")
