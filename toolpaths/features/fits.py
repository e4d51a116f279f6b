"""A fit that the coupon tests, as its feature describes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.operations.slots import in_one_pass

PieceKind = Literal["slot", "line", "pocket", "bore"]
_NO_WALL = 0.004
"""A hole wider than its bit by less is bored straight down, mm."""


@dataclass(frozen=True, slots=True)
class Fit:
    """One fit of the job. `wanted`: its width, mm; `line` of the feature in the job file. `name`: for `--measured`."""

    name: str
    what: str
    kind: PieceKind
    wanted: float
    depth: float | None
    feature: FeatureKeys
    itself: bool = False
    """Whether the cut is as wide as the bit, whatever the bit is."""
    upright: bool = False
    """Whether it lies across the grain."""


def slot_fit(
    feature: FeatureKeys, bit: Bit, name: str, what: str, width: float, depth: float, *, upright: bool = False
) -> Fit:
    """A slot of a width and a depth, mm."""
    return Fit(name, what, "slot", width, depth, feature, in_one_pass(bit, width), upright)


def hole_fit(
    feature: FeatureKeys, bit: Bit, name: str, what: str, diameter: float, depth: float | None,
    kind: PieceKind = "bore",
) -> Fit:  # fmt: skip
    """Something round of a diameter and a depth, mm; through where that is None."""
    # A wall that is followed at all, however near, makes the hole wider by as much as the bit is.
    return Fit(name, what, kind, diameter, depth, feature, diameter - bit.cut_diameter < _NO_WALL)
