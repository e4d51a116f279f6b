"""The minutes of the demo's programs against an integration in fine steps, written here from the text alone.

Nothing of the project computes here but the figures under test: this file reads the text with a few lines of its
own, takes the limits from the machine file as it stands, and walks along the true path, arcs as arcs, in steps of
0.05 mm: backwards to know from where it must brake, forwards to drive. Source of the model: uniformly accelerated
motion, a = v^2 / r on curves, and corners on a circle that passes 0.01 mm from them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.simulation.machine_time import times_of

ROOT = Path(__file__).parents[2]
JOBS = ["tenor_board", "parlour_board_inch", pytest.param("tenor_neck", marks=pytest.mark.slow)]
STEP = 0.05
"""Length of a step, mm."""
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Leg:
    """A straight line or an arc: its length, where it points at a part (0 to 1) of it, its feed, its radius."""

    length: float
    turn: float
    first: Vector
    angle: float
    rise: float
    feed: float
    radius: float

    def tangent(self, part: float) -> Vector:
        if math.isinf(self.radius):
            return self.first
        a = self.angle + self.turn * part + math.copysign(math.pi / 2, self.turn)
        level = math.sqrt(1 - self.rise**2)
        return level * math.cos(a), level * math.sin(a), self.rise


def legs(text: str, seconds_a_p: float) -> Iterator[Leg | float]:
    """Legs in order; a number where the machine stands still, with the seconds that it waits."""
    at: dict[str, float] = {}
    scale, mode, feed = 1.0, 0, math.nan
    for line in text.splitlines():
        words = re.findall(r"([A-Z])([-+.0-9]+)", re.sub(r"\(.*?\)", "", line))
        codes = [c + v for c, v in words if c in "GMT"]
        values = {c: float(v) for c, v in words if c in "XYZIJFP"}
        if "G20" in codes or "G21" in codes:
            scale = 25.4 if "G20" in codes else 1.0
        if "F" in values:
            feed = values["F"] * scale
        if "G4" in codes or any(c in ("M0", "M3", "M5", "M6") for c in codes):
            yield values.get("P", 0.0) * seconds_a_p
        mode = next((int(c[1:]) for c in codes if c in ("G0", "G1", "G2", "G3")), mode)
        new = at | {c: values[c] * scale for c in "XYZ" if c in values}
        if len(at) == 3 and new != at:
            yield _leg(at, new, mode, feed, values.get("I", 0.0) * scale, values.get("J", 0.0) * scale)
        at = new


def _leg(a: dict[str, float], b: dict[str, float], mode: int, feed: float, i: float, j: float) -> Leg:
    dx, dy, dz = b["X"] - a["X"], b["Y"] - a["Y"], b["Z"] - a["Z"]
    if mode < 2:
        length = math.sqrt(dx * dx + dy * dy + dz * dz)
        first = (dx / length, dy / length, dz / length)
        return Leg(length, 0.0, first, 0.0, first[2], math.inf if mode == 0 else feed, math.inf)
    cx, cy = a["X"] + i, a["Y"] + j
    start, end = math.atan2(-j, -i), math.atan2(b["Y"] - cy, b["X"] - cx)
    turn = (end - start) % math.tau if mode == 3 else -((start - end) % math.tau)
    turn = turn or math.copysign(math.tau, mode - 2.5)
    level = abs(turn) * math.hypot(i, j)
    length = math.hypot(level, dz)
    return Leg(length, turn, (0.0, 0.0, 0.0), start, dz / length, feed, math.hypot(i, j))


def seconds_of(text: str, machine: dict[str, Any]) -> float:
    """Seconds of a program, its dwells in it."""
    per_p = 0.001 if machine.get("dwell") == "milliseconds" else 1.0
    total, run = 0.0, []
    for item in [*legs(text, per_p), 0.0]:
        if isinstance(item, Leg):
            run.append(item)
        else:
            total += item + (integrated(run, machine) if run else 0.0)
            run = []
    return total


def integrated(run: list[Leg], machine: dict[str, Any]) -> float:
    """Seconds of legs driven from rest to rest, step by step."""
    unit = 25.4 if machine["units"] == "in" else 1.0
    axes = {k: [machine[k][a] * unit for a in "xyz"] for k in ("acceleration", "rapid", "feed_limit")}
    deviation = machine.get("corner_deviation", 0.01 / unit) * unit
    steps: list[float] = []
    accelerations: list[float] = []
    highest = [0.0]  # squared speeds at the ends of the steps
    for k, leg in enumerate(run):
        if k:
            highest[-1] = min(highest[-1], _corner(run[k - 1], leg, axes["acceleration"], deviation))
        count, squared = math.ceil(leg.length / STEP), 0.0
        for n in range(count):
            if n and math.isinf(leg.radius):
                steps.append(steps[-1])
                accelerations.append(accelerations[-1])
                highest.append(squared)
                continue
            t = leg.tangent((n + 0.5) / count)
            a = _most(axes["acceleration"], t)
            v = min(leg.feed, _most(axes["rapid" if math.isinf(leg.feed) else "feed_limit"], t)) / 60
            squared = min(v * v, min(axes["acceleration"][:2]) * leg.radius)
            steps.append(leg.length / count)
            accelerations.append(a)
            highest[-1] = min(highest[-1], squared)
            highest.append(squared)
    highest[0] = highest[-1] = 0.0
    for n in range(len(steps) - 1, -1, -1):
        highest[n] = min(highest[n], highest[n + 1] + 2 * accelerations[n] * steps[n])
    speed = seconds = 0.0
    for n, step in enumerate(steps):
        new = math.sqrt(min(highest[n + 1], speed * speed + 2 * accelerations[n] * step))
        # From rest to rest in one step: up half of it and down again.
        seconds += 2 * step / (speed + new) if speed + new > 0 else 2 * math.sqrt(step / accelerations[n])
        speed = new
    return seconds


def _most(axes: list[float], t: Vector) -> float:
    return min(a / abs(c) for a, c in zip(axes, t, strict=True) if abs(c) > 1e-12)


def _corner(a: Leg, b: Leg, axes: list[float], deviation: float) -> float:
    """Squared speed at a corner: on the circle that touches both legs and passes `deviation` from their meeting."""
    t, u = a.tangent(1.0), b.tangent(0.0)
    turn = math.acos(max(-1.0, min(1.0, sum(p * q for p, q in zip(t, u, strict=True)))))
    if turn < 1e-6:
        return math.inf
    # A circle of radius R that touches two lines turning by `turn` passes R (1 / cos(turn / 2) - 1) from the corner.
    beyond = 1 / math.cos(turn / 2) - 1 if turn < math.pi - 1e-9 else math.inf
    return min(_most(axes, t), _most(axes, u)) * deviation / beyond


def test_the_integration_itself_meets_the_closed_forms() -> None:
    machine = {
        "units": "mm",
        **{k: dict.fromkeys("xyz", 3000.0) for k in ("rapid", "feed_limit")},
        "acceleration": dict.fromkeys("xyz", 200.0),
    }
    start = "G21\nG0 Z0\nG0 X0 Y0\n"
    # v 50 mm/s, a 200 mm/s2: d 100 takes 2.25 s, d 5 0.31623 s. Source: uniformly accelerated motion.
    assert 2.25 == pytest.approx(seconds_of(start + "G1 X100 F3000\n", machine), rel=1e-3)
    assert 0.31623 == pytest.approx(seconds_of(start + "G1 X5 F3000\n", machine), rel=5e-3)
    # r 2: sqrt(200 * 2) = 20 mm/s, once around and up to it and down.
    assert 4 * math.pi / 20 + 0.1 == pytest.approx(seconds_of(start + "G3 I2 J0 X0 Y0.0001 F3000\n", machine), rel=5e-3)


@pytest.mark.parametrize("job", JOBS)
def test_the_minutes_agree_with_a_fine_integration_within_one_per_cent(job: str) -> None:
    layout = lay_out(ROOT / "demo_jobs" / f"{job}.yaml", Changes())
    machine = YAML(typ="safe").load(ROOT / "machines" / f"{layout.loaded.job.machine}.yaml")
    compared = []
    for batch, program in layout.own:
        zero = layout.contexts[batch.setup].zero
        trace = read(program.text)
        told = times_of(trace, flattened(trace, zero), layout.loaded.machine).minutes
        compared.append((program.name, seconds_of(program.text, machine) / 60, told, program.minutes))
    for name, integrated_minutes, told, in_header in compared:
        assert integrated_minutes == pytest.approx(told, rel=0.01), name
        assert integrated_minutes == pytest.approx(in_header, rel=0.01), name
    whole = [sum(column) for column in list(zip(*compared, strict=True))[1:]]
    assert whole[0] == pytest.approx(whole[1], rel=0.003)
