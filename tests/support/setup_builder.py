"""Scenes made in a line: an invented instrument on the shipped machines, with the shipped rack of bits.

The instrument: scale 650 mm, 22 frets, a board from 42 at the nut to 52 mm at fret 12, 10 mm past the last fret.
Its blank: 510 x 70 x 8 mm, nut line 15 mm from the left end; planed to 6 where a plane is among the features.
"""

from __future__ import annotations

from typing import Any, ClassVar

from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.files.rack_file import load_rack
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.job.stage import Stage
from toolpaths.job.wood import Wood
from toolpaths.operations.operation import Cutting
from toolpaths.pipeline.design import target

RACK = load_rack()
MAPLE = Wood("hard maple", 1450.0, 705.0, "invented for tests")
BENCH = load_machine("bench-router")
DIAL = load_machine("hand-dial")

CUTTING = Cutting(
    rpm=18000, feed=1000, plunge=200, ramp=700, pass_depth=2.0, step_over=0.4, finish_allowance=0.2,
    rough="conventional", finish="climb", ramp_angle=3.0, z_limit=800.0,
)  # fmt: skip


def flat(diameter: float, **more: Any) -> Bit:
    """A flat bit."""
    keys: dict[str, Any] = {"flutes": 2, "cutting_length": 25.0, "shank": diameter, "stickout": 30.0, **more}
    return Flat(shape="flat", diameter=diameter, **keys)


def context(
    *features: Feature,
    machine: Machine = BENCH,
    bits: dict[str, Bit] | None = None,
    width: dict[Any, Any] | None = None,
    board: dict[str, Any] | None = None,
    setup: dict[str, Any] | None = None,
    scale_length: float = 650,
    frets: int = 22,
    **job: Any,
) -> SetupContext:
    """The surroundings of one setup with those features; named by their keys, on lines 30, 31 and so on."""
    placed = [f.placed(f.name, 30 + i) for i, f in enumerate(features)]
    keys: dict[str, Any] = {
        "title": "Board of an invented workshop",
        "units": "mm",
        "machine": machine.name,
        "wood": "hard maple",
        "instrument": {
            "scale_length": scale_length,
            "frets": frets,
            "strings": 6,
            "board": {"width": width or {"nut": 42, 12: 52}, "overhang": 10, "thickness": 6, **(board or {})},
        },
        "stock": {"length": 510, "width": 70, "thickness": 8},
        "bits": {**RACK, **(bits or {})},
        "setups": [
            {
                "name": "face",
                "zero": {"x": "nut", "y": "centreline", "z": "bed"},
                "nut_at": 15,
                "hold": "tape",
                "features": placed or [_Nothing(bit="quarter").placed("nothing", 30)],
                **(setup or {}),
            }
        ],
    }
    whole = Job.model_validate({**keys, **job}, context={"units": job.get("units", "mm")})
    return setup_context_of(whole, machine, MAPLE, whole.setups[0])


class _Nothing(Feature):
    """Asks for nothing."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset()
    stage: ClassVar[Stage] = Stage.off_router

    def demands(self, context: SetupContext) -> list[Any]:
        return []

    def operations(self, context: SetupContext) -> list[Any]:
        return []


def near(*contexts: SetupContext) -> Surfaces:
    """The wood of some setups, once all that they ask for is cut."""
    return Surfaces({s.setup.name: s for s in contexts}, target(contexts).demands)
