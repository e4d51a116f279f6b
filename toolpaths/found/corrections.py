"""The job as it was found: what was measured takes the place of what was asked, for the programs still to come.

What a cut has shown (a face, a bit's width, an axis) is put into the job itself, so that target and programs are made
from the same numbers as ever; nothing is added to a toolpath.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from toolpaths.common.units import show, show_fine
from toolpaths.found.mark import Mark, names_of
from toolpaths.found.meaning import Meaning
from toolpaths.job.blank_top import BlankTop, blank_top
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job, Setup
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.measured import Measured, Stroke
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stock import Thickness

SAME = 0.005
"""Differences up to this are nobody's, mm: no caliper shows them. Common practice, no source."""
READ = 0.1
"""An axis is corrected from this difference on, mm: a rule shows no less. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that later programs take as it was found. `asked` and `found` in mm; `subject`: which bit or feature.

    Of the blank, `asked` is its least and `found` its greatest thickness; of two sides, x and y of how far apart.
    """

    meaning: Meaning
    marks: tuple[Mark, ...]
    subject: str
    asked: float
    found: float


@dataclass(frozen=True, slots=True)
class Values:
    """Measured values by mark number, mm, with how many programs were cut when each was written down."""

    marks: tuple[Mark, ...]
    value: Mapping[int, float]
    cut: Mapping[int, int]

    @property
    def programs_cut(self) -> int:
        """How many of the job's programs are cut already."""
        return max(self.cut.values(), default=0)

    def known(self, number: int) -> Values:
        """The values that the program with that number (from 0) could follow."""
        known = {n: v for n, v in self.value.items() if self.cut[n] <= number}
        return Values(self.marks, known, {n: self.cut[n] for n in known})

    def of(self, meaning: Meaning) -> list[tuple[Mark, float]]:
        """The values of one meaning, in the order of the marks."""
        return [(m, self.value[m.number]) for m in self.marks if m.meaning is meaning and m.number in self.value]


def as_found(
    loaded: LoadedJob, contexts: Mapping[str, SetupContext], values: Values
) -> tuple[LoadedJob, tuple[Correction, ...]]:
    """The job with what was measured in the place of what was asked, and what that changes.

    `contexts`: of the job as asked. Raises ValueError, in words, for values that no job can have.
    """
    job, machine, tops, asides = loaded.job, loaded.machine, dict(loaded.measured_tops), dict(loaded.asides)
    thinner = loaded.thinner
    made: list[Correction] = []
    for correction, top, setup in _blank(contexts, values):
        made.append(correction)
        tops[setup] = top
        thickness = Thickness(min=correction.asked, max=correction.found)
        job = job.model_copy(update={"stock": job.stock.model_copy(update={"thickness": thickness})})
    for correction in _faces(job, values):
        made.append(correction)
        job = _with_face(job, correction)
        thinner = max(thinner, correction.asked - correction.found)
    for correction in _bits(job, values):
        made.append(correction)
        measured = job.bits[correction.subject].model_copy(update={"measured_diameter": correction.found})
        job = job.model_copy(update={"bits": {**job.bits, correction.subject: measured}})
    for correction in _sides(values):
        made.append(correction)
        asides[correction.subject] = correction.asked, correction.found
    for correction in _axis(values):
        made.append(correction)
        by = machine.correction[0]
        x = Stroke(commanded=correction.asked * by, measured=correction.found)
        known = machine.measured or Measured()
        machine = machine.model_copy(update={"measured": known.model_copy(update={"x": x})})
    again = replace(loaded, job=job, machine=machine, measured_tops=tops, asides=asides, thinner=thinner)
    return again, tuple(made)


def said(correction: Correction, job: Job) -> str:
    """A correction as header, sheet and report say it, without a full stop."""
    units, marks = job.units, names_of(correction.marks)
    asked, found = show(correction.asked, units), show(correction.found, units)
    match correction.meaning:
        case Meaning.blank:
            return f"Blank measured {asked.split()[0]} to {found}, {marks}"
        case Meaning.face:
            return f"Face {found} instead of {asked}, {marks}: depths follow it"
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


def _blank(contexts: Mapping[str, SetupContext], values: Values) -> Iterator[tuple[Correction, BlankTop, str]]:
    found = values.of(Meaning.blank)
    for setup in dict.fromkeys(m.setup for m in values.marks if m.meaning is Meaning.blank):
        six = [(mark, value) for mark, value in found if mark.setup == setup]
        if len(six) == len([m for m in values.marks if m.meaning is Meaning.blank and m.setup == setup]):
            box = contexts[setup].stock_box
            top = blank_top(box, tuple(value for _, value in six))
            low, high = top.extremes(box)
            yield Correction(Meaning.blank, tuple(m for m, _ in six), setup, low, high), top, setup


def _faces(job: Job, values: Values) -> Iterator[Correction]:
    """The height of each planed face: the mean of the corners, of the latest measuring that is whole."""
    groups: dict[str, dict[tuple[str, int], list[tuple[Mark, float]]]] = {}
    every = [m for m in values.marks if m.meaning is Meaning.face]
    for mark, value in values.of(Meaning.face):
        groups.setdefault(mark.feature, {}).setdefault((mark.setup, mark.after), []).append((mark, value))
    for feature, sets in groups.items():
        whole = [
            own for key, own in sets.items()
            if len(own) == sum((m.setup, m.after) == key and m.feature == feature for m in every)
        ]  # fmt: skip
        leave = next(float(getattr(f, "leave")) for f in _features(job) if f.name == feature)  # noqa: B009
        if whole:
            off = fmean(value - mark.figure.value for mark, value in whole[-1])
            if abs(off) > SAME:
                yield Correction(Meaning.face, tuple(m for m, _ in whole[-1]), feature, leave, leave + off)


def _with_face(job: Job, correction: Correction) -> Job:
    def with_face(feature: FeatureKeys) -> FeatureKeys:
        if feature.name != correction.subject:
            return feature
        return feature.model_copy(update={"leave": correction.found})

    def setup_with(setup: Setup) -> Setup:
        return setup.model_copy(update={"features": tuple(with_face(f) for f in setup.features)})

    return job.model_copy(update={"setups": tuple(setup_with(s) for s in job.setups)})


def _bits(job: Job, values: Values) -> Iterator[Correction]:
    """The width that each bit truly cuts, by the latest cut of it that was measured."""
    latest: dict[str, tuple[Mark, float]] = {}
    for mark, value in values.of(Meaning.bit):
        latest[mark.bit] = mark, value
    for name, (mark, value) in latest.items():
        cuts = job.bits[name].cut_diameter
        off = value - mark.figure.value
        if abs(off) > SAME:
            yield Correction(Meaning.bit, (mark,), name, cuts, cuts + off)


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


def _axis(values: Values) -> Iterator[Correction]:
    found = values.of(Meaning.axis)
    if found:
        mark, value = max(found, key=lambda pair: (pair[0].after, pair[0].figure.value))
        if abs(value - mark.figure.value) > READ:
            yield Correction(Meaning.axis, (mark,), "x", mark.figure.value, value)


def _features(job: Job) -> Iterator[FeatureKeys]:
    for setup in job.setups:
        yield from setup.features


def touched(corrections: Sequence[Correction]) -> Collection[str]:
    """Names of the bits that were found to cut another width."""
    return {c.subject for c in corrections if c.meaning is Meaning.bit}
