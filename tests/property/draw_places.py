"""A board's job whose blank is moved along: two places, pins in the bed, and their bores in the waste."""

from __future__ import annotations

from copy import deepcopy
from itertools import pairwise

from tests.property.draws import Job
from tests.tamper.described import mm

SHIFT = 60.0
PIN = 3.2
_EDGE = 3.2
"""From the middle of a pin to the blank's edge, mm."""


def in_two_places(job: Job) -> Job | None:
    """The job in two places; None where no seam between two frets has room for the pins before it.

    Fret n of a scale L lies L (1 - 2^(-n / 12)) from the nut; markers lie halfway between frets, so the seam does not.
    """
    out = deepcopy(job)
    units, setup = out["units"], out["setups"][0]
    scale = out["instrument"]["scale_length"]
    if isinstance(scale, dict) or len(out["setups"]) > 1:
        return None
    nut_at, length = mm(setup["nut_at"], units), mm(out["stock"]["length"], units)
    x0, half = -nut_at, mm(out["stock"]["width"], units) / 2
    long = mm(scale, units)
    pins = [x0 + 6.0, x0 + 40.0]
    least = pins[1] + SHIFT + PIN
    places = [long * (1 - 2 ** (-n / 12)) for n in range(out["instrument"]["frets"] + 1)]
    seams = [a + 0.3 * (b - a) for a, b in pairwise(places) if b - a > 12.0]
    seam = next((s for s in seams if s > max(least, x0 + 60.0) and s < x0 + length - 60.0), None)
    if seam is None:
        return None
    for key in ("skew", "keep_out", "under"):
        setup.pop(key, None)
    setup["play"] = "0.02 mm"
    setup["placed"] = [
        {"name": "near", "shift": 0, "from": "start", "to": f"{seam:.2f} mm"},
        {"name": "far", "shift": f"{SHIFT} mm", "from": f"{seam:.2f} mm", "to": "end"},
    ]
    bed = [[f"{pins[0]:.2f} mm", f"{_EDGE - half:.2f} mm"], [f"{pins[1]:.2f} mm", f"{half - _EDGE:.2f} mm"]]
    bored = [[f"{x + SHIFT:.2f} mm", at[1]] for x, at in zip(pins, bed, strict=True)]
    features = [f for f in setup["features"] if "pin_bores" not in f]
    features.insert(0, {"bed_bores": {"bit": "eighth", "diameter": f"{PIN} mm", "depth": "5 mm", "at": bed}})
    features.append({"pin_bores": {"bit": "eighth", "diameter": f"{PIN} mm", "at": bored}})
    setup["features"] = features
    return out
