"""The second side of a neck's blank, and the faces that are cut there: an invented neck in numbers."""

from __future__ import annotations

from typing import Any

from tests.support.setup_builder import BENCH, MAPLE, context
from toolpaths.features.feature import Feature
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.job.job import Instrument
from toolpaths.job.neck import Neck
from toolpaths.job.setup_context import SetupContext, setup_context_of

HEEL: dict[str, Any] = {"from": 330, "to": 400, "width": 52, "thickness": 25, "blend": 20}
HEAD: dict[str, Any] = {"length": 90, "width": 60, "thickness": 14}


def turned_over(
    *features: Feature,
    heel: dict[str, Any] | None = HEEL,
    head: dict[str, Any] | None = HEAD,
    volute: dict[str, Any] | None = None,
    drop: float = 0.0,
    thick: float = 25.0,
    flip: str | None = "about x",
    handed: str = "right",
    units: str = "mm",
) -> SetupContext:
    """A blank of 560 x 90 x `thick`, its left end at x -110; the board is 6 thick. mm.

    `drop`: a face of the headstock so much lower is cut in the first setup.
    """
    neck: dict[str, Any] = {"thickness": {1: 20.5, 12: 22}}
    neck |= {} if heel is None else {"heel": heel}
    neck |= {} if head is None else {"headstock": head}
    neck |= {} if volute is None else {"volute": volute}
    faces = [HeadstockFace.model_validate({"bit": "planer", "drop": drop, "from": -8})] if drop else []
    stock = {"length": 560, "width": 90, "thickness": thick}
    one = context(*faces, stock=stock, setup={"nut_at": 110}, board={"thickness": 6})
    face = one.job.setups[0]
    placed = tuple(f.placed(f.key, 40 + i) for i, f in enumerate(features))
    back = face.model_copy(update={"name": "back", "flip": flip, "features": placed})
    instrument: Instrument = one.job.instrument.model_copy(update={"neck": Neck.model_validate(neck)})
    more = {"setups": (face, back), "instrument": instrument, "part": "neck", "handed": handed, "units": units}
    job = one.job.model_copy(update=more)
    return setup_context_of(job, BENCH, MAPLE, back)
