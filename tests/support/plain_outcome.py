"""An outcome made by hand, so that reports are tested without the stages that make outcomes.

A bass uke of an invented workshop: 520 mm scale, 16 frets, planed from 7 to 5.5 mm, lines 0.5 mm deep.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest
from shapely import Polygon

from toolpaths.common.arrays import Array
from toolpaths.features.feature import Feature
from toolpaths.gcode.program import Program, TouchOff
from toolpaths.geometry.loop import box_polygon
from toolpaths.instrument.boards import corners
from toolpaths.instrument.frets import fret_distances
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.bit import Bit
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import setup_context_of
from toolpaths.job.stage import Stage
from toolpaths.job.wood import Wood
from toolpaths.operations.operation import Cutting
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import FeatureReport, Outcome, SetupReport
from toolpaths.verification.wording.message import Message

FACE, BLANK, LINE = 5.5, 7.0, 0.5


class PlainBit(Bit):
    """A straight bit."""

    def spoils(self, rim: str) -> str:
        return ""

    def profile(self, rho: Array) -> Array:
        return np.zeros_like(rho)

    def past(self, aside: Array, steepness: Array) -> Array:
        raise NotImplementedError

    def width_at(self, depth: float) -> float:
        return self.cut_diameter


class PlainFeature(Feature):
    """A feature that asks for nothing by itself."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset()
    stage: ClassVar[Stage] = Stage.off_router

    def demands(self, context: Any) -> list[Demand]:
        return []

    def operations(self, context: Any) -> list[Any]:
        return []


class PlainPlane(PlainFeature):
    """One that planes the blank."""

    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.face})

    leave: Any = None


def _bit(diameter: float) -> PlainBit:
    return PlainBit(
        shape="flat", diameter=diameter, flutes=2, cutting_length=2.5 if diameter < 1 else 20, shank=3.175, stickout=18
    )


def _job(**changes: Any) -> Job:
    keys: dict[str, Any] = {
        "title": "Bass uke board, 520 mm",
        "units": "mm",
        "machine": "bench-router",
        "wood": "hard maple",
        "instrument": {
            "scale_length": 520,
            "frets": 16,
            "strings": 4,
            "board": {"width": {"nut": 40, 12: 49}, "overhang": 8, "thickness": FACE},
        },
        "stock": {"length": 350, "width": 70, "thickness": BLANK},
        "bits": {"planer": _bit(22), "scorer": _bit(0.6), "eighth": _bit(3.175), "quarter": _bit(6.35)},
        "setups": [
            {
                "name": "face",
                "zero": {"x": "nut", "y": "centreline", "z": "bed"},
                "nut_at": 14,
                "hold": "tape",
                "keep_out": [{"name": "end stop", "x": [-60, -30], "y": [-25, 25], "height": 6}],
                "features": [
                    PlainPlane(bit="planer", leave=FACE).placed("plane", 31),
                    PlainFeature(bit="scorer").placed("score_lines", 32),
                    PlainFeature(bit="eighth").placed("marker_pockets", 33),
                    PlainFeature(bit="quarter").placed("outline", 34),
                ],
            }
        ],
    }
    return Job.model_validate({**keys, **changes}, context={"units": "mm"})


def _machine() -> Machine:
    return Machine.model_validate(
        {
            "name": "bench-router",
            "description": "Table router of an invented workshop",
            "units": "mm",
            "travel": {"x": 800, "y": 500, "z": 90},
            "rapid": {"x": 4000, "y": 4000, "z": 1500},
            "feed_limit": {"x": 3000, "y": 3000, "z": 800},
            "acceleration": {"x": 200, "y": 200, "z": 100},
            "spindle": {"min_rpm": 8000, "max_rpm": 24000, "set_by": "program"},
            "offsets": {"G54": [100, 80, -70]},
            "decimals": 3,
            "safe_height": 8,
            "park": {"x": 0, "y": 150},
            "collet": {"nut_diameter": 20, "nut_height": 15, "holder_diameter": 43},
            "ending": "ngc",
        },
        context={"units": "mm"},
    )


def _cutting(rpm: float, feed: float, pass_depth: float) -> Cutting:
    return Cutting(
        rpm=rpm,
        feed=feed,
        plunge=feed / 4,
        ramp=feed * 0.7,
        pass_depth=pass_depth,
        step_over=0.4,
        finish_allowance=0.2,
        rough="conventional",
        finish="climb",
        ramp_angle=3,
        reasons={"feed": "middle of the chip band for hard wood", "pass_depth": "a quarter of the diameter"},
    )


def cut_map(job: Job, pitch: float = 0.25) -> tuple[DepthMap, DepthMap]:
    """(before, after): blank and cut board, painted cell by cell."""
    stock, setup = job.stock, job.setups[0]
    x0, y0 = -setup.nut_at, -stock.width / 2
    before = DepthMap.over((x0, y0, x0 + stock.length, y0 + stock.width), stock.thickness.max, pitch)
    h = np.full(before.heights.shape, FACE, dtype=np.float32)
    x, y = np.meshgrid(before.xs, before.ys)
    edge = np.array(corners(job.instrument))
    half = edge[3, 1] + (edge[2, 1] - edge[3, 1]) * x / edge[1, 0]
    places = fret_distances(job.instrument.scale_length, job.instrument.frets)
    for at in places:
        h[(abs(x - at) <= 0.3) & (abs(y) <= half + 1.3)] = FACE - LINE
    for fret in (3, 5, 7, 10):
        at = (places[fret - 1] + places[fret - 2]) / 2
        h[np.hypot(x - at, y) <= 3] = FACE - 1.8
    inside = (x >= 0) & (x <= edge[1, 0]) & (abs(y) <= half)
    band = (x >= -6.35) & (x <= edge[1, 0] + 6.35) & (abs(y) <= half + 6.35) & ~inside
    h[band] = -0.2
    for at in (60.0, 230.0):
        h[band & (abs(x - at) < 4)] = 1.5
    return before, before.with_heights(h)


def _features() -> tuple[FeatureReport, ...]:
    wide = _cutting(16000, 2000, 1)
    fine, mid, rough = _cutting(18000, 270, 0.1), _cutting(18000, 1000, 1), _cutting(18000, 1500, 1.6)
    return (
        FeatureReport("plane", "plane", 31, "planer", 4.2, 36000.0, 0.0, 0.0, 0.08, 2, None, wide),
        FeatureReport("score_lines", "score_lines", 32, "scorer", 3.1, 230.0, 0.0, 0.5, 0.0075, 5, 0.6, fine),
        FeatureReport("marker_pockets", "marker_pockets", 33, "eighth", 2.0, 203.0, 0.0, 1.8, 0.03, 2, None, mid),
        FeatureReport("outline", "outline", 34, "quarter", 5.4, 21000.0, 0.0, 5.7, 0.06, 4, None, rough),
    )


def _outcome(*, findings: tuple[Finding, ...] = (), changes: Changes | None = None, **keys: Any) -> Outcome:
    job = _job(**keys)
    machine, wood = _machine(), Wood("hard maple", 1450, 706, "Wood Handbook")
    context = setup_context_of(job, machine, wood, job.setups[0])
    before, after = cut_map(job)
    board = Polygon(corners(job.instrument))
    band = board.buffer(6.35).difference(board)
    demands = (
        Demand(
            "plane",
            31,
            "face",
            "the face",
            box_polygon(*context.stock_box),
            Level(FACE),
            11.0,
            everywhere=True,
            kind=CutKind.face,
        ),
        Demand("outline", 34, "face", "the outline", band, Level(0.0), 3.175, kind=CutKind.outline),
    )
    features = _features()
    programs = tuple(
        Program(
            name=f"{i:02d}-face-{f.bit}.ngc",
            text=f"(program {i} of 4)\nG21\nG0 Z14.\nM30\n",
            setup="face",
            bits=(f.bit,),
            number=i,
            count=4,
            minutes=f.minutes + 0.4,
            touch_off=TouchOff("the bed" if i == 1 else "the planed face", 0.0 if i == 1 else FACE),
            feature_minutes={f.name: f.minutes},
        )
        for i, f in enumerate(features, start=1)
    )
    removed = float((before.heights - after.heights).sum()) * after.pitch**2
    return Outcome(
        path=Path("jobs/bass_uke.yaml"),
        job=job,
        asked=job,
        machine=machine,
        wood=wood,
        job_hash="a1b2c3d4e5f6",
        changes=changes or Changes(),
        programs=programs,
        setups=(SetupReport(context, before, after, removed, features, demands, {}),),
        findings=findings,
        handwork=(
            Handwork("marker_pockets", "glue in the markers and level them with the face"),
            Handwork("outline", "saw through the 2 tabs and pare them flush", 18.0, 8.0),
        ),
    )


@cache
def _plain() -> Outcome:
    return _outcome()


@pytest.fixture
def outcome() -> Outcome:
    """The board, cut as asked."""
    return _plain()


@pytest.fixture
def make_outcome() -> Callable[..., Outcome]:
    """Makes the board with other findings, changes or job keys."""
    return _outcome


@pytest.fixture
def gouge() -> Finding:
    """A stop finding with both of its places."""
    return Finding.of(
        "gouge",
        Message("0.12 mm below the floor of the line at fret 5; at most 0.01 mm is allowed. Make the pass shallower."),
        feature="score_lines",
        job_line=32,
        program="02-face-scorer.ngc",
        program_line=3,
        place=(130.2, -4.0),
    )


@pytest.fixture
def thin_chip() -> Finding:
    """A warning without a place."""
    finding = Finding.of(
        "chip-thin", Message("0.004 mm a tooth; the band begins at 0.01 mm."), feature="plane", job_line=31
    )
    assert Severity.warn is finding.severity
    return finding


@pytest.fixture
def without_outline(outcome: Outcome) -> Outcome:
    """A run that leaves the outline out."""
    setup = outcome.setups[0]
    return replace(outcome, setups=(replace(setup, features=setup.features[:3], demands=setup.demands[:1]),))
