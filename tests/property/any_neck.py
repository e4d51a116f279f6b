"""A neck's job drawn at random."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.property.draw_holders import draw_holders
from tests.property.draws import Draw, Job, draw_driven, draw_instrument, draw_plane, draw_setup


def neck(d: Draw, job: Job) -> Job:
    job["instrument"], n = draw_instrument(d)
    thin = d.between(19, 23)
    neck: dict[str, Any] = {
        "thickness": {1: d.length(thin), 12: d.length(thin + d.between(0, 3))},
        "back": d.one("round", "soft vee"),
        "margin": d.length(d.between(0, 1)),
    }
    deep, end, wide = thin - n["thick"] + 3, n["end"] + n["aside"] / 2, n["wide"]
    if d.often():
        start = round(n["end"] * 0.75, 1)
        end = round(n["end"] + d.between(5, 30), 1)
        wider = d.length(round(wide + 2, 1))
        neck["heel"] = {"from": d.length(start), "to": d.length(end), "width": wider, "thickness": d.length(26.0)}
        deep, wide = 26.0 - n["thick"], wide + 2
    head = 0.0
    if d.often():
        head = d.between(110, 170) + n["aside"]
        neck["headstock"] = {"length": d.length(head), "width": d.length(75.0), "thickness": d.length(14.0)}
        wide = max(wide, 75.0)
    job["instrument"]["neck"] = neck
    thick = round(max(deep, 20.0) + d.between(2.5, 4.5), 1)  # as the shaft grows beyond fret 12
    nut_at = round(head + n["aside"] + d.between(26, 36), 1)
    job["stock"] = {
        "length": d.length(round(nut_at + end + n["aside"] + d.between(26, 40), 1)),
        "width": d.length(round(wide + d.between(26, 36), 1)),
        "thickness": {"min": d.length(round(thick - 0.2, 1)), "max": d.length(thick)},
    }
    glue = round(thick - d.between(0.3, 0.8), 1)
    setup = draw_setup(d, job, "face", nut_at, 0.0)
    features = [draw_plane(d, glue), _channel(d, n, end)]
    if head and d.often():
        face: dict[str, Any] = {
            "bit": d.one("quarter", "long"),
            "drop": d.length(d.between(1, 4)),
            "from": d.length(-8.0 - n["aside"]),
        }
        if d.seldom():
            face["ramp"] = d.length(12.0)
        features.append({"headstock_face": face})
    if d.often():
        features.append(_bars(d, n))
    if d.often():
        features.append(
            {"nut_slot": {"bit": "pinner", "width": d.length(d.between(3.3, 6)), "depth": d.length(d.between(1, 3))}}
        )
    if head and d.often():
        posts = [d.lengths(-45.0 - n["aside"], 20.0), d.lengths(-80.0 - n["aside"], -20.0)]
        features.append({"tuner_bores": {"bit": "pinner", "diameter": d.length(d.one(6.2, 8.0, 10.0)), "at": posts}})
    if "heel" in neck and d.seldom():
        bolts: dict[str, Any] = {
            "bit": "pinner",
            "diameter": d.length(5.0),
            "at": [d.lengths(round(end - 25, 1), 13.0)],
        }
        if d.seldom():
            bolts["counterbore"] = {"diameter": d.length(10.0), "depth": d.length(4.0)}
        features.append({"bolt_bores": bolts})
    if d.often():
        outline: dict[str, Any] = {"bit": "long"}
        if d.often(3):
            outline["depth"] = d.length(round(glue / 2 + 0.5, 1))
        features.append({"outline": draw_driven(d, outline)})
    features += draw_holders(d, job, setup, nut_at, features)
    setup["features"] = list(d.draw(st.permutations(features)))
    job["setups"] = [setup]
    if d.seldom():
        back = draw_setup(d, job, "back", nut_at, 0.0)
        back["flip"] = "about x"
        back["features"] = [{"outline": {"bit": "long", "depth": d.length(round(glue / 2 - 0.5, 1))}}]
        if d.often():
            tabs = {"count": d.whole(2, 6), "length": d.length(8.0), "height": d.length(round(glue / 2 + 2, 1))}
            back["features"][0]["outline"]["tabs"] = tabs
        if head and d.often():
            own: dict[str, Any] = {"bit": d.one("quarter", "long")}
            if d.seldom():
                own["ramp"] = d.length(round(glue, 1))
            back["features"].append({"headstock_back": own})
        if "heel" in neck and d.often():
            back["features"].append({"heel_face": {"bit": d.one("quarter", "long", "planer")}})
        back["features"] += draw_holders(d, job, back, nut_at, back["features"])
        job["setups"].append(back)
    return job


def _channel(d: Draw, n: dict[str, float], end: float) -> dict[str, Any]:
    start, to = d.between(2, 12) + n["aside"], round(n["end"] * 0.8, 1)
    channel: dict[str, Any] = {
        "bit": "pinner",
        "width": d.length(d.one(3.175, 5.0, 6.4)),
        "from": d.length(start),
        "to": d.one(d.length(to), "fret 11"),
        "ends": d.one("rounded", "squared"),
    }
    if d.seldom():
        channel["floor"] = {"ends": d.length(d.between(5, 7)), "middle": d.length(d.between(7, 9))}
    else:
        channel["depth"] = d.length(d.between(6, 9.5))
        if d.seldom():
            channel["to"] = d.length(to)
            channel["adjuster"] = {
                "end": "heel", "width": d.length(10.0), "length": d.length(16.0), "depth": d.length(d.between(8, 10))
            }  # fmt: skip
    return {"truss_rod_channel": channel}


def _bars(d: Draw, n: dict[str, float]) -> dict[str, Any]:
    bars: dict[str, Any] = {
        "bit": "pinner",
        "width": d.length(d.one(3.175, 3.4, 4.5)),
        "depth": d.length(d.between(3, 6)),
        "offset": d.length(d.between(8, 10)),
        "from": d.length(d.between(10, 20) + n["aside"]),
        "to": d.one("fret 10", d.length(round(n["end"] * 0.6, 1))),
    }
    if d.often():
        bars["follow"] = d.one("centreline", "taper")
    return {"reinforcement_slots": bars}
