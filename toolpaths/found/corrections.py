"""The job as it was found: what was measured takes the place of what was asked, for the programs still to come.

What a cut has shown (a face, a bit's width, an axis) is put into the job itself, so that target and programs are made
from the same numbers as ever; nothing is added to a toolpath.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import groupby
from statistics import fmean

from toolpaths.common.units import Units, show, show_fine
from toolpaths.found.axis import corrected_axes
from toolpaths.found.mark import Mark, names_of
from toolpaths.found.meaning import Meaning
from toolpaths.found.planed_face import PlanedFace, planed_faces
from toolpaths.found.values import SAME, BlankMeasured, Correction, Replaced, SideBeside, Values
from toolpaths.geometry.blank_top import BlankTop, blank_top
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.measured import Measured, Stroke
from toolpaths.job.setup_context import FoundInSetup, SetupContext
from toolpaths.job.stock import Thickness


def as_found(
    loaded: LoadedJob, contexts: Mapping[str, SetupContext], values: Values
) -> tuple[LoadedJob, tuple[Correction, ...]]:
    """The job with what was measured in the place of what was asked, and what that changes.

    `contexts`: of the job as asked. Raises ValueError, in words, for values that no job can have.
    """
    job, machine, lies = loaded.job, loaded.machine, dict(loaded.lies)
    made: list[Correction] = []
    for blank, top, thickness in _blank(contexts, values):
        made.append(blank)
        lies[blank.subject] = replace(lies.get(blank.subject, FoundInSetup()), measured_top=top)
        job = job.model_copy(update={"stock": job.stock.model_copy(update={"thickness": thickness})})
    for face in planed_faces(job, contexts, values):
        made += face.corrections
        job = _with_face(job, face)
        for name, context in contexts.items():
            known = lies.get(name, FoundInSetup())
            if not context.apart:
                thinner, raised = max(known.thinner, -face.off), face.raised.get(name, 0.0)
                lies[name] = replace(known, thinner=thinner, raised=raised)
    for bit in _bits(job, values):
        made.append(bit)
        measured = job.bits[bit.subject].model_copy(update={"measured_diameter": bit.found})
        job = job.model_copy(update={"bits": {**job.bits, bit.subject: measured}})
    for side in _sides(values):
        made.append(side)
        lies[side.subject] = replace(lies.get(side.subject, FoundInSetup()), aside=(side.x, side.y))
    for axis in corrected_axes(job, values):
        made.append(axis)
        x = Stroke(commanded=axis.asked * machine.correction[0], measured=axis.found)
        measures = (machine.measured or Measured()).model_copy(update={"x": x})
        known = lies.get(axis.subject, FoundInSetup())
        lies[axis.subject] = replace(known, machine=machine.model_copy(update={"measured": measures}))
    return replace(loaded, job=job, lies=lies), tuple(made)


def said(correction: Correction, job: Job, units: Units | None = None) -> str:
    """A correction as header, sheet and report say it, without a full stop. `units`: the job's, if absent."""
    units = units or job.units
    length, marks = partial(show, units=units), names_of(correction.marks)
    match correction:
        case BlankMeasured(least=least, most=most):
            thick = length(most) if length(least) == length(most) else f"{length(least).split()[0]} to {length(most)}"
            return f"Blank {thick} thick, {marks}"
        case SideBeside(x=x, y=y):
            return f"This side was cut {length(x)} in X and {length(y)} in Y beside the other, {marks}. It is corrected"
        case Replaced(asked=asked, found=found):
            if correction.meaning is Meaning.bit:
                asked_width, width = show_fine(asked, units), show_fine(found, units)
                return f"{correction.subject} cuts {width} wide instead of {asked_width}, {marks}"
            if correction.meaning is Meaning.axis:
                part = f"{asked / found:.5f}"
                return f"X moved {length(found)} instead of {length(asked)}, {marks}. Every X is multiplied by {part}"
            if correction.marks[0].figure.kind == "height":
                return f"Face {length(found)} above the bed instead of {length(asked)}, {marks}. Depths follow it"
            words = f"Wood {length(found)} thick instead of {length(asked)}, {marks}"
            return f"{words}. The next cuts follow it"
    raise AssertionError(correction)


# Private


def _blank(contexts: Mapping[str, SetupContext], values: Values) -> Iterator[tuple[BlankMeasured, BlankTop, Thickness]]:
    found = values.of(Meaning.blank)
    for setup in dict.fromkeys(m.setup for m in values.marks if m.meaning is Meaning.blank):
        six = [(mark, value) for mark, value in found if mark.setup == setup]
        if len(six) == len([m for m in values.marks if m.meaning is Meaning.blank and m.setup == setup]):
            box = contexts[setup].stock_box
            top = blank_top(box, tuple(value for _, value in six))
            low, high = top.extremes(box)
            measured = [value for _, value in six]
            told = BlankMeasured(tuple(m for m, _ in six), setup, min(measured), max(measured))
            yield told, top, Thickness(min=low, max=high)


def _with_face(job: Job, face: PlanedFace) -> Job:
    def with_face(feature: FeatureKeys) -> FeatureKeys:
        if feature.name != face.feature:
            return feature
        return feature.model_copy(update={"leave": face.leave + face.off})

    return job.with_features(with_face)


def _bits(job: Job, values: Values) -> Iterator[Replaced]:
    """The width that each bit truly cuts: by the mean of all its cuts in the latest program that were measured.

    A cut shows how far wrong the width was that its program took the bit to have.
    """
    told: dict[str, list[tuple[tuple[Mark, ...], int, float]]] = {}
    found = sorted(values.of(Meaning.bit), key=lambda pair: (pair[0].bit, pair[0].after))
    for (name, after), group in groupby(found, key=lambda pair: (pair[0].bit, pair[0].after)):
        pairs = list(group)
        asked = job.bits[name].cut_diameter
        known = [asked, *(width for _, since, width in told.get(name, ()) if since <= after - 1)]
        believed = known[-1] if abs(known[-1] - asked) > SAME else asked
        width = believed + fmean(value - mark.figure.value for mark, value in pairs)
        since = max(values.cut[mark.number] for mark, _ in pairs)
        told.setdefault(name, []).append((tuple(mark for mark, _ in pairs), since, width))
    for name, every in told.items():
        marks, _, width = every[-1]
        asked = job.bits[name].cut_diameter
        if abs(width - asked) > SAME:
            yield Replaced(marks, name, asked, width)


def _sides(values: Values) -> Iterator[SideBeside]:
    """How far each turned side lies beside the other: half of what opposite rims differ by."""
    for setup in dict.fromkeys(m.setup for m in values.marks if m.meaning is Meaning.sides):
        rims = {mark.figure.axis: (mark, value) for mark, value in values.of(Meaning.sides) if mark.setup == setup}
        apart = [_apart(rims, axis) for axis in ((1.0, 0.0), (0.0, 1.0))]
        if None in apart:
            continue
        x, y = (off or 0.0 for off in apart)
        if max(abs(x), abs(y)) > SAME:
            yield SideBeside(tuple(mark for mark, _ in rims.values()), setup, x, y)


def _apart(rims: Mapping[tuple[float, float], tuple[Mark, float]], axis: tuple[float, float]) -> float | None:
    """How far a ring lies beside its bore along an axis, mm; None while one of both rims is not measured."""
    there, back = rims.get(axis), rims.get((-axis[0], -axis[1]))
    if there is None or back is None:
        return None
    return (there[1] - there[0].figure.value - back[1] + back[0].figure.value) / 2
