"""The way of a job from Python, a function a step: load, plan, write; read, simulate, judge.

    >>> import toolpaths
    >>> loaded = toolpaths.load_job("demo_jobs/tenor_board.yaml")
    >>> layout = toolpaths.plan(loaded, toolpaths.Changes(pitch=0.5))
    >>> programs = toolpaths.write(layout)
    >>> [p.name for p in programs]
    ['01-face-planer.ngc', '02-face-scorer.ngc', '03-face-eighth.ngc', '04-face-pin.ngc', '05-face-quarter.ngc']

What was written is text, and everything after it knows the text alone:

    >>> trace = toolpaths.read(programs[1].text)
    >>> trace.header.number, trace.sections[0]
    (2, ('score_lines', 'fret 1, 2 levels, one way'))
    >>> outcome = toolpaths.judge(layout)
    >>> outcome.stopped
    False

Nothing is written to disk, and nothing is printed. Lengths are mm, feeds mm/min, angles degrees unless a name says
otherwise.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from toolpaths.common.errors import JobError
from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import Trace, flattened
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.pipeline import load
from toolpaths.pipeline.build import ProgramSet, lay_out_loaded
from toolpaths.pipeline.prove import prove
from toolpaths.simulation import simulate as cutting
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import Outcome

__all__ = ["Changes", "JobError", "judge", "load_job", "plan", "read", "simulate", "write"]


def load_job(path: str | os.PathLike[str]) -> LoadedJob:
    """A job file with its instrument, bits, machine and wood, all of it checked.

    Raises JobError, whose `problems` name file, line, column and what to do.

        >>> load_job("demo_jobs/tenor_board.yaml").job.instrument.frets
        19
    """
    return load.load_job(Path(path))


def plan(loaded: LoadedJob, changes: Changes | None = None) -> ProgramSet:
    """What is to be cut and what is wanted, laid out in programs. Raises JobError with every refusal.

    `changes`: what the command line calls `--only`, `--from`, `--air`, `--pitch`, `--session`, `--accept`.

        >>> layout = plan(load_job("demo_jobs/tenor_board.yaml"), Changes(only="score_lines"))
        >>> [plan.bits for plan, _ in layout.own]
        [('scorer',)]
    """
    return lay_out_loaded(loaded, changes or Changes())


def write(layout: ProgramSet) -> tuple[Program, ...]:
    """The programs of a set as text, in cutting order. Not verified yet: see `judge`.

    >>> program = write(plan(load_job("demo_jobs/tenor_board.yaml")))[1]
    >>> program.text.splitlines()[2]
    '(Program 2 of 5, setup face)'
    """
    return tuple(program for _, program in layout.own)


def simulate(trace: Trace, layout: ProgramSet, setup: str, before: DepthMap | None = None) -> DepthMap:
    """The blank of a setup once a program that was read is cut into it; heights in mm above the bed.

    `before`: the wood as an earlier program leaves it; the uncut blank if absent, at the layout's pitch.
    Raises KeyError for a setup that there is not; MemoryError, whose text is a pitch that fits, for too fine a map.

        >>> layout = plan(load_job("demo_jobs/tenor_board.yaml"), Changes(pitch=0.5))
        >>> wood = None
        >>> for program in write(layout)[:2]:
        ...     wood = simulate(read(program.text), layout, "face", wood)
        >>> round(float(wood.heights.min()), 3)
        5.5
    """
    context = layout.contexts[setup]
    if before is None:
        before = DepthMap.over(context.stock_box, context.top, layout.changes.pitch)
    shapes = {number: context.bits[name] for name, number in layout.numbers.items()}
    machine = context.machine
    moves = flattened(trace, context.zero, correction=machine.correction, lean=machine.lean)
    moves = moves.where(np.isin(moves.bit, list(shapes))).unskewed(*context.skew, context.zero)
    return cutting.simulate(before, moves, shapes)


def judge(layout: ProgramSet, texts: Mapping[int, str] | None = None) -> Outcome:
    """The proof of a set: findings, the wood after each setup, minutes, what is left for the hands.

    `texts`: other texts in the place of programs, by number (from 1); only those are judged then, each in the wood
    that the programs before it leave.

        >>> layout = plan(load_job("demo_jobs/tenor_board.yaml"), Changes(pitch=0.5))
        >>> spoilt = write(layout)[1].text.replace("Z5.5", "Z4.5")
        >>> sorted({f.code for f in judge(layout, {2: spoilt}).findings if f.severity == "stop"})
        ['gouge', 'pass-depth']
    """
    given = {number - 1: replace(layout.own[number - 1][1], text=text) for number, text in (texts or {}).items()}
    return prove(layout, given)
