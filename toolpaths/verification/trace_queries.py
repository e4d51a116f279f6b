"""Queries on the parsed moves of a program, for the checks that judge its text."""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array, Mask
from toolpaths.common.units import MM_PER_INCH
from toolpaths.gcode.reader.trace import FEED, RAPID
from toolpaths.job.setup_context import SetupContext
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Cause, Finding, Remedy, Severity
from toolpaths.verification.wording.message import Message

BED, JIG_TOP = "bed", "top of the jig"
"""Surfaces beside the blank: no program takes them away."""


def lowest_tip(inputs: CheckInput) -> Array:
    """Lowest tip height (N,) of each of the trace's moves, mm above the bed, any lift taken off.

    NaN where neither end is known. A move whose x or y is unknown still has a height: straight moves
    by their ends, arcs (which may dip between them) by their chords.
    """
    trace = inputs.trace
    low = np.fmin(trace.start[:, 2], trace.end[:, 2]) + inputs.context.zero[2] - inputs.lift
    if np.any(trace.kind > FEED) and len(inputs.moves):
        np.minimum.at(low, inputs.moves.parent, inputs.moves.end[:, 2])
    return low


def going_low(inputs: CheckInput) -> Mask:
    """Which of the trace's moves (N,) go below the height of travel, or go to an unknown place by feed."""
    low = lowest_tip(inputs)
    near = low < inputs.context.travel_height - inputs.machine.half_digit - 1e-6
    return np.asarray(near | (np.isnan(low) & (inputs.trace.kind != RAPID)))


def depth_steps(inputs: CheckInput) -> tuple[Array, Array]:
    """Middle (M, 3) of each straight move in the setup's frame, and how far it falls (M,), mm; up is negative."""
    moves = inputs.moves
    return (moves.start + moves.end) / 2, moves.start[:, 2] - moves.end[:, 2]


def feature_of(inputs: CheckInput, move: int) -> str:
    """The feature that the program's comments name at a move of the trace; empty before any. For reports only."""
    section = int(inputs.trace.section[move])
    return inputs.trace.sections[section][0] if section >= 0 else ""


def job_line_of(inputs: CheckInput, feature: str) -> int:
    """Line of a feature in the job file; 0 where it is not in this setup."""
    lines = [d.job_line for d in inputs.demands if d.feature == feature]
    lines += [o.job_line for o in inputs.operations if o.feature == feature]
    return lines[0] if lines else 0


def at_move(
    inputs: CheckInput,
    code: str,
    message: Message,
    move: int,
    *,
    feature: str = "",
    severity: Severity | None = None,
    remedies: tuple[Remedy, ...] = (),
) -> Finding:
    """A finding at one move of the trace: its line, its place and the feature that it belongs to."""
    feature = feature or feature_of(inputs, move)
    x, y = inputs.trace.end[move, :2] + np.asarray(inputs.context.zero[:2])
    return Finding.of(
        code,
        message,
        feature=feature,
        job_line=job_line_of(inputs, feature),
        program=inputs.program.name,
        program_line=int(inputs.trace.line[move]),
        place=(x, y) if np.isfinite(x) and np.isfinite(y) else None,
        severity=severity,
        remedies=remedies,
    )


def at_line(
    inputs: CheckInput,
    code: str,
    message: Message,
    line: int = 0,
    cause: Cause | None = None,
    remedies: tuple[Remedy, ...] = (),
) -> Finding:
    """A finding at one line of the program; 0 where it concerns the whole of it."""
    of = inputs.program.name
    return Finding.of(code, message, program=of, program_line=line, cause=cause, remedies=remedies)


def line_of(inputs: CheckInput, words: str) -> int:
    """The first line of the program that holds some words; 1 where they stand beside it."""
    lines = inputs.program.text.splitlines()
    return next((i for i, line in enumerate(lines, 1) if words in line), 1)


def same_name(one: str, other: str) -> bool:
    """Whether two names differ in blanks at most: those are lost, or put in, where a comment goes on in a new line."""
    return "".join(one.split()) == "".join(other.split())


def speeds_of(inputs: CheckInput, name: str, feed: float, text_rpm: float) -> tuple[float, float]:
    """Slowest and fastest speed at which the feed may be driven: the text's, or by hand the job's for that feed."""
    if not inputs.machine.spindle.dialled:
        return text_rpm, text_rpm
    mine = [o.cutting for o in inputs.operations if o.bit == name]
    slack = 0.06 * MM_PER_INCH if inputs.machine.units == "in" else 0.6
    same = [c.rpm for c in mine if any(abs(f - feed) <= slack for f in c.feeds)]
    speeds = same or [c.rpm for c in mine] or [0.0]
    return min(speeds), max(speeds)


def surfaces_of(context: SetupContext) -> dict[str, float]:
    """What a bit may be set on in a setup, with its height, mm: on a jig its planed top in the bed's place."""
    below = (BED, context.bed) if context.jig is None else (JIG_TOP, context.jig_top)
    return {below[0]: below[1], "stock top": context.touch_top, "planed face": context.face}
