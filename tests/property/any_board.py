"""A board's job drawn at random."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.property.draw_holders import draw_holders
from tests.property.draws import (
    Draw,
    Job,
    draw_driven,
    draw_instrument,
    draw_plane,
    draw_setup,
    draw_some_frets,
    draw_tabs,
)


def board(d: Draw, job: Job) -> Job:
    job["instrument"], n = draw_instrument(d)
    most = round(n["thick"] + d.between(0.3, 2.5), 2)
    least = round(most - d.between(0, 0.25), 2)
    nut_at = d.between(24, 40) + n["aside"]
    job["stock"] = {
        "length": d.length(round(n["end"] + nut_at + n["aside"] + d.between(24, 40), 1)),
        "width": d.length(round(n["wide"] + d.between(24, 36), 1)),
        "thickness": {"min": d.length(least), "max": d.length(most)} if d.often() else d.length(most),
    }
    if d.seldom():
        job["saw"] = {"kerf": d.length(0.6), "depth": d.length(d.between(1.5, 2.6))}
    if n["radius"] and d.often():
        job["by_hand"] = "slots sawn before radiusing"
    setup = draw_setup(d, job, d.one("face", "Face side", "1"), nut_at, 0.0)
    planed = d.often(5)
    face = n["thick"] if planed else most
    features = [_scored(d, n)]
    if planed:
        features.append(draw_plane(d, n["thick"]))
    if d.often(3):
        features.append(_markers(d, n))
    if d.seldom() and not n["fan"]:
        features.append(_slots(d, n))
    if n["radius"] and d.seldom():
        features.append(
            {"radius": {"bit": d.one("ball", "ball", "eighth"), "scallop": d.length(d.between(0.02, 0.1, 0.01))}}
        )
    if d.often():
        features.append(_pins(d, nut_at, n))
    if d.seldom(5):
        features.append(
            {"nut_slot": {"bit": "eighth", "width": d.length(3.4), "depth": d.length(1.0), "edge": d.length(-1.0)}}
        )
    if d.often(5):
        outline: dict[str, Any] = {"bit": d.one("quarter", "six", "eighth")}
        if d.often():
            outline["tabs"] = draw_tabs(d, min(2.0, face / 2))
        if d.seldom(6):
            outline["depth"] = d.length(round(face - d.between(0.3, 1.5), 1))
        features.append({"outline": draw_driven(d, outline)})
    features += draw_holders(d, job, setup, nut_at, features)
    setup["features"] = list(d.draw(st.permutations(features)))
    job["setups"] = [setup]
    return job


def _scored(d: Draw, n: dict[str, float]) -> dict[str, Any]:
    lines: dict[str, Any] = {"bit": d.one("scorer", "vee60", "slotter"), "depth": d.length(d.between(0.2, 0.6, 0.05))}
    if n["radius"] and d.seldom():
        lines["below"] = "radius"
    if d.seldom(4):
        lines["ends"] = {"blind": d.length(d.between(1, 4))}
    if d.seldom(4):
        lines["frets"] = draw_some_frets(d, int(n["frets"]), 8)
    return {"score_lines": lines}


def _slots(d: Draw, n: dict[str, float]) -> dict[str, Any]:
    slots: dict[str, Any] = {"bit": "slotter", "frets": draw_some_frets(d, int(n["frets"]), 2)}
    if d.often():
        slots["depth"] = d.length(d.between(1.2, 2.0))
    else:
        slots["tang"] = {"height": d.length(1.4), "width": d.length(0.6)}
    if n["radius"] and d.often():
        slots["below"] = "radius"
    if d.seldom():
        slots["ends"] = {"blind": d.length(d.between(2, 4))}
    return {"fret_slots": slots}


def _markers(d: Draw, n: dict[str, float]) -> dict[str, Any]:
    shape = d.one("round", "round", "block", "diamond", "trapezoid")
    marker: dict[str, Any] = {
        "bit": d.one("eighth", "sixteenth", "three"),
        "depth": d.length(d.between(0.6, 2.2)),
        "shape": shape,
    }
    if shape == "round":
        marker["diameter"] = d.length(d.between(4, 7))
    else:
        marker["length" if shape != "trapezoid" and d.often() else "gap"] = d.length(d.between(4, 6))
    if shape in ("block", "diamond"):
        marker["width"] = d.length(d.between(6, 10))
    if shape == "trapezoid":
        marker["inset"] = d.length(d.between(6, 9))
    if d.often(3):
        marker["frets"] = [f for f in (3, 5, 7, 9, 12, 15) if f <= n["frets"]][: d.whole(1, 6)]
    if shape != "trapezoid":
        if d.seldom():
            marker["row"] = {"edge": d.one("bass", "treble"), "offset": d.length(d.between(8, 11))}
        elif d.seldom():
            marker["double_spacing"] = d.length(round(n["nut"] / 2, 1))
        if d.seldom():
            marker["doubles"] = []
    if shape in ("block", "trapezoid") and marker["bit"] != "sixteenth" and d.seldom():
        marker["then"] = "sixteenth"
    return {"marker_pockets": draw_driven(d, marker)}


def _pins(d: Draw, nut_at: float, n: dict[str, float]) -> dict[str, Any]:
    before, after = -(n["aside"] + nut_at) / 2 - 4, n["end"] + n["aside"] / 2 + 15
    width = d.between(4, 6)
    places: Any = [d.lengths(round(before, 1), 0.0), d.lengths(round(after, 1), d.between(-4, 4))]
    pins: dict[str, Any] = {"bit": d.one("eighth", "three"), "diameter": d.length(width), "at": places}
    if d.seldom():
        pins["at"] = [{"x": p[0], "y": p[1], "diameter": d.length(width + i)} for i, p in enumerate(places)]
        del pins["diameter"]
    if d.seldom():
        pins["depth"] = d.length(2.0)
    return {"pin_bores": pins}
