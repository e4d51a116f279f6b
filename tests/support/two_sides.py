"""Demands of a neck's two sides as a check is given them: cuts in instrument coordinates by their depth. Invented."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from shapely import Point
from shapely.geometry.base import BaseGeometry

from tests.support.check_input_builder import inputs, operation, program
from tests.support.neck_builder import WHOLE, instrument
from tests.support.setup_builder import BENCH, MAPLE, context
from toolpaths.features.feature import Feature
from toolpaths.features.kinds import FEATURES
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding

THICK = 25.0
Check = Callable[[CheckInput], list[Finding]]


class Sides:
    """A neck's blank `THICK` thick from its face, and turned over, with the features that a job names there.

    Its headstock is 14 thick, its heel 19 without the board.
    """

    def __init__(self, face: Sequence[Feature] = (), back: Sequence[Feature] = (), handed: str = "right") -> None:
        self.contexts = _contexts(face, back, handed)

    def cut(self, kind: CutKind, shape: BaseGeometry, deep: float, *, back: bool = False, **more: Any) -> Demand:
        """A cut in instrument coordinates, its floor so deep below the glue face, in its setup's frame."""
        side = self.contexts[back]
        given = {"floor": Level(side.at_depth(deep)), "kind": kind, "feature": kind.value, **more}
        made = Demand(job_line=7, setup=side.setup.name, name=kind.value, asked=shape, radius=1.0, **given)
        return made if side.mirror > 0 else made.mirrored()

    def asked(
        self, check: Check, face: Sequence[Demand] = (), back: Sequence[Demand] = (), *, last: str, bit: str = "six"
    ) -> list[Finding]:
        """What a check tells of the program that completes a side with a bit; `of_job` holds both sides."""
        own, side = (back, self.contexts[1]) if last == "back" else (face, self.contexts[0])
        names = frozenset(d.feature for d in own)
        plain = inputs(program("G0 X-20 Y0"))
        seen = replace(
            plain, context=side, demands=tuple(own), operations=tuple(operation(n, bit) for n in names), begun=names,
            finished=names, of_job=((self.contexts[0], tuple(face)), (self.contexts[1], tuple(back))),
        )  # fmt: skip
        return check(seen)


def disc(x: float, y: float, diameter: float) -> BaseGeometry:
    """A round hole as seen from the face."""
    return Point(x, y).buffer(diameter / 2, quad_segs=32)


def feature(key: str, name: str = "", **keys: Any) -> Feature:
    """A feature of a job, under a name of its own."""
    made = FEATURES[key].model_validate({"bit": "six", **keys}, context={"units": "mm"})
    return made.placed(name or key, 7)


def _contexts(face: Sequence[Feature], back: Sequence[Feature], handed: str) -> tuple[SetupContext, SetupContext]:
    one = context(stock={"length": 620, "width": 100, "thickness": THICK}, setup={"nut_at": 192})
    first = one.job.setups[0].model_copy(update={"features": tuple(face)})
    turned = first.model_copy(update={"name": "back", "flip": "about x", "features": tuple(back)})
    more = {"setups": (first, turned), "part": "neck", "instrument": instrument(WHOLE), "handed": handed}
    job = one.job.model_copy(update=more)
    return setup_context_of(job, BENCH, MAPLE, first), setup_context_of(job, BENCH, MAPLE, turned)
