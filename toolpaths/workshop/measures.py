"""What is measured before and after each program of a set, by the marks of the whole job's measuring list."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from toolpaths.found.mark import Mark
from toolpaths.gcode.program import Program
from toolpaths.instrument.handwork.handwork import Measure
from toolpaths.verification.outcome import Outcome, SetupReport


class Row(NamedTuple):
    """One thing to measure: after a program, or before it, as the work lies there, where its mark says so."""

    program: Program
    mark: Mark

    @property
    def feature(self) -> str:
        """The feature that was cut; empty for the blank itself."""
        return self.mark.feature

    @property
    def measure(self) -> Measure:
        """What is measured."""
        return self.mark.measure


def measures(outcome: Outcome, setup: SetupReport) -> Iterator[Row]:
    """What is measured in a setup, in the order of its programs: each feature after the last of its programs."""
    name = setup.context.setup.name
    marks = [mark for mark in outcome.marks if mark.setup == name]
    programs = [p for p in outcome.programs if p.setup == name]
    cut = {feature for p in programs for feature in p.feature_minutes}
    whole = programs and all(f.name in cut for f in setup.context.setup.features)
    yield from (Row(programs[0], mark) for mark in marks if mark.before and whole)
    for program in programs:
        ended = finished_in(outcome, program)
        yield from (Row(program, mark) for mark in marks if mark.feature in ended and not mark.before)


def finished_in(outcome: Outcome, program: Program) -> list[str]:
    """The features whose last bit is in a program, in its order."""
    later = {name for p in outcome.programs if p.number > program.number for name in p.feature_minutes}
    names = {f.name for s in outcome.job.setups for f in s.features}
    return [name for name in program.feature_minutes if name not in later and name in names]
