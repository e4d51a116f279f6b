"""Calipers, depth gauge and rule, put to the simulated wood."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from tests.unit.figures.cut_jobs import Cut
from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.simulation.standing_wood import StandingWood

STEP = 0.005
OUTSIDE = 0.35
NEAR = 0.035
"""How far a figure may be from the wood, mm: the comparison's 0.02, half a digit shown, chords and the steps here."""


def heights(wood: StandingWood, figure: Figure, along: np.ndarray) -> np.ndarray:
    """Heights at distances along a figure's axis from its place."""
    return wood.heights(np.asarray(figure.at) + along[:, None] * np.asarray(figure.axis))


def wall(wood: StandingWood, figure: Figure, sign: float, outside: float = OUTSIDE) -> float:
    """How far from a figure's place the wall of the cut stands: inward from the surface beside it, where it drops.

    NaN where the cut goes on beyond `outside`, mm, more than the figure says.
    """
    half = (figure.value if figure.kind == "width" else 0.0) / 2
    along = np.arange(half + outside, -STEP, -STEP)
    h = heights(wood, figure, sign * along)
    down = h < h[0] - 0.02
    return float(along[np.argmax(down)]) if down.any() else math.nan


def edge(wood: StandingWood, figure: Figure, sign: float, begin: float) -> float:
    """How far from a figure's place the wood ends, looked for from `begin` on."""
    along = np.arange(begin, begin + 4.0, STEP)
    h = heights(wood, figure, sign * along)
    down = h < h[0] - 0.03
    return float(along[np.argmax(down)]) if down.any() else math.nan


def measured(cut: Cut, figure: Figure, wood: StandingWood, *, later: bool) -> float:
    """A figure as the wood has it, mm. `later`: the other side is cut too."""
    one = lambda place: float(wood.heights(np.asarray([place]))[0])  # noqa: E731
    match figure.kind:
        case "depth":
            assert figure.beside is not None
            return one(figure.beside) - one(figure.at)
        case "width":
            return wall(wood, figure, 1.0) + wall(wood, figure, -1.0)
        case "place":
            return figure.at[0] + (wall(wood, figure, 1.0, 2.0) - wall(wood, figure, -1.0, 2.0)) / 2
        case "between":
            assert figure.beside is not None
            first = replace(figure, at=figure.beside)
            middles = [(wall(wood, f, 1.0, 5.0) - wall(wood, f, -1.0, 5.0)) / 2 for f in (first, figure)]
            return figure.at[0] + middles[1] - figure.beside[0] - middles[0]
        case "rim":
            return wall(wood, figure, 1.0, figure.value + OUTSIDE)
        case "height":
            context = next(s.context for s in cut.outcome.setups if s.context.setup.name == figure.setup)
            return one(figure.at) - context.bed
        case "standing":
            return sum(edge(wood, figure, sign, figure.value / 2 - 0.6) for sign in (1.0, -1.0))
        case "beyond":
            return edge(wood, figure, 1.0, figure.value / 2)
        case "thickness":
            contexts = {s.context.setup.name: s.context for s in cut.outcome.setups}
            own, under = contexts[figure.setup], 0.0
            names = list(contexts)
            for name, other in contexts.items():
                cut_before = later or names.index(name) < names.index(figure.setup)
                if other.flipped != own.flipped and not other.apart and cut_before:
                    seen = float(cut.wood(name).heights(np.asarray([(figure.at[0], -figure.at[1])]))[0])
                    under = max(under, own.glue - seen)
            return one(figure.at) - under


def bed(cut: Cut, feature: str) -> bool:
    return any(f.name == feature and f.order == "bed" for s in cut.outcome.job.setups for f in s.features)


def wrong(cut: Cut, figures: Iterator[tuple[str, Figure, StandingWood, bool]]) -> list[str]:
    out = []
    for what, figure, wood, later in figures:
        found = measured(cut, figure, wood, later=later)
        if not abs(found - figure.value) <= NEAR:
            out.append(f"{what}: {figure.kind} {figure.value:.3f} at {figure.at}, the wood has {found:.3f}")
    return out
