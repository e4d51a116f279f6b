"""What holds the blank, drawn at random: every key of `hold`, `under` and `clearance`; sound more often than not."""

from __future__ import annotations

from typing import Any

from tests.property.draws import Draw, Job
from tests.tamper.described import mm


class _Blank:
    """Numbers of the blank about the nut line, mm."""

    def __init__(self, job: Job, nut_at: float) -> None:
        stock, units = job["stock"], job["units"]
        thick = stock["thickness"]
        self.top = mm(thick["max"] if isinstance(thick, dict) else thick, units)
        self.x0, self.half = -nut_at, mm(stock["width"], units) / 2
        self.x1 = self.x0 + mm(stock["length"], units)


def draw_holders(
    d: Draw, job: Job, setup: dict[str, Any], nut_at: float, features: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Sets `hold`, and at times `under` and `clearance`, in a setup of those features; the holes of its screws, if any.

    Where all is planed a clamp is in the way, and is drawn seldom.
    """
    planed = any("plane" in feature for feature in features)
    blank = _Blank(job, nut_at)
    under = 0.0
    if d.seldom(5):
        under = d.between(3, 9)
        setup["under"] = {"backing": d.length(under)}
        if d.seldom():
            setup["under"]["tape"] = d.length(0.2)
            under += 0.2
    if d.seldom(5):
        setup["clearance"] = d.length(d.between(0, 2))
    if d.often(3):
        setup["hold"] = d.one("tape", "vacuum")
        return []
    top = blank.top + under
    hold: dict[str, Any] = {}
    kind = d.one("tape", "vacuum", "screws", "screws", "clamps")
    if kind == "clamps" and planed and d.often(4):
        kind = "tape"
    if kind == "tape":
        hold["tape"] = _patch(d, blank)
        if d.seldom():
            hold["tape"]["strength"] = d.between(0.05, 0.3, 0.05)
        if d.seldom() and "under" not in setup:
            hold["tape"]["thickness"] = d.length(0.2)
    elif kind == "vacuum":
        hold["vacuum"] = _patch(d, blank)
        if d.seldom():
            hold["vacuum"]["pull"] = d.between(0.03, 0.08, 0.01)
    elif kind == "screws":
        hold["screws"] = _screws(d, blank)
        if d.seldom():
            hold["tape"] = {}
    else:
        hold["clamps"] = [_clamp(d, blank, top, k) for k in (1, 2)]
        if d.seldom():
            hold["tape"] = {}
    if d.seldom():
        # Below the lowest plane of any board that is drawn, less what it must keep clear of.
        hold["stops"] = [
            {
                "name": "end stop",
                "x": d.lengths(round(blank.x0 - 15, 2), round(blank.x0, 2)),
                "y": d.lengths(-15, 15),
                "height": d.length(under + d.between(0.5, 2)),
            }
        ]
    if d.seldom(8):
        places = [{"x": d.length(round(blank.x0 + 12, 1)), "y": d.length(0.0), "diameter": d.length(4.0)}]
        hold["pins"] = {"height": d.length(under + d.between(0, 2)), "at": places}
    setup["hold"] = hold
    return _screw_holes(d, job, setup, nut_at)


def _screw_holes(d: Draw, job: Job, setup: dict[str, Any], nut_at: float) -> list[dict[str, Any]]:
    """The feature, at times, where the setup's screws have places; until they are in a clamp may hold the blank."""
    hold = setup["hold"]
    if "screws" not in hold or d.often():
        return []
    blank, under = _Blank(job, nut_at), mm(setup.get("under", {}).get("backing", 0.0), job["units"])
    if "tape" not in hold:
        hold["clamps"] = [{**_clamp(d, blank, blank.top + under, k), "until": "screws"} for k in (1, 2)]
    holes: dict[str, Any] = {"bit": "pinner" if job["part"] == "neck" else d.one("eighth", "three")}
    if d.seldom():
        holes["diameter"] = d.length(4.8)
    if d.seldom():
        holes["head"] = d.length(10.0)
    return [{"screw_holes": holes}]


def _patch(d: Draw, blank: _Blank) -> dict[str, Any]:
    out: dict[str, Any] = {}
    if d.seldom():
        a = d.between(blank.x0, blank.x0 + 40)
        out["x"] = d.lengths(a, round(max(a + 20, blank.x1 - d.between(0, 60)), 1))
    if d.seldom():
        half = round(blank.half - d.between(0, 15), 1)
        out["y"] = d.lengths(-half, half)
    return out


def _screws(d: Draw, blank: _Blank) -> dict[str, Any] | list[dict[str, Any]]:
    """In the corners, sunk alike; at times at both ends otherwise."""
    deep = d.one(0.0, 0.0, d.between(1, 4))
    in_from = d.between(8.5, 11)
    y = round(blank.half - in_from, 2)
    groups = []
    for x in (round(blank.x0 + in_from, 2), round(blank.x1 - in_from, 2)):
        one: dict[str, Any] = {"at": [d.lengths(x, -y), d.lengths(x, y)]}
        if deep:
            one["sunk"] = d.length(deep)
        if d.seldom():
            one |= {"diameter": d.length(4.0), "head": d.length(d.between(7, 9)), "head_height": d.length(3.0)}
        if d.seldom(5):
            one["into_bed"] = d.length(d.between(6, 14))
        groups.append(one)
    if d.seldom():
        return groups
    return {**groups[0], "at": [*groups[0]["at"], *groups[1]["at"]]}


def _clamp(d: Draw, blank: _Blank, top: float, number: int) -> dict[str, Any]:
    over = d.between(6, 12)
    x = (blank.x0 - 20, blank.x0 + over) if number == 1 else (blank.x1 - over, blank.x1 + 20)
    out: dict[str, Any] = {
        "name": f"clamp {number}",
        "x": d.lengths(*(round(v, 2) for v in x)),
        "y": d.lengths(5, 20),
        "height": d.length(round(top + d.between(3, 12), 2)),
    }
    if d.seldom():
        inner = (x[0] + 15, x[1]) if number == 1 else (x[0], x[1] - 15)
        out["foot"] = {"x": d.lengths(*(round(v, 2) for v in inner)), "y": d.lengths(6, 18)}
    if d.seldom():
        out["force"] = d.whole(200, 900)
    if d.seldom(4):
        wide = (blank.x0 - 12, blank.x0) if number == 1 else (blank.x1, blank.x1 + 12)
        out |= {"presses": "from the side", "x": d.lengths(*(round(v, 2) for v in wide)), "height": d.length(3.0)}
        out.pop("foot", None)
    return out
