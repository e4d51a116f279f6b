"""What is measured after each program of a set: the features that end with it, and their lengths from the design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from toolpaths.features.feature import features_of
from toolpaths.features.surfaces import Surfaces
from toolpaths.gcode.program import Program
from toolpaths.instrument.handwork.handwork import Measure
from toolpaths.operations.machine_stiffness import gives_way
from toolpaths.verification.outcome import Outcome, SetupReport


class Row(NamedTuple):
    """One thing to measure after a program, and the feature that it belongs to."""

    program: Program
    feature: str
    measure: Measure


def measures(outcome: Outcome, setup: SetupReport) -> Iterator[Row]:
    """What is measured in a setup, in the order of its programs: each feature after the last of its programs.

    How far it may be off holds what machine and bit give way beside what the feature allows.
    """
    features = {f.name: f for f in features_of(setup.context.setup)}
    for program in (p for p in outcome.programs if p.setup == setup.context.setup.name):
        near = Surfaces(
            {s.context.setup.name: s.context for s in outcome.setups},
            {s.context.setup.name: s.demands for s in outcome.setups},
            done_after(outcome, program),
        )
        for name in finished_in(outcome, program):
            for measure in features[name].measures(setup.context, near):
                yield Row(program, name, measure.loosened(_gives_way(outcome, setup, name)))


def _gives_way(outcome: Outcome, setup: SetupReport, name: str) -> float:
    """How far machine and bit give way beside the walls of a feature, mm: with that bit that does so most."""
    own = [f for f in setup.features if f.name == name]
    return max(
        (
            gives_way(outcome.machine, setup.context.bits[f.bit], f.cutting, f.deepest_mm, skimmed=f.width_mm is None)
            for f in own
        ),
        default=0.0,
    )


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
