"""Jobs whose part may come free, and whose holders may stand in the way: one function a kind, numbers at random.

Each gives a job as plain values that the brute force of `tests/support/plain_held.py` can read again.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.property.any_job import BITS, Job
from tests.property.plain_part import Part
from tests.support.plain_wood import Lay

Hold = dict[str, Any] | str


class Drawn:
    """Random numbers of one job; `mm` types a length in the job's units."""

    def __init__(self, seed: str) -> None:
        self.rng = random.Random(seed)
        self.inch = self.rng.random() < 0.25

    def between(self, low: float, high: float, step: float = 0.1) -> float:
        return round(low + step * self.rng.randint(0, max(0, round((high - low) / step))), 3)

    def one(self, *of: Any) -> Any:
        return self.rng.choice(of)

    def often(self, part: float = 0.5) -> bool:
        return self.rng.random() < part

    def mm(self, value: float) -> str | float:
        return f"{round(value, 3)} mm" if self.inch else round(value, 3)

    def span(self, a: float, b: float) -> list[str | float]:
        return [self.mm(a), self.mm(b)]


def held_job(seed: str, kind: str | None = None) -> tuple[str, Job]:
    """(kind, job)."""
    d = Drawn(seed)
    kind = kind or d.one(*KINDS)
    job = KINDS[kind](d)
    job["title"] = "Held"
    if d.often(0.1) and kind != "narrow_blank":
        # A blank with more wood on one side; what was placed about its middle lies a little off.
        b = Box(job)
        job["setups"][0]["centre_at"] = d.mm(round(b.y1 + d.between(-3, 3), 2))
    return kind, job


# Boards


def _board(d: Drawn, *, spare: tuple[float, float] = (26, 40), planed: bool | None = None) -> Job:
    scale, frets = d.rng.randint(230, 300), d.rng.randint(5, 10)
    nut = d.between(34, 42)
    far = nut + d.between(0, 8)
    end = scale * (1 - 2 ** (-frets / 12)) + 6
    left = d.between(26, 40)
    thick = d.between(4.5, 6.5)
    planed = d.often() if planed is None else planed
    setup: dict[str, Any] = {
        "name": "face",
        "zero": {
            "x": d.one("nut", "stock end"),
            "y": d.one("centreline", "stock edge"),
            "z": d.one("bed", "bed", "stock top"),
        },
        "nut_at": d.mm(left),
        "features": [],
    }
    if d.often(0.3):
        setup["under"] = {"backing": d.mm(d.between(3, 9))}
    if d.often(0.3):
        setup["clearance"] = d.mm(d.between(0, 2))
    if planed:
        setup["features"].append({"plane": {"bit": "planer", "leave": d.mm(thick)}})
    # A planed board is put upon its table with wood to spare.
    most = round(thick + (d.between(0.4, 1.6) if planed else 0.0), 2)
    return {
        "title": "", "units": "in" if d.inch else "mm", "part": "board", "machine": "bench-router",
        "wood": d.one("hard maple", "black cherry", "mahogany"), "handed": d.one("right", "left"),
        "bits": {name: dict(bit) for name, bit in BITS.items()},
        "instrument": {
            "scale_length": d.mm(scale), "frets": frets, "strings": 4,
            "board": {
                "width": {"nut": d.mm(nut), "end": d.mm(far)}, "overhang": d.mm(6), "thickness": d.mm(thick),
            },
        },
        "stock": {
            "length": d.mm(round(end + left + d.between(26, 40), 1)),
            "width": d.mm(round(far + d.between(*spare), 1)),
            "thickness": d.mm(most),
        },
        "setups": [setup],
    }  # fmt: skip


def _outline(d: Drawn, job: Job, tabs: bool | None = None) -> None:
    outline: dict[str, Any] = {"bit": d.one("quarter", "six", "eighth")}
    if tabs or (tabs is None and d.often(0.7)):
        high = d.between(0.4, 2.4)
        outline["tabs"] = {"count": d.rng.randint(1, 5), "length": d.mm(d.between(4, 10)), "height": d.mm(high)}
    job["setups"][0]["features"].append({"outline": outline})


class Box:
    """Numbers of a board's job, mm."""

    def __init__(self, job: Job) -> None:
        self.part = Part(job)
        self.x0, self.y0, self.x1, self.y1 = self.part.blank
        self.top, self.planed = self.part.top, "plane" in self.part.features
        self.under = self.part.mm(self.part.setup.get("under", {}).get("backing", 0.0))
        self.end = self.part.far[0]
        self.half = max(self.part.half(0), self.part.half(self.end))


def _waste_screws(d: Drawn, b: Box, kerf: float, sunk: float | None = None) -> dict[str, Any]:
    """Screws beside the outline's kerf, their heads so far from it."""
    head = d.between(6, 9)
    beside = b.half + kerf + head / 2 + d.between(-0.5, 3)
    places = []
    for x in (d.between(b.x0 + 9, b.x0 + 16), d.between(b.x1 - 16, b.x1 - 9)):
        for side in (-1, 1):
            y = min(beside, b.y1 - 1.0) if d.often(0.6) else d.between(6, b.y1 - 8.5)
            places.append(d.span(round(x, 2), round(side * y, 2)))
    if d.often(0.4):
        places.append(d.span(d.between(20, b.end - 20), round(d.one(-1, 1) * min(beside, b.y1 - 1.5), 2)))
    if d.often(0.1):
        places.append(d.span(d.between(20, b.end - 20), d.between(-b.half, b.half)))
    deep = d.one(0.0, d.between(1, 5, 0.25)) if sunk is None else sunk
    out = {"at": places[: d.rng.randint(1, len(places))] if d.often(0.3) else places, "head": d.mm(head)}
    if deep:
        out |= {"sunk": d.mm(deep)}
    if d.often(0.4):
        out |= {"head_height": d.mm(d.between(2, 4))}
    return out


def board_with_screws(d: Drawn) -> Job:
    job = _board(d, spare=(26, 50))
    _outline(d, job)
    b, outline = Box(job), job["setups"][0]["features"][-1]["outline"]
    job["setups"][0]["hold"] = {"screws": _waste_screws(d, b, 2 * b.part.bit(outline["bit"]).radius)}
    if d.often(0.4):
        job["setups"][0]["features"].append({"screw_holes": {"bit": d.one("eighth", "three")}})
        job["setups"][0]["hold"]["clamps"] = [_end_clamp(d, b, 1, until="screws")]
    return job


def screws_near_kerfs(d: Drawn) -> Job:
    job = _board(d, spare=(34, 50), planed=False)
    _outline(d, job, tabs=True)
    b, outline = Box(job), job["setups"][0]["features"][-1]["outline"]
    kerf, head = 2 * b.part.bit(outline["bit"]).radius, 8.0
    x = d.between(10, b.end - 10)
    beside = b.part.half(x) + kerf + head / 2 + d.between(0.3, 2.2)
    at = [d.span(x, round(d.one(-1, 1) * beside, 2)), *(d.span(b.x0 + 10, s * (b.y1 - 9)) for s in (-1, 1))]
    job["setups"][0]["hold"] = {"screws": {"at": at}}
    return job


def _end_clamp(d: Drawn, b: Box, side: int, *, over: float | None = None, until: str = "") -> dict[str, Any]:
    """A clamp at one end, over the blank's end by so much."""
    over = d.between(5, 22) if over is None else over
    x = (b.x0 - 25, b.x0 + over) if side > 0 else (b.x1 - over, b.x1 + 25)
    y = d.between(-8, 8)
    out: dict[str, Any] = {
        "name": f"clamp {1 if side > 0 else 2}", "x": d.span(*x), "y": d.span(y - 12, y + 12),
        "height": d.mm(b.top + b.under + d.one(d.between(4, 14), d.between(4, 14), d.between(-2, 2))),
    }  # fmt: skip
    if d.often(0.2):
        out["foot"] = {"x": d.span(x[0] + 3, x[1] - d.between(0, 3)), "y": d.span(y - 8, y + 8)}
    if until:
        out["until"] = until
    return out


def board_with_clamps(d: Drawn) -> Job:
    job = _board(d, planed=d.often(0.25))
    _outline(d, job)
    b = Box(job)
    clamps = [_end_clamp(d, b, side) for side in (1, -1)]
    if d.often(0.2):
        clamps[0] = _end_clamp(d, b, 1, over=d.between(-2, 1))
    if d.often(0.15):
        clamps.append(
            {
                "name": "jaw", "x": d.span(20, 40), "y": d.span(b.y1 + d.between(-1, 1), b.y1 + 20),
                "height": d.mm(3), "presses": "from the side",
            }
        )  # fmt: skip
    job["setups"][0]["hold"] = {"clamps": clamps}
    return job


def one_clamp(d: Drawn) -> Job:
    job = _board(d, planed=False)
    _outline(d, job)
    job["setups"][0]["hold"] = {"clamps": [_end_clamp(d, Box(job), d.one(1, -1), over=d.between(8, 20))]}
    return job


def narrow_blank(d: Drawn) -> Job:
    """Tabs end at the blank's own edge, or beyond it."""
    job = _board(d, spare=(0.5, 20))
    _outline(d, job, tabs=True)
    b = Box(job)
    job["setups"][0]["hold"] = {"clamps": [_end_clamp(d, b, s, over=d.between(8, 15)) for s in (1, -1)]}
    if d.often():
        at = [d.span(x, d.between(-12, 12)) for x in (b.x0 + 10, b.x1 - 10)]
        job["setups"][0]["hold"] = {"screws": {"at": at, **({"sunk": d.mm(1)} if d.often(0.3) else {})}}
    return job


def some_tape(d: Drawn) -> Job:
    job = _board(d)
    _outline(d, job, tabs=d.often(0.4))
    b = Box(job)
    tape: dict[str, Any] = {}
    if d.often(0.9):
        a = d.between(b.x0 - 5, b.end - 10)
        tape["x"] = d.span(a, a + d.between(4, 60))
    if d.often():
        a = d.between(b.y0 - 20, b.y1 - 3)
        tape["y"] = d.span(a, a + d.between(3, 30))
    if d.often(0.3):
        tape["thickness"] = d.mm(0.2)
    job["setups"][0]["hold"] = {"tape": tape}
    return job


def vacuum_under_the_board(d: Drawn) -> Job:
    job = _board(d)
    _outline(d, job, tabs=d.often(0.4))
    b = Box(job)
    a, wide = d.between(b.x0, b.end - 20), d.between(2, b.half - 2)
    job["setups"][0]["hold"] = {
        "vacuum": {"x": d.span(a, a + d.between(3, 80)), "y": d.span(-wide, d.between(-wide + 2, wide))}
    }
    return job


def _stop(d: Drawn, b: Box, off: float, height: float) -> dict[str, Any]:
    """A stop at the left end, off the blank by so much; into it where that is below 0."""
    return {"name": "end stop", "x": d.span(b.x0 - off - 15, b.x0 - off), "y": d.span(-20, 20), "height": d.mm(height)}


def only_stops(d: Drawn) -> Job:
    job = _board(d)
    _outline(d, job)
    b = Box(job)
    hold: dict[str, Any] = {"stops": [_stop(d, b, d.one(0.0, d.between(0, 3)), b.under + 2.0)]}
    if d.often(0.4):
        pins = [{"x": d.mm(x), "y": 0, "diameter": d.mm(5)} for x in (b.x0 + 12, b.x1 - 12)]
        hold = {"pins": {"at": pins, "height": d.mm(b.under + d.between(-1, 3))}} if b.under > 1 else hold
    job["setups"][0]["hold"] = hold
    return job


def unplaced(d: Drawn) -> Job:
    job = _board(d, planed=d.often(0.7))
    _outline(d, job)
    job["setups"][0]["hold"] = d.one("screws", "clamps")
    return job


def planed_past_stops(d: Drawn) -> Job:
    job = _board(d, planed=True)
    if d.often():
        _outline(d, job)
    b = Box(job)
    leave = b.part.glue
    height = max(0.5, b.under + leave - d.one(0.0, 0.1, d.between(0, 3), d.between(0.5, 1.5)))
    hold: dict[str, Any] = {"tape": {}, "stops": [_stop(d, b, d.one(0.0, d.between(0, 16)), height)]}
    if d.often(0.3):
        hold["stops"].append(
            {
                "name": "side stop", "x": d.span(10, 30), "y": d.span(b.y1, b.y1 + 10),
                "height": d.mm(max(0.5, b.under + leave - d.between(0, 3))),
            }
        )  # fmt: skip
    job["setups"][0]["hold"] = hold
    return job


def stops_in_the_blank(d: Drawn) -> Job:
    job = _board(d)
    _outline(d, job)
    b = Box(job)
    height = d.between(0.5, b.top + b.under + 8)
    stop = _stop(d, b, d.between(-5, 3), height)
    job["setups"][0]["hold"] = {"tape": {}, "stops": [stop]} if d.often(0.7) else "tape"
    if job["setups"][0]["hold"] == "tape":
        job["setups"][0]["keep_out"] = [stop]
    return job


def askew(d: Drawn) -> Job:
    """Any of the boards, lying up to a degree or two askew."""
    job = d.one(board_with_screws, board_with_clamps, some_tape, planed_past_stops, screws_near_kerfs, one_clamp)(d)
    setup, b = job["setups"][0], Box(job)
    edge = b.y0 - b.part.zero[1]
    by = d.between(-3, 3)
    setup["skew"] = {"points": [d.span(10, edge + d.between(-0.5, 0.5)), d.span(160, edge + by)]}
    if isinstance(setup["hold"], dict) and d.often(0.4):
        # At the far edge as it truly lies, or near to it: a corner of the stop is nearest.
        lay, x, off = Lay(Part(job)), d.between(0, b.end), d.one(0.05, d.between(-2, 2))
        y = max(float(lay.at_machine(at, b.y1)[1]) for at in (x - 8, x + 8)) + off
        side = {"name": "far stop", "x": d.span(x - 6, x + 6), "y": d.span(y, y + 12), "height": d.mm(b.under + 3)}
        if d.often():
            setup["hold"].setdefault("stops", []).append(side)
        else:
            setup["hold"].setdefault("clamps", []).append({**side, "presses": "from the side"})
    return job


# Necks


def neck_of_two_sides(d: Drawn) -> Job:
    """The outline from both sides: between the kerfs a web from 3 mm down to none, or tabs on what is left."""
    scale, frets, nut = d.rng.randint(230, 300), d.rng.randint(5, 9), d.between(34, 40)
    end = scale * (1 - 2 ** (-frets / 12)) + 6
    left, glue = d.between(28, 40), d.between(18, 20)
    wide = nut + 4 + 2 * d.between(20, 30)
    face, web = d.between(glue / 2 - 1, glue / 2 + 2), d.between(-2, 3)
    tabs: dict[str, Any] = {}
    back: dict[str, Any] = {"bit": "long", "depth": d.mm(face + web)}
    if d.often(0.7):
        back.pop("depth") if d.often(0.3) else None
        tabs = {
            "count": d.rng.randint(1, 4), "length": d.mm(d.between(5, 9)),
            "height": d.mm(max(0.5, face + d.between(-1, 4))),
        }  # fmt: skip
        back["tabs"] = tabs
    zero = {"x": "nut", "y": "centreline", "z": "bed"}
    job: Job = {
        "title": "", "units": "in" if d.inch else "mm", "part": "neck", "machine": "bench-router",
        "wood": d.one("hard maple", "black cherry"), "handed": d.one("right", "left"),
        "bits": {name: dict(bit) for name, bit in BITS.items()},
        "instrument": {
            "scale_length": d.mm(scale), "frets": frets, "strings": 4,
            "board": {
                "width": {"nut": d.mm(nut), "end": d.mm(nut + 4)}, "overhang": d.mm(6), "thickness": d.mm(5),
            },
            "neck": {"thickness": {1: d.mm(20), 5: d.mm(21)}, "margin": d.mm(d.between(0, 1))},
        },
        "stock": {
            "length": d.mm(round(end + left + d.between(28, 40), 1)), "width": d.mm(round(wide, 1)),
            "thickness": d.mm(round(glue + 0.6, 1)),
        },
        "setups": [
            {
                "name": "face", "zero": dict(zero), "nut_at": d.mm(left), "hold": "tape",
                "features": [
                    {"plane": {"bit": "planer", "leave": d.mm(glue)}}, {"outline": {"bit": "long", "depth": d.mm(face)}}
                ],
            },
            {
                "name": "back", "zero": dict(zero), "nut_at": d.mm(left), "flip": "about x",
                "features": [{"outline": back}],
            },
        ],
    }  # fmt: skip
    b = Box(job)
    places = [d.span(x, s * (b.y1 - 9)) for x in (b.x0 + 10, b.x1 - 10) for s in (-1, 1)]
    if d.often(0.3):
        edge = {"points": [d.span(0, -b.y1 + d.between(-1, 1)), d.span(d.between(80, 120), -b.y1 + d.between(-2, 2))]}
        job["setups"][1]["skew"] = edge
    job["setups"][1]["hold"] = d.one(
        {"screws": {"at": places}},
        {"screws": {"at": places[: d.rng.randint(1, 4)]}},
        {"clamps": [_neck_clamp(d, b, glue, s) for s in (1, -1)]},
        {"clamps": [_neck_clamp(d, b, glue, 1)]},
        {"tape": {"x": d.span(b.x0, d.between(b.x0 + 5, b.end))}},
        {"tape": {"y": d.span(b.y0, d.between(b.y0 + 3, -10))}},
        {"vacuum": {"x": d.span(5, d.between(10, b.end)), "y": d.span(-12, 12)}},
        "vacuum",
        "tape",
    )
    return job


def _neck_clamp(d: Drawn, b: Box, glue: float, side: int) -> dict[str, Any]:
    x = (b.x0 - 25, b.x0 + d.between(6, 18)) if side > 0 else (b.x1 - d.between(6, 18), b.x1 + 25)
    return {"name": f"clamp {side}", "x": d.span(*x), "y": d.span(-12, 12), "height": d.mm(glue + 12)}


KINDS: dict[str, Callable[[Drawn], Job]] = {
    f.__name__: f
    for f in (
        neck_of_two_sides, board_with_screws, screws_near_kerfs, board_with_clamps, one_clamp, narrow_blank, some_tape,
        vacuum_under_the_board, only_stops, unplaced, planed_past_stops, stops_in_the_blank, askew,
    )
}  # fmt: skip
