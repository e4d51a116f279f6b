"""What boards and necks have alike, drawn at random: values, lengths, the instrument, setups, how features are cut."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

Job = dict[str, Any]

OFFSETS = {
    "bench-router": ("G54", "G55", "G59"),
    "shop-gantry": ("G54", "G58", "G59.3"),
    "hand-dial": ("G54", "G55"),
    "small-frame": ("G54", "G56"),
}


class Draw:
    """Draws values; `units` are the job's."""

    def __init__(self, draw: st.DrawFn, units: str) -> None:
        self.draw, self.units = draw, units

    def between(self, low: float, high: float, step: float = 0.1) -> float:
        """A number of mm on a grid of steps."""
        count = max(0, int((high - low) / step))
        return round(low + step * self.draw(st.integers(0, count)), 4)

    def whole(self, low: int, high: int) -> int:
        return self.draw(st.integers(low, high))

    def one(self, *of: Any) -> Any:
        return self.draw(st.sampled_from(of))

    def often(self, of: int = 2) -> bool:
        """True in (of - 1) of `of` draws; false is the simpler."""
        return self.draw(st.integers(0, of - 1)) > 0

    def seldom(self, of: int = 3) -> bool:
        """True in one of `of` draws."""
        return self.draw(st.integers(0, of - 1)) == of - 1

    def length(self, mm: float) -> str | float:
        """The length as it may be typed: with its unit, or bare in the job's."""
        if self.units == "mm" and self.often():
            return mm
        return f"{mm} mm"

    def lengths(self, *mm: float) -> list[str | float]:
        return [self.length(x) for x in mm]


def draw_instrument(d: Draw) -> tuple[dict[str, Any], dict[str, float]]:
    """The instrument without its neck; and numbers of it, mm."""
    scale, frets = float(d.whole(300, 900)), d.whole(12, 36)
    nut = d.between(34, 60)
    fanned = d.seldom(4)
    shorter = d.between(2, 30) if fanned else 0.0
    overhang = d.between(2, 15)
    end = (scale - shorter / 2) * (1 - 2 ** (-frets / 12)) + overhang
    far = nut + d.between(-2, 18)
    thick = d.between(4, 8)
    board: dict[str, Any] = {
        "width": {"nut": d.length(nut), d.one("end", 12): d.length(far)},
        "overhang": d.length(overhang),
        "thickness": d.length(thick),
    }
    if d.often():
        radius = d.between(184, 508)
        board["radius"] = {"nut": d.length(radius), "end": d.length(radius + 152.4)} if d.often() else d.length(radius)
    out: dict[str, Any] = {"scale_length": d.length(scale), "frets": frets, "strings": d.whole(3, 10), "board": board}
    if fanned:
        fan = {"bass": d.length(scale), "treble": d.length(scale - shorter), "square_fret": d.whole(0, 12)}
        out["scale_length"] = fan
    if d.seldom():
        out["nut_spread"] = d.length(round(nut * 0.8, 1))
    if d.seldom(4):
        out["nut_compensation"] = d.length(d.between(0.1, 0.6))
    elif d.seldom(4):
        out["zero_fret"] = d.one(True, {"nut_behind": d.length(4.0)})
    return out, {
        "scale": scale,
        "frets": frets,
        "nut": nut,
        "end": end,
        "thick": thick,
        "wide": max(nut, nut + (far - nut) * 1.6),
        "aside": shorter,
        "radius": "radius" in board,
        "fan": fanned,
    }


def draw_setup(d: Draw, job: Job, name: str, nut_at: float, width: float) -> dict[str, Any]:
    """A setup without features, and without what holds the blank."""
    setup: dict[str, Any] = {
        "name": name,
        "zero": {
            "x": d.one("nut", "stock end"),
            "y": d.one("centreline", "stock edge"),
            "z": d.one("bed", "bed", "stock top"),
        },
        "nut_at": d.length(nut_at),
    }
    if d.often():
        setup["offset"] = d.one(*OFFSETS[job["machine"]])
    if d.seldom():
        setup["keep_out"] = [
            {
                "name": "stop",
                "x": d.lengths(-nut_at - 60, -nut_at - 45),
                "y": d.lengths(-20, 20),
                "height": d.length(d.between(3, 20)),
            }
        ]
    return setup


def draw_driven(d: Draw, feature: dict[str, Any]) -> dict[str, Any]:
    """The feature with some of the keys that say how it is cut."""
    if d.seldom():
        feature["direction"] = d.one("climb", "conventional")
    if d.seldom(5):
        feature["pass_depth"] = d.length(d.between(0.3, 2.5))
    if d.seldom(5):
        feature["step_over"] = round(d.between(0.15, 0.7, 0.05), 2)
    if d.seldom(5):
        feature["finish_allowance"] = d.length(d.between(0, 0.3, 0.05))
    return feature


def draw_plane(d: Draw, leave: float) -> dict[str, Any]:
    plane: dict[str, Any] = {"bit": "planer", "leave": d.length(leave)}
    if d.seldom():
        plane["skim"] = d.length(d.between(0, 0.6))
    return {"plane": plane}


def draw_some_frets(d: Draw, frets: int, most: int) -> list[int]:
    return sorted(d.draw(st.sets(st.integers(1, frets), min_size=1, max_size=most)))


def draw_tabs(d: Draw, high: float) -> dict[str, Any]:
    return {"count": d.whole(2, 6), "length": d.length(d.between(5, 12)), "height": d.length(d.between(0.8, high))}
