"""Pass depth, step-over and the allowance left for the last skim; rules as in `feeds_and_speeds`."""

from __future__ import annotations

import math

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, marked, size
from toolpaths.job.bit import Bit
from toolpaths.job.wood import Wood
from toolpaths.operations import limit_words as words
from toolpaths.operations.bit_strength import FINE_PASS, limits_of
from toolpaths.operations.chip_load import softness
from toolpaths.operations.operation import Limit
from toolpaths.operations.speeds_context import FINE, ROUNDED, STOUT, THIN, WIDE, SpeedsContext, stoutness

STEP_OVER = 0.4
_FULL = 8.0
"""Up to this diameter, mm, a pass gets deeper with it; a hobby router has not the force for more."""
# What a pass is deep by diameter, mm: half of a fine bit and at most 0.3, a quarter of a thin one, half (hard wood) to
# all (soft) of a stout one, 1 mm of a planing bit; even between, so that nothing jumps. Common practice, no source.
_DIAMETERS = (0.0, 0.6, FINE, THIN, STOUT, _FULL, WIDE)
_HARD = (0.0, 0.3, 0.3, 0.4, 1.5, 4.0, 1.0)
_SOFT = (0.0, 0.3, 0.3, 0.4, 3.0, 8.0, 1.0)
_THIN_DEPTH = (0.0, 0.6, FINE, 1.5, STOUT), (0.0, 0.15, 0.15, 0.375, 0.75)
LEAST_PASS = 0.1
"""The thinnest pass that strength or bending of a slender bit asks for, as a part of its diameter: this project's."""
LAST_SKIM = 0.3
"""Thickest last skim of a planed face, mm. Common practice, no source."""
SKIM_PART = 0.28
"""The thickest last skim at full depth, in parts of the bit's radius. Common practice, no source."""


def pass_depth(case: SpeedsContext) -> float:
    """Depth of one pass, mm: from the job, or the most that the bit allows."""
    if (asked := case.asked("pass_depth")) is not None:
        return asked
    if case.careful:
        case.because("pass_depth", "job", words.CAREFUL_DEPTH)
        return float(np.interp(case.bit.working_diameter, *_THIN_DEPTH))
    depth, limit, reason = _bearable_depth(case.bit, case.wood, case.machine.units)
    if depth > case.bit.cutting_length:
        depth, limit, reason = case.bit.cutting_length, "bit", words.EDGES
    if case.slender:
        chip, runout = case.wanted_chip * ROUNDED, case.runout
        stout = stoutness(case.bit.weak_diameter)
        for borne in limits_of(case.bit, case.machine.units):
            # Thinner passes would not end: what reserve is left then is told.
            if (less := max(borne.deepest(chip, runout, depth), LEAST_PASS * case.bit.diameter)) < depth:
                depth, limit, reason = less + stout * (depth - less), "bit", borne.why
    case.because("pass_depth", limit, reason)
    return depth


def _bearable_depth(bit: Bit, wood: Wood, units: Units) -> tuple[float, Limit, str]:
    d = bit.working_diameter
    if bit.shape == "drill":
        return bit.diameter, "bit", words.DRILL
    soft = softness(wood.janka)
    hard_depth, soft_depth = (float(np.interp(d, _DIAMETERS, row)) for row in (_HARD, _SOFT))
    depth = hard_depth + soft * (soft_depth - hard_depth)
    if bit.is_pointed:
        # However slowly a slender point opens, it bears what a thin bit of its size does.
        thin = float(np.interp(d, *_THIN_DEPTH))
        opened = _pointed_depth(bit, depth)
        if opened > thin:
            return opened, "chip", words.POINTED.format(wood=wood.name)
        depth = thin
    if d > THIN and bit.is_pointed:
        return depth, "bit", words.SLENDER_POINT
    if d >= WIDE:
        return depth, "bit", words.WIDE.format(most=size(1.0, units))
    if d < 0.6:
        return depth, "bit", words.HALF
    if d < FINE:
        return depth, "bit", words.FINE.format(most=size(FINE_PASS, units))
    if d <= THIN:
        return depth, "bit", words.THIN.format(part=depth / d)
    if d < STOUT or d > _FULL:
        why = words.SMALL if d < STOUT else words.LARGE
        return depth, "bit", why.format(part=depth / d)
    return depth, "chip", words.IN_WOOD.format(part=depth / d, wood=wood.name)


def _pointed_depth(bit: Bit, width: float) -> float:
    """The depth at which a pointed bit is as wide as that, mm; by halving, since any profile will do.

    Never more than half its working diameter: a slender point is weak long before it is wide.
    """
    low, high = 0.0, bit.working_diameter / 2
    if bit.width_at(high) <= width:
        return high
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if bit.width_at(middle) < width else (low, middle)
    return round(high, 3)


def step_over(case: SpeedsContext) -> float:
    """Step-over from one pass to the next, as a part of the bit's diameter."""
    if (asked := case.asked("step_over")) is not None:
        return asked
    case.because("step_over", "usual", words.STEP_OVER.format(part=STEP_OVER))
    return STEP_OVER


def finish_allowance(case: SpeedsContext) -> float:
    """Allowance left on walls for the last skim, mm. Raises FeatureError where the job leaves too much for the bit."""
    if (asked := case.asked("finish_allowance")) is not None:
        most = SKIM_PART * case.bit.radius
        if asked > most:
            raise FeatureError(
                f"the last skim goes along the wall at full depth, and {marked(asked)} is too thick for that with "
                f"{case.feature.bit}",
                f"leave at most {marked(math.floor(1e3 * most) / 1e3)}, or leave `finish_allowance` out",
                "finish_allowance",
            )
        return asked
    if case.bit.weak_diameter <= THIN:
        case.because("finish_allowance", "bit", words.NO_SKIM)
        return 0.0
    if case.bit.weak_diameter < 3.0:
        case.because("finish_allowance", "bit", words.LIGHT_SKIM)
        return 0.1
    thin, thick = (size(mm, case.machine.units) for mm in (0.2, 0.3))
    case.because("finish_allowance", "usual", words.LAST_SKIM.format(least=thin.split()[0], most=thick))
    return 0.25
