"""How high a planed face truly stands, and how thick the wood under it is: two things that a job takes to be one.

A face is measured above the bed where Z counts from there: what lies under the blank unseen (tape, a chip) is in the
thickness, but not in how high the face stands in the machine. Where Z counts from the stock's top, later bits are set
on the planed face itself, and its thickness is what a turned side counts with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from statistics import fmean

from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import SAME, Replaced, Values
from toolpaths.job.job import Job
from toolpaths.job.setup_context import SetupContext, planed_height


@dataclass(frozen=True, slots=True)
class PlanedFace:
    """One planed face as found. `leave`: the thickness asked for; `off`: how much thicker it is, mm.

    `raised`: by setup, how much higher above the bed the blank lies there than the job knows, mm.
    """

    feature: str
    leave: float
    off: float
    raised: Mapping[str, float]
    corrections: tuple[Replaced, ...]


def planed_faces(job: Job, contexts: Mapping[str, SetupContext], values: Values) -> Iterator[PlanedFace]:
    """Each planed face of which something was measured that differs from what was asked."""
    for setup in job.setups:
        for feature in setup.features:
            leave = planed_height(feature)
            if leave is None:
                continue
            heights = dict(_sets(feature.name, "height", setup.name, contexts, values))
            thick = dict(_sets(feature.name, "thickness", setup.name, contexts, values))
            found = _as_found(setup.name, heights, thick)
            if found is None:
                continue
            off, raised = found
            made = []
            for name, (marks, by) in heights.items():
                asked = contexts[name].above_bed(leave)
                made.append(Replaced(marks, feature.name, asked, asked + by))
            for marks, by in list(thick.values())[-1:]:
                made.append(Replaced(marks, feature.name, leave, leave + by))
            corrections = tuple(c for c in made if abs(c.found - c.asked) > SAME)
            if corrections:
                yield PlanedFace(feature.name, leave, off, raised, corrections)


# Private

_Set = tuple[tuple[Mark, ...], float]
"""Marks that are measured together, and by how much more than asked they were found in the mean, mm."""


def _sets(
    feature: str, kind: str, planed_in: str, contexts: Mapping[str, SetupContext], values: Values
) -> Iterator[tuple[str, _Set]]:
    """By setup, the corners of a face that were all measured there."""
    own = [m for m in values.marks if m.meaning is Meaning.face and m.feature == feature and m.figure.kind == kind]
    for setup in dict.fromkeys(m.setup for m in own):
        marks = tuple(m for m in own if m.setup == setup)
        if all(m.number in values.value for m in marks):
            context, found = contexts[setup], [values.value[m.number] for m in marks]
            if setup == planed_in:
                yield setup, (marks, fmean(v - m.figure.value for m, v in zip(marks, found, strict=True)))
            else:
                # The marks of a later setup want what was found before; this counts from the job.
                top = context.above_bed(context.top) if kind == "height" else context.top
                yield setup, (marks, fmean(found) - top)


def _as_found(
    setup: str, heights: Mapping[str, _Set], thick: Mapping[str, _Set]
) -> tuple[float, dict[str, float]] | None:
    """(how much thicker, by setup how much higher the blank lies), mm; None where nothing was measured."""
    planed = heights.get(setup)
    if thick:
        _, off = list(thick.values())[-1]
        # Only its thickness is known: the face was planed where the machine takes it to be.
        raised = {} if setup in thick else {setup: (0.0 if planed is None else planed[1]) - off}
    elif planed is not None:
        off, raised = planed[1], {}
    elif heights:
        off, raised = 0.0, {}
    else:
        return None
    raised |= {name: by - off for name, (_, by) in heights.items() if name != setup}
    return off, {name: by for name, by in raised.items() if abs(by) > 1e-9}
