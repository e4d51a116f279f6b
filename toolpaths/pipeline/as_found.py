"""A job and what was measured on its wood: the design for the programs to come, and how the earlier ones were cut.

A program follows what was known when it was written. One that is cut already is therefore made from what was known
then, and keeps its bytes; the wood that it has left is simulated as it was measured since.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from statistics import fmean

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.features.feature import Feature, features_of
from toolpaths.features.marks import marks_of
from toolpaths.found.corrections import as_found, said
from toolpaths.found.doubt import doubt
from toolpaths.found.mark import Mark, names_of
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import Correction, Values
from toolpaths.job.files.found_file import FoundFile
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import ProgramPlan, Raster
from toolpaths.pipeline.design import JobDesign, contexts_of, design_of, target
from toolpaths.pipeline.plan import plan

SLIGHT = 0.04
"""A hole as wide as its bit may come out so much wider, mm: the comparison of wood and target allows half of it a wall.
"""


@dataclass(frozen=True, slots=True)
class CutPlan:
    """A program that is cut already: its plan and its setup as known when it was written, and what it followed.

    `off`: by bit name, how much higher than its text said it has cut, mm, as was measured since.
    """

    plan: ProgramPlan
    context: SetupContext
    corrections: tuple[Correction, ...]
    off: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class History:
    """The design as found, the measuring list, and what was found so far. `cut`: by number, programs cut already."""

    design: JobDesign
    marks: tuple[Mark, ...]
    values: Values
    corrections: tuple[Correction, ...] = ()
    cut: Mapping[int, CutPlan] = field(default_factory=dict)

    @property
    def followed(self) -> tuple[Correction, ...]:
        """What programs to come follow: a bit that is not used again is followed by none."""
        return _followed(self.corrections)

    @property
    def plans(self) -> tuple[ProgramPlan, ...]:
        """Every plan of the job: those that are cut already as they were."""
        return tuple(self.cut[p.number].plan if p.number in self.cut else p for p in self.design.plans)

    def was_cut(self, program_plan: ProgramPlan) -> CutPlan | None:
        """How a plan, or a part of one, was cut; None for one that is to be cut, for the first time or again."""
        was = self.cut.get(program_plan.number)
        if was is None or not any(o is program_plan.operations[0] for o in was.plan.operations):
            return None
        return was

    def context(self, program_plan: ProgramPlan) -> SetupContext:
        """The setup of a plan, as known when its program is or was written."""
        was = self.was_cut(program_plan)
        context = self.design.contexts[program_plan.setup] if was is None else was.context
        return context.at(program_plan.lie)

    def words(self, program_plan: ProgramPlan) -> tuple[str, ...]:
        """What a program follows of what was found, in sentences without a full stop."""
        was = self.was_cut(program_plan)
        made = _followed(self.corrections if was is None else was.corrections)
        job, units = self.design.loaded.job, self.design.loaded.machine.units
        own = (Meaning.sides, Meaning.axis)
        return tuple(said(c, job, units) for c in made if c.meaning not in own or c.subject == program_plan.setup)


def history_of(loaded: LoadedJob, other_bits: Collection[str] = ()) -> History:
    """A job with what was measured on its wood. `other_bits`: those that the command line changed.

    Raises JobError with every refusal at once: of the job, or of a value that cannot be true.
    """
    base = design_of(loaded)
    marks = marks_of(base.contexts, base.target.demands, base.plans)
    if loaded.found is None:
        return History(base, marks, Values(marks, {}, {}))
    values = values_of(loaded.found, marks, base, other_bits)
    values = _as_each_program_asked(loaded, base, values)
    marks = values.marks
    found, corrections = as_found(loaded, base.contexts, values)
    design = _design(found, base, loaded.found, values, corrections)
    cut = {p.number: _cut(loaded, base, design, p, values) for p in base.plans[: values.programs_cut]}
    return History(design, marks, values, corrections, cut)


def values_of(file: FoundFile, marks: tuple[Mark, ...], base: JobDesign, other_bits: Collection[str] = ()) -> Values:
    """The values of a file. Raises JobError for a mark that the job has not, or a value that cannot be true."""
    by_name = {mark.name: mark for mark in marks}
    value: dict[int, float] = {}
    cut: dict[int, int] = {}
    problems: list[Problem] = []
    for name, one in file.found.found.items():
        mark = by_name.get(name)
        if mark is None:
            last = f"its last mark is {marks[-1].name}" if marks else "it has no marks"
            problems.append(file.problem(name, "the measuring list has no such mark", last))
        elif mark.bit in other_bits:
            continue  # measured in a cut of another bit
        elif (why := doubt(mark, one.value, base.loaded.job)) is not None:
            problems.append(file.problem(name, why.problem, why.hint))
        elif one.cut > len(base.plans):
            words = f"the job has only {len(base.plans)} programs, not {one.cut}"
            problems.append(file.problem(name, words, f"give at most {len(base.plans)}"))
        else:
            value[mark.number], cut[mark.number] = one.value, max(one.cut, mark.after)
    if problems:
        raise JobError(problems)
    return Values(marks, value, cut)


# Private


def _as_each_program_asked(loaded: LoadedJob, base: JobDesign, values: Values) -> Values:
    """The values at marks that want what their own program asked for, or the job as found where that is to come."""
    for number in sorted(set(values.cut.values())):
        then, corrections = as_found(loaded, base.contexts, values.known(number))
        if not corrections:
            continue
        contexts = contexts_of(then)
        with suppress(FeatureError):  # the whole design says so
            again = marks_of(contexts, target(contexts.values()).demands, base.plans)
            if len(again) == len(values.marks):
                asked = zip(values.marks, again, strict=True)
                values = replace(values, marks=tuple(new if old.after > number else old for old, new in asked))
    return values


def _followed(corrections: Iterable[Correction]) -> tuple[Correction, ...]:
    return tuple(c for c in corrections if any(mark.later for mark in c.marks))


def _design(
    found: LoadedJob, base: JobDesign, file: FoundFile, values: Values, corrections: tuple[Correction, ...]
) -> JobDesign:
    """The design as found. Raises JobError at the values with which the rest of the job cannot be cut."""
    marks = tuple(m for c in corrections for m in c.marks)
    hint = (
        "measure again; if the value is right, this part cannot be finished as the job says: change the job to what "
        "the wood allows, or begin a new blank"
    )
    try:
        design = design_of(found, _as_cut(found, base, values.programs_cut))
    except JobError as error:
        raise JobError(
            [
                file.problem(
                    marks[0].name if marks else "",
                    f"with the measured values ({names_of(marks)}), {p.key}: {p.problem}",
                    hint,
                )
                for p in error.problems
            ]
        ) from None
    same = [(p.setup, p.bits, tuple(o.feature for o in p.operations)) for p in design.plans]
    if same != [(p.setup, p.bits, tuple(o.feature for o in p.operations)) for p in base.plans]:
        words = f"with the measured values ({names_of(marks)}) the job would need other programs"
        raise JobError([file.problem(marks[0].name, words, hint)])
    return design


def _as_cut(found: LoadedJob, base: JobDesign, programs_cut: int) -> dict[str, SetupContext]:
    """The setup as found, but for the bits: for features that are cut already, which need fit no more, and others whose
    bit was found slightly too wide for them."""
    to_come = {o.feature for p in base.plans[programs_cut:] for o in p.operations}
    asked = base.loaded.job.bits
    out: dict[str, SetupContext] = {}
    for context in contexts_of(found).values():
        as_asked = replace(context, job=context.job.model_copy(update={"bits": asked}))
        for feature in features_of(context.setup):
            if feature.name not in to_come or _hardly_too_wide(feature, context, as_asked):
                out[feature.name] = as_asked
    return out


def _hardly_too_wide(feature: Feature, context: SetupContext, as_asked: SetupContext) -> bool:
    """Whether a feature to come is as wide as its bit, and is refused only since that was found slightly wider.

    Every bit cuts a little wider than it is called: such a hole or slot is cut as it was asked for.
    """
    wider = max(context.bits[bit].cut_diameter - as_asked.bits[bit].cut_diameter for bit in feature.bits)
    if not 0 < wider <= SLIGHT:
        return False
    try:
        _ = list(feature.demands(context)), list(feature.operations(context))
    except FeatureError:
        return True
    return False


def _cut(loaded: LoadedJob, base: JobDesign, design: JobDesign, program_plan: ProgramPlan, values: Values) -> CutPlan:
    """A plan that is cut, as its program was written."""
    own, context = program_plan, base.contexts[program_plan.setup]
    then, corrections = as_found(loaded, base.contexts, values.known(own.number))
    if corrections:
        known = contexts_of(then)[own.setup]
        place = [p.number for p in base.plans if p.setup == own.setup].index(own.number)
        try:
            again = plan([known], _as_cut(then, base, own.number))[place]
            own, context = replace(again, number=own.number), known
        except FeatureError:
            # No program was written then that followed those values: it was cut as asked.
            corrections = ()
    return CutPlan(own, context, corrections, _off(own, context, design, base, values))


def _off(
    own: ProgramPlan, context: SetupContext, design: JobDesign, base: JobDesign, values: Values
) -> dict[str, float]:
    """By bit, how much higher than its text said a program has cut, mm, as far as that was measured.

    Where its cuts' depth was measured, by that, from the face as it is; where it planed, by the face; where its bit
    was set on the planed face, by how much that lies elsewhere.
    """
    now = design.contexts[own.setup]
    # Where Z counts from the bed, that lies lower under a blank that was found to lie higher.
    face = now.face - context.face + now.found.raised - context.found.raised
    planed = any(
        isinstance(o, Raster) and o.floor <= p_context.face
        for p in base.plans
        if p.number < own.number and p.setup == own.setup
        for o, p_context in ((o, base.contexts[p.setup]) for o in p.operations)
    )
    on_face = context.jig is None and context.setup.zero.z == "stock top" and planed and not own.on_bed
    off: dict[str, float] = {}
    for bit in own.bits:
        mine = [o for o in own.operations if o.bit == bit]
        deep = [
            value - mark.figure.value
            for mark, value in values.of(Meaning.depth)
            if mark.bit == bit and mark.feature in {o.feature for o in mine} and mark.setup == own.setup
        ]
        if deep:
            off[bit] = face - fmean(deep)
        elif on_face or any(isinstance(o, Raster) and o.floor <= context.face for o in mine):
            off[bit] = face
    return {bit: by for bit, by in off.items() if by}
