"""Boards with fanned or square frets drawn at random: leans to 35 degrees, straight or tapered, blind or open ends.

Each job asks for lines or slots of a few frets, or for a rounded top; nothing in it is a slip of the pen.
"""

from __future__ import annotations

import math
from random import Random
from typing import Any

Job = dict[str, Any]

LEAN = 35.0
"""The most that a fret leans on the boards drawn, degrees."""
KINDS = ("slots", "lines", "vee", "radius", "both")


def fanned_job(seed: int, kind: str | None = None) -> Job:
    """A board's job, the same for the same seed."""
    r = Random(seed)
    kind = kind or r.choice(KINDS)
    units = r.choice(["mm", "mm", "in"])
    nut = round(r.uniform(34, 60), 1)
    far = nut if r.random() < 0.3 else round(nut + r.uniform(0, 18), 1)
    frets, treble = r.randint(12, 24), round(r.uniform(380, 760), 1)
    spread = round(0.8 * nut, 1)
    square = r.choice([0, 3, 5, 7, 7.5, 9, 12])
    # The steepest line is the nut's or the last: its lean times the strings' spread is its part of the difference.
    part = max(1 - 2 ** (-square / 12), 2 ** (-square / 12) - 2 ** (-frets / 12))
    steepest = math.tan(math.radians(r.uniform(0, LEAN))) * spread / part
    bass = round(treble + min(steepest, 0.3 * treble), 1)
    thick, radius = round(r.uniform(6, 8), 1), round(r.uniform(150, 500), 1)
    board: Job = {
        "width": {"nut": nut, r.choice(["end", 12]): far},
        "overhang": round(r.uniform(6, 15), 1),
        "thickness": thick,
        "radius": {"nut": radius, "end": round(radius + r.uniform(20, 200), 1)} if r.random() < 0.4 else radius,
    }
    if r.random() < 0.3:
        board["binding"] = round(r.uniform(1, 2), 1)
    fan: Any = {"bass": bass, "treble": treble, "square_fret": square} if r.random() < 0.85 else treble
    instrument: Job = {
        "scale_length": fan, "frets": frets, "strings": r.randint(4, 8), "nut_spread": spread, "board": board,
    }  # fmt: skip
    if r.random() < 0.3:
        instrument["zero_fret"] = True
    aside = math.tan(math.radians(LEAN)) * (nut + 30) / 2
    stock = {"length": round(bass * 0.78 + 3 * aside + 60, 1), "width": nut + 60, "thickness": thick}
    return {
        "title": "Fan",
        "units": units,
        "machine": r.choice(["bench-router", "shop-gantry", "hand-dial"]),
        "wood": "white ash",
        "handed": r.choice(["right", "left"]),
        "instrument": _typed(instrument, units),
        "stock": _typed(stock, units),
        "bits": _bits(r),
        "setups": [
            {
                "name": "face",
                "zero": {"x": "nut", "y": "centreline", "z": "bed"},
                "nut_at": _length(aside + 25, units),
                "hold": "tape",
                "features": _features(r, kind, frets, units),
            }
        ],
    }  # fmt: skip


def _features(r: Random, kind: str, frets: int, units: str) -> list[Job]:
    """One; or lines or slots and the rounded top, in either order, and the outline."""
    if kind != "both":
        return [_feature(r, kind, frets, units)]
    two = [_feature(r, r.choice(["slots", "lines", "vee"]), frets, units), _feature(r, "radius", frets, units)]
    r.shuffle(two)
    return [*two, {"outline": {"bit": "quarter"}}]


def _feature(r: Random, kind: str, frets: int, units: str) -> Job:
    if kind == "radius":
        bit, scallop = r.choice(["ball", "eighth", "quarter", "bull", "ball"]), r.choice([0.02, 0.05, 0.2])
        return {"radius": {"bit": bit, "scallop": f"{scallop} mm"}}
    some = sorted({1, frets, r.randint(1, frets)})
    keys: Job = {"frets": some, "below": r.choice(["face", "radius"])}
    if r.random() < 0.7:
        keys["ends"] = {"blind": _length(round(r.uniform(0.5, 8), 2), units)}
    if kind == "slots":
        deep = {"depth": _length(1.6, units)}
        wide = {"tang": {"height": _length(1.3, units), "width": _length(r.choice([0.75, 0.9]), units)}}
        return {"fret_slots": {"bit": "slit", **r.choice([deep, wide]), **keys}}
    bit = "vee" if kind == "vee" else "slit"
    return {"score_lines": {"bit": bit, "depth": _length(round(r.uniform(0.2, 1.0), 2), units), **keys}}


def _bits(r: Random) -> Job:
    slit = round(r.uniform(0.5, 0.74), 2)
    angle, tip = r.choice([20, 30, 45, 60, 75, 90, 120]), r.choice([0, 0.05, 0.1, 0.2, 0.4])
    tall = (6.35 - tip) / 2 / math.tan(math.radians(angle / 2))
    common = {"flutes": 2, "material": "carbide"}
    return {
        "slit": {
            "shape": "flat",
            "diameter": f"{slit} mm",
            "cutting_length": "7 mm",
            "shank": "3.175 mm",
            "stickout": "20 mm",
            **common,
        },
        "vee": {
            "shape": "vee",
            "angle": angle,
            "tip": f"{tip} mm",
            "diameter": "6.35 mm",
            "cutting_length": f"{max(tall, 5.0) + 0.1:.2f} mm",
            "shank": "6.35 mm",
            "stickout": f"{max(tall, 5) + 20:.0f} mm",
            **common,
        },
    }


def _typed(value: Any, units: str) -> Any:
    """The same with every length (a float) in the job's units."""
    if isinstance(value, dict):
        return {k: v if k == "square_fret" else _typed(v, units) for k, v in value.items()}
    return _length(value, units) if isinstance(value, float) else value


def _length(mm: float, units: str) -> float | str:
    return round(mm / 25.4, 4) if units == "in" else mm
