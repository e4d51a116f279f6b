"""How long a toolpath takes: an estimate from the motion model."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.core.geometry import arc_chords
from toolpaths.core.scene import Scene
from toolpaths.core.toolarc import bulge_of
from toolpaths.core.toolpath import Arc, Rapid, Section, Toolpath
from toolpaths.trade.motion import travel_seconds


def minutes_of(toolpath: Toolpath, scene: Scene) -> tuple[float, dict[str, float]]:
    """Minutes of a whole program, and of each feature by name. Arcs count by chords within 0.02 mm."""
    points: list[tuple[float, float, float]] = [(0.0, 0.0, scene.travel_height)]
    feeds: list[float] = []
    owner: list[int] = []
    names: list[str] = []
    for section in toolpath.sections:
        if section.feature not in names:
            names.append(section.feature)
        for x, y, z, feed in _timed(section, points[-1]):
            points.append((x, y, z))
            feeds.append(feed)
            owner.append(names.index(section.feature))
    seconds = travel_seconds(np.asarray(points), np.asarray(feeds), scene.machine)
    spent = np.bincount(np.asarray(owner), weights=seconds, minlength=len(names)) / 60
    return float(seconds.sum() + scene.machine.spindle.spin_up) / 60, dict(zip(names, spent.tolist(), strict=True))


def _timed(section: Section, start: tuple[float, float, float]) -> Iterator[tuple[float, float, float, float]]:
    at = start
    for step in section.steps:
        if isinstance(step, Arc):
            bulge = bulge_of((at[0], at[1]), step)
            if bulge:
                inner = arc_chords(np.array(at[:2]), np.array([step.x, step.y]), bulge, 0.02)[1:]
                for i, (x, y) in enumerate(inner, 1):
                    yield float(x), float(y), at[2] + (step.z - at[2]) * i / (len(inner) + 1), step.feed
        yield step.x, step.y, step.z, math.inf if isinstance(step, Rapid) else step.feed
        at = (step.x, step.y, step.z)
