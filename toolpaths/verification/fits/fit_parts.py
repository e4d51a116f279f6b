"""Board and neck as they are compared, and the rows of the comparison. Instrument coordinates, mm."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument, Job
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Target


class Verdict(StrEnum):
    """How a line of the comparison came out."""

    fits = "fits"
    look = "look"
    no = "does not fit"


@dataclass(frozen=True, slots=True)
class FitRow:
    """One line: what is compared, what each part has, how far they differ, and what to do where they do."""

    what: str
    board: str
    neck: str
    difference: str
    verdict: Verdict = Verdict.fits
    todo: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """One thing that a job cuts: the feature's kind, its name, its shape seen from the face, its depth from there.

    `joint`: whether it is open where board and neck meet, at the board's back and at the neck's face.
    """

    kind: CutKind
    name: str
    region: BaseGeometry
    depth: float
    joint: bool


@dataclass(frozen=True, slots=True)
class FitPart:
    """One of the two parts that are compared. `thickness`: of the finished part at its face, mm."""

    job: Job
    thickness: float
    cuts: tuple[Cut, ...]


def differing(one: Instrument, other: Instrument) -> tuple[str, ...]:
    """The keys whose values are not the same in both, in the order of the file."""
    return tuple(key for key in type(one).model_fields if getattr(one, key) != getattr(other, key))


def part_of(job: Job, contexts: Mapping[str, SetupContext], target: Target) -> FitPart:
    """The part that a laid-out job makes."""
    cuts: list[Cut] = []
    for name, context in contexts.items():
        if context.apart:
            continue
        for demand in target.demands[name]:
            if not demand.must or demand.asked.is_empty:
                continue
            region = demand.asked if context.mirror > 0 else scale(demand.asked, yfact=-1.0, origin=(0, 0))
            at = shapely.get_coordinates(demand.asked)
            z = float(np.min(demand.floor.height(at[:, 0], at[:, 1])))
            through = z <= 0
            depth = math.inf if through else context.glue - z
            joint = through or context.flipped == (job.part == "board")
            if context.flipped and not through and not (joint and demand.kind is CutKind.pin_hole):
                continue  # is not seen from the face
            cuts.append(Cut(demand.kind, demand.name, region, depth, joint))
    return FitPart(job, next(iter(contexts.values())).glue, tuple(cuts))


def length_row(what: str, b: float, n: float, units: Units, verdict: Verdict, todo: str) -> FitRow:
    """A line that compares a length of the board (b) with one of the neck (n), mm."""
    return FitRow(what, show(b, units), show(n, units), signed(n - b, units), verdict, todo)


def plain_row(what: str, b: object, n: object, differ: Verdict, todo: str) -> FitRow:
    """A line that compares two values which are the same or not."""
    return FitRow(what, str(b), str(n), "" if b == n else "differs", Verdict.fits if b == n else differ, todo)


def plain_size(mm: float, units: Units) -> str:
    """A length without its unit."""
    value = round(mm / MM_PER_INCH, 3) if units == "in" else round(mm, 2)
    return f"{value + 0.0:g}"


def signed(mm: float, units: Units) -> str:
    """A difference with its sign."""
    digits = 3 if units == "in" else 2
    value = round(mm / MM_PER_INCH if units == "in" else mm, digits) + 0.0
    return f"{value:+.{digits}f} {units}" if value else f"0 {units}"
