"""Instruments with necks, invented: a taper or a straight board, and a neck under it in numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, ClassVar

from tests.support.check_input_builder import Asked, kind_of
from toolpaths.features.kinds import FEATURES
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.verification.check_input import CheckInput

PLAIN: dict[str, Any] = {"thickness": {1: 20.5, 12: 22}}
WHOLE: dict[str, Any] = {
    "thickness": {1: 20.5, 12: 22},
    "heel": {"from": 330, "to": 400, "width": 52, "thickness": 25, "blend": 20},
    "headstock": {"length": 150, "width": 66, "thickness": 14},
}


def instrument(
    neck: dict[str, Any], *, nut: float = 36.0, fret_12: float = 44.0, board: float = 6.0, scale: float = 584.0
) -> Instrument:
    """19 frets, 8 mm of overhang. Scale 584 mm puts fret 12 at 292 mm."""
    return Instrument.model_validate(
        {
            "scale_length": scale,
            "frets": 19,
            "strings": 4,
            "board": {"width": {"nut": nut, 12: fret_12}, "overhang": 8, "thickness": board},
            "neck": neck,
        },
        context={"units": "mm"},
    )


def half_round(radius: float) -> Instrument:
    """A straight neck without heel or headstock whose back is half a circle: half width = depth = radius."""
    return instrument({"thickness": {1: radius + 6}}, nut=2 * radius, fret_12=2 * radius)


def half_ellipse(width: float, depth: float) -> Instrument:
    """A straight neck without heel or headstock whose back is half an ellipse of that half width and depth."""
    return instrument({"thickness": {1: depth + 6}}, nut=2 * width, fret_12=2 * width)


def on_neck(inputs: CheckInput, made: Instrument, kinds: dict[str, str], **setup: Any) -> CheckInput:
    """The same as of a neck's job: another instrument, and features of those names and kinds."""
    features = tuple(_kind(key)(bit="six").placed(name, 7 + i) for i, (name, key) in enumerate(kinds.items()))
    context = inputs.context
    placed = context.setup.model_copy(update={"features": features, **setup})
    job = context.job.model_copy(update={"part": "neck", "instrument": made, "setups": (placed,)})
    seen = tuple(
        replace(d, kind=kind_of(kinds[d.feature])) if d.kind is CutKind.pocket and d.feature in kinds else d
        for d in inputs.demands
    )
    return replace(inputs, context=replace(context, job=job, setup=placed), demands=seen)


def _kind(key: str) -> type[Asked]:
    given = {"key": key, "cuts": FEATURES[key].cuts, "lies": FEATURES[key].lies}
    kinds = {"key": ClassVar[str], "cuts": ClassVar[frozenset[CutKind]], "lies": ClassVar[str]}
    return type(f"Asked_{key}", (Asked,), {**given, "__annotations__": kinds})
