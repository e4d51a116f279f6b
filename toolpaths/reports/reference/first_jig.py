"""A first job of a jig, as large as the blanks that are to lie on it: commented text that passes `check` at once.

The sizes that nobody was asked for are usual ones (common practice, no source). The text is `first_jig.yaml`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from toolpaths.common.units import Units
from toolpaths.job.bits.drill import Drill
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.files.rack_file import load_rack
from toolpaths.job.jig import STAYS_UNDER, Part, ServedSetup
from toolpaths.reports.reference.cautions import first_job
from toolpaths.reports.reference.first_answers import Numbers
from toolpaths.reports.reference.first_job import bit_keys, filled

_ASIDE, _INSET = 24.0, 10.0
"""What the jig is wider than the blanks on each side, and where its screws stand from its edges, mm."""
_RUN_OFF = 5.0
"""How far past the wood planing goes, beyond the bit's width, mm."""
_PINS, _LINES, _LETTERS = 8.0, 0.3, 6.0
"""Depth of the holes for pins and dowels, of lines; height of letters, mm."""
_DOWELS = (6.0, 5.0, 4.0)
_THICK = (17.5, 24.5, 29.5)
"""What is left of boards of 18, 25 and 30 mm, mm."""
_PILOT = 0.65
"""Diameter of a pilot hole, in diameters of the screw's thread. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class JigAnswers:
    """What a first jig is made from: the jobs that lie on it by part, and how their blanks lie; sizes mm.

    `paths` count from the jig's folder. `without`: features that are left out, and why.
    """

    paths: Mapping[Part, str]
    served: tuple[ServedSetup, ...]
    title: str
    units: Units
    machine: str
    handed: str
    offset: str
    without: Mapping[str, str] = field(default_factory=dict)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of the jig: all blanks with room for its screws beside them; ends to a whole step, mm."""
        step = Numbers(self.units).at_least
        boxes = [one.box for one in self.served]
        x0, y0 = (-step(_ASIDE - min(box[k] for box in boxes)) for k in (0, 1))
        x1, y1 = (step(max(box[k] for box in boxes) + _ASIDE) for k in (2, 3))
        return x0, y0, x1, y1

    @property
    def unplaned(self) -> str:
        """Why the jig is not planed; empty where it is."""
        x0, y0, x1, y1 = self.box
        n, travel, wide = Numbers(self.units), load_machine(self.machine).travel, load_rack()["planer"].diameter
        for long, most, axis in ((x1 - x0, travel.x, "x"), (y1 - y0, travel.y, "y")):
            if long + wide + _RUN_OFF > most:
                takes, goes = n.show(long + wide + _RUN_OFF), n.show(most)
                return f"Not planed: that takes {takes} along {axis}, and the machine travels {goes}."
        return ""

    @property
    def deepest_screw(self) -> float:
        """How deep screws of the work go into the jig, mm."""
        return max((group.into_bed for one in self.served for group in one.screws), default=0.0)

    @property
    def leave(self) -> float:
        """What the jig is planed to, mm: thick enough for its deepest hole and the point of its drill."""
        need = max(_PINS, self.deepest_screw + 1.5) + STAYS_UNDER
        return next((thick for thick in _THICK if thick >= need), math.ceil(need))


def jig_text(j: JigAnswers, file: str) -> str:
    """The text of a jig's job. Raises JobError for a machine that cannot be used."""
    n, (x0, y0, x1, y1) = Numbers(j.units), j.box
    pilot = _pilot(j)
    xs = [x0 + _INSET, x1 - _INSET] if x1 - x0 < 400 else [x0 + _INSET, (x0 + x1) / 2, x1 - _INSET]
    return filled(
        "first_jig.yaml",
        j=j,
        n=n,
        file=file,
        cautions=first_job(j.units, file),
        served=[f"{part}: {_path(path)}" for part, path in j.paths.items()],
        length=x1 - x0,
        width=y1 - y0,
        leave=j.leave,
        nut_at=-x0,
        centre_at=-y0,
        screws=[f"[{n(x)}, {n(y)}]" for x in xs for y in (y0 + _INSET, y1 - _INSET)],
        bits={"pilot": bit_keys(pilot, j.units)} if pilot is not None and "pilot_holes" not in j.without else {},
        features=dict(_features(j, n, pilot)),
    )


# Private


def _features(j: JigAnswers, n: Numbers, pilot: Drill | None) -> list[tuple[str, tuple[str, str]]]:
    """Key, keys in braces and a comment of every feature that the served jobs ask for."""
    out: list[tuple[str, tuple[str, str]]] = []
    if any(one.pins for one in j.served):
        out.append(("jig_pins", (f"bit: eighth, depth: {n(_PINS)}", "a hole for every pin of their setups")))
    if pilot is not None:
        keys = f"bit: pilot, diameter: {n.exact(pilot.diameter)}, depth: {n.exact(j.deepest_screw)}"
        out.append(("pilot_holes", (keys, "one under every screw of their setups")))
    if any(one.stops for one in j.served):
        keys = f"bit: eighth, diameter: {n.exact(_dowel(j))}, depth: {n(_PINS)}"
        out.append(("stop_pins", (keys, "dowels that the blanks lie against")))
    out.append(("guide_lines", (f"bit: vee60, depth: {n(_LINES)}", "centreline, nut line and blanks")))
    keys = f"bit: vee60, depth: {n(_LINES)}, height: {n(_LETTERS)}"
    out.append(("names", (keys, "the jig's title, and beside each pin whose it is")))
    return out


def _pilot(j: JigAnswers) -> Drill | None:
    """A drill for the thinnest of the work's screws, mm; None where it has none."""
    threads = [group.diameter for one in j.served for group in one.screws]
    if not threads:
        return None
    wide = round(_PILOT * min(threads), 1)
    long = math.ceil(j.deepest_screw + 10.0)
    keys: dict[str, Any] = {"cutting_length": float(long), "stickout": float(long + 8), "shank": wide}
    return Drill(shape="drill", diameter=wide, flutes=2, material="HSS", max_rpm=9000, spiral="up", **keys)


def _dowel(j: JigAnswers) -> float:
    """The widest usual dowel that no stop is narrower than, mm."""
    least = min(min(s.x[1] - s.x[0], s.y[1] - s.y[0]) for one in j.served for s in one.stops)
    return next((d for d in _DOWELS if d <= least), _DOWELS[-1])


def _path(path: str) -> str:
    """A path as YAML takes it."""
    from json import dumps

    return path if all(c.isalnum() or c in "-_./" for c in path) else dumps(path, ensure_ascii=False)
