"""The job as it was found: what was measured takes the place of what was asked, for the programs still to come.

What a cut has shown (a face, a bit's width, an axis) is put into the job itself, so that target and programs are made
from the same numbers as ever; nothing is added to a toolpath.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import groupby
from statistics import fmean

from toolpaths.common.units import show, show_fine
from toolpaths.found.axis import corrected_axes
from toolpaths.found.mark import Mark, names_of
from toolpaths.found.meaning import Meaning
from toolpaths.found.planed_face import PlanedFace, planed_faces
from toolpaths.found.values import SAME, Correction, Values
from toolpaths.geometry.blank_top import BlankTop, blank_top
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job, Setup
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
    for correction, top, thickness in _blank(contexts, values):
        made.append(correction)
        lies[correction.subject] = replace(lies.get(correction.subject, FoundInSetup()), measured_top=top)
        job = job.model_copy(update={"stock": job.stock.model_copy(update={"thickness": thickness})})
    for face in planed_faces(job, contexts, values):
        made += face.corrections
        job = _with_face(job, face)
        for name, context in contexts.items():
            known = lies.get(name, FoundInSetup())
            if not context.apart:
                thinner, raised = max(known.thinner, -face.off), face.raised.get(name, 0.0)
                lies[name] = replace(known, thinner=thinner, raised=raised)
    for correction in _bits(job, values):
        made.append(correction)
        measured = job.bits[correction.subject].model_copy(update={"measured_diameter": correction.found})
        job = job.model_copy(update={"bits": {**job.bits, correction.subject: measured}})
    for correction in _sides(values):
        made.append(correction)
        known = lies.get(correction.subject, FoundInSetup())
        lies[correction.subject] = replace(known, aside=(correction.asked, correction.found))
    for correction in corrected_axes(job, values):
        made.append(correction)
        x = Stroke(commanded=correction.asked * machine.correction[0], measured=correction.found)
        measures = (machine.measured or Measured()).model_copy(update={"x": x})
        known = lies.get(correction.subject, FoundInSetup())
        lies[correction.subject] = replace(known, machine=machine.model_copy(update={"measured": measures}))
    return replace(loaded, job=job, lies=lies), tuple(made)


def said(correction: Correction, job: Job) -> str:
    """A correction as header, sheet and report say it, without a full stop."""
    units, marks = job.units, names_of(correction.marks)
    asked, found = show(correction.asked, units), show(correction.found, units)
    match correction.meaning:
        case Meaning.blank:
            return f"Blank measured {asked.split()[0]} to {found}, {marks}"
        case Meaning.face:
            if correction.marks[0].figure.kind == "height":
                return f"Face {found} above the bed instead of {asked}, {marks}: depths follow it"
            return f"Wood {found} thick instead of {asked}, {marks}: what is still to be cut follows it"
        case Meaning.bit:
            asked, found = show_fine(correction.asked, units), show_fine(correction.found, units)
            return f"{correction.subject} cuts {found} wide instead of {asked}, {marks}"
        case Meaning.sides:
            return f"This side was cut {asked} in X and {found} in Y beside the other, {marks}: taken off"
        case Meaning.axis:
            part = f"{correction.asked / correction.found:.5f}"
            return f"X went {found} instead of {asked}, {marks}: every X is times {part}"
        case Meaning.depth | Meaning.part | Meaning.look:
            raise AssertionError("nothing later follows it")


# Private


def _blank(contexts: Mapping[str, SetupContext], values: Values) -> Iterator[tuple[Correction, BlankTop, Thickness]]:
    found = values.of(Meaning.blank)
    for setup in dict.fromkeys(m.setup for m in values.marks if m.meaning is Meaning.blank):
        six = [(mark, value) for mark, value in found if mark.setup == setup]
        if len(six) == len([m for m in values.marks if m.meaning is Meaning.blank and m.setup == setup]):
            box = contexts[setup].stock_box
            top = blank_top(box, tuple(value for _, value in six))
            low, high = top.extremes(box)
            measured = [value for _, value in six]
            told = Correction(Meaning.blank, tuple(m for m, _ in six), setup, min(measured), max(measured))
            yield told, top, Thickness(min=low, max=high)


def _with_face(job: Job, face: PlanedFace) -> Job:
    def with_face(feature: FeatureKeys) -> FeatureKeys:
        if feature.name != face.feature:
            return feature
        return feature.model_copy(update={"leave": face.leave + face.off})

    def setup_with(setup: Setup) -> Setup:
        return setup.model_copy(update={"features": tuple(with_face(f) for f in setup.features)})

    return job.model_copy(update={"setups": tuple(setup_with(s) for s in job.setups)})


def _bits(job: Job, values: Values) -> Iterator[Correction]:
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
            yield Correction(Meaning.bit, marks, name, asked, width)


def _sides(values: Values) -> Iterator[Correction]:
    """How far each turned side lies beside the other: half of what opposite rims differ by."""
    for setup in dict.fromkeys(m.setup for m in values.marks if m.meaning is Meaning.sides):
        rims = {mark.figure.axis: (mark, value) for mark, value in values.of(Meaning.sides) if mark.setup == setup}
        apart = [_apart(rims, axis) for axis in ((1.0, 0.0), (0.0, 1.0))]
        if None in apart:
            continue
        x, y = (off or 0.0 for off in apart)
        if max(abs(x), abs(y)) > SAME:
            yield Correction(Meaning.sides, tuple(mark for mark, _ in rims.values()), setup, x, y)


def _apart(rims: Mapping[tuple[float, float], tuple[Mark, float]], axis: tuple[float, float]) -> float | None:
    """How far a ring lies beside its bore along an axis, mm; None while one of both rims is not measured."""
    there, back = rims.get(axis), rims.get((-axis[0], -axis[1]))
    if there is None or back is None:
        return None
    return (there[1] - there[0].figure.value - back[1] + back[0].figure.value) / 2
