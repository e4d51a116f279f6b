"""A jig's setup made in a line, with blanks of invented jobs on it.

The jig: 420 x 170 mm, planed to 24.5, nut line 150 mm from its left end.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tests.support.setup_builder import context, flat
from toolpaths.features.feature import Feature
from toolpaths.features.kinds.plane import Plane
from toolpaths.job.bits.drill import Drill
from toolpaths.job.holders import Screws
from toolpaths.job.jig import ServedSetup
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stock import KeepOut

FACE = 24.5
PILOT = Drill(
    shape="drill", diameter=2.5, flutes=2, cutting_length=30.0, shank=2.5, stickout=38.0, material="HSS", spiral="up"
)


def lying(part: Any = "neck", setup: str = "back", **keys: Any) -> ServedSetup:
    """How a blank lies: a neck's, 300 x 90, from 110 before the nut line; without holders."""
    usual: dict[str, Any] = {
        "box": (-110.0, -45.0, 190.0, 45.0), "pins": (), "screws": (), "stops": ()
    }  # fmt: skip
    return ServedSetup(part=part, setup=setup, **{**usual, **keys})


def screws(*at: tuple[float, float], **keys: Any) -> Screws:
    """Waste screws at places."""
    return Screws.model_validate({"at": list(at), **keys}, context={"units": "mm"})


def stop(x: tuple[float, float], y: tuple[float, float], height: float = 10.0) -> KeepOut:
    """A stop."""
    return KeepOut.model_validate(
        {"name": "cam", "x": list(x), "y": list(y), "height": height}, context={"units": "mm"}
    )


def jig_context(*features: Feature, served: tuple[ServedSetup, ...] = (), **job: Any) -> SetupContext:
    """The surroundings of a jig's setup with those features, after a `plane`."""
    hold = {"screws": {"at": [(-140.0, -76.0), (-140.0, 76.0), (260.0, -76.0), (260.0, 76.0)], "sunk": 8}}
    found = context(
        Plane(bit="planer", leave=FACE),
        *features,
        bits={"pinner": flat(3.175), "pilot": PILOT},
        setup={"name": "jig", "nut_at": 150, "hold": hold},
        **{
            "part": "jig",
            "for": {"board": "board.yaml"},
            "stock": {"length": 420, "width": 170, "thickness": {"min": 24.8, "max": 25.2}},
            **job,
        },
    )
    return replace(found, served=served)
