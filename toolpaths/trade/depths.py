"""How deep and how wide a bit cuts at once, and what it leaves for its last skim; rules as in `cutting`."""

from __future__ import annotations

from toolpaths.core.bit import Bit
from toolpaths.core.finding import Refusal
from toolpaths.core.operation import Limit
from toolpaths.core.units import Units, show, size
from toolpaths.core.wood import Wood
from toolpaths.trade.case import FINE, JOB, THIN, WIDE, Case
from toolpaths.trade.chips import is_pointed, softness, working_diameter

STEP_OVER = 0.4
SKIM_PART = 0.28
"""The thickest last skim at full depth, in parts of the bit's radius. Common practice, no source."""


def pass_depth(case: Case) -> float:
    """Depth of one pass, mm: the job's, or what the bit bears."""
    if case.feature.pass_depth is not None:
        case.because("pass_depth", "job", JOB)
        return case.feature.pass_depth
    depth, limit, reason = _bearable_depth(case.bit, case.wood, case.machine.units)
    if depth > case.bit.cutting_length:
        depth, limit, reason = case.bit.cutting_length, "bit", "the length of the bit's edges"
    case.because("pass_depth", limit, reason)
    return depth


def _bearable_depth(bit: Bit, wood: Wood, units: Units) -> tuple[float, Limit, str]:
    d = working_diameter(bit)
    if bit.kind == "drill":
        return bit.diameter, "bit", "a drill clears its chips after each diameter"
    if bit.diameter > WIDE:
        return 1.0, "bit", f"a wide bit planes at most {size(1.0, units)} a pass"
    if d < FINE:
        return min(0.25 * d, 0.15), "bit", f"a fine bit bears a quarter of its diameter, at most {size(0.15, units)}"
    if d <= THIN:
        return 0.25 * d, "bit", "a thin bit bears a quarter of its diameter"
    part = 0.5 + 0.5 * softness(wood.janka)
    if is_pointed(bit):
        return _pointed_depth(bit, part * d), "chip", f"the width that a pointed bit opens, in {wood.name}"
    return part * d, "chip", f"{part:.2g} of the bit's diameter in {wood.name}"


def _pointed_depth(bit: Bit, width: float) -> float:
    """The depth at which a pointed bit is as wide as that, mm; by halving, since any profile will do.

    Never more than half its working diameter: a slender point is weak long before it is wide.
    """
    low, high = 0.0, working_diameter(bit) / 2
    if bit.width_at(high) <= width:
        return high
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if bit.width_at(middle) < width else (low, middle)
    return round(high, 3)


def step_over(case: Case) -> float:
    """From one pass to the next, in parts of the bit's diameter."""
    if case.feature.step_over is not None:
        case.because("step_over", "job", JOB)
        return case.feature.step_over
    case.because("step_over", "usual", "common practice: 0.4 of the bit's diameter")
    return STEP_OVER


def finish_allowance(case: Case) -> float:
    """Left on walls for the last skim, mm. Raises Refusal where the job leaves too much for the bit."""
    asked = case.feature.finish_allowance
    if asked is not None:
        most = SKIM_PART * case.bit.radius
        if asked > most:
            units = case.machine.units
            raise Refusal(
                f"the last skim goes along the wall at full depth, and {show(asked, units)} is too thick for that with "
                f"{case.feature.bit}",
                f"leave at most {show(most, units)}, or leave `finish_allowance` out",
                "finish_allowance",
            )
        case.because("finish_allowance", "job", JOB)
        return asked
    if case.bit.weak_diameter <= THIN:
        case.because("finish_allowance", "bit", "a thin bit finishes in its own passes")
        return 0.0
    if case.bit.weak_diameter < 3.0:
        case.because("finish_allowance", "bit", "a light skim for a small bit")
        return 0.1
    thin, thick = (size(mm, case.machine.units) for mm in (0.2, 0.3))
    case.because("finish_allowance", "usual", f"common practice: a last skim of {thin.split()[0]} to {thick}")
    return 0.25
