"""What to measure after each program, where, and the wanted value: from the design, never from the cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from toolpaths.features.feature import features_of
from toolpaths.features.surfaces import Surfaces
from toolpaths.gcode.program import Program
from toolpaths.instrument.handwork.handwork import Measure
from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import Outcome, SetupReport


class Row(NamedTuple):
    """One thing to measure after a program, and the feature that it belongs to."""

    program: Program
    feature: str
    measure: Measure


def measures_table(outcome: Outcome, setup: SetupReport) -> Table:
    """One row for each thing to measure, in the order of the programs, with room for what was found."""
    units = outcome.job.units
    rows = []
    for program, _, measure in measures(outcome, setup):
        wanted = measure.figures[0].wanted(units) if measure.figures else measure.said
        rows.append((str(program.number), measure.what, wanted, ""))
    title = "After each program, measure; where it is off, find out why (how far it may be: common practice, no source)"
    return Table(title, ("after no.", "what and where", "should be", "found"), tuple(rows), {0})


def measures(outcome: Outcome, setup: SetupReport) -> Iterator[Row]:
    """What is measured in a setup, in the order of its programs: each feature after the last of its programs."""
    features = {f.name: f for f in features_of(setup.context.setup)}
    for program in (p for p in outcome.programs if p.setup == setup.context.setup.name):
        near = Surfaces(
            {s.context.setup.name: s.context for s in outcome.setups},
            {s.context.setup.name: s.demands for s in outcome.setups},
            done_after(outcome, program),
        )
        for name in finished_in(outcome, program):
            for measure in features[name].measures(setup.context, near):
                yield Row(program, name, measure)


def finished_in(outcome: Outcome, program: Program) -> list[str]:
    """The features whose last bit is in a program, in its order."""
    later = {name for p in outcome.programs if p.number > program.number for name in p.feature_minutes}
    return [name for name in program.feature_minutes if name not in later and name in _names(outcome)]


def done_after(outcome: Outcome, program: Program) -> frozenset[str]:
    """The features that are cut once a program has ended, those that the set takes as cut before it among them."""
    own = [name for p in outcome.programs for name in p.feature_minutes]
    names = _names(outcome)
    before = names[: min(names.index(name) for name in own if name in names)] if own else []
    cut = [name for p in outcome.programs if p.number <= program.number for name in finished_in(outcome, p)]
    return frozenset([*before, *cut])


def _names(outcome: Outcome) -> Sequence[str]:
    """Every feature of the job, in its order."""
    return [f.name for s in outcome.job.setups for f in s.features]
