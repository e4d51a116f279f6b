"""The measuring list of a whole job: every place to measure, in order of work, each with its short mark.

It follows from the job alone, so a mark keeps its number whatever part of the job is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import assert_never

from toolpaths.features.feature import Feature, features_of
from toolpaths.features.surfaces import Surfaces
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning, meaning_of
from toolpaths.geometry.blank_top import places_of
from toolpaths.instrument.handwork.handwork import Figure, Measure
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import NO_PART
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.machine_stiffness import gives_way
from toolpaths.operations.operation import Lines, ProgramPlan, Raster
from toolpaths.target_shape.demand import Demand

_PLACES = (
    "left end, edge on your side",
    "middle, edge on your side",
    "right end, edge on your side",
    "left end, far edge",
    "middle, far edge",
    "right end, far edge",
)
_CORNERS = (0, 2, 3, 5)
"""Of the six places."""
_SLOTTED = frozenset({CutKind.line, CutKind.fret_slot})


def marks_of(
    contexts: Mapping[str, SetupContext], demands: Mapping[str, Sequence[Demand]], plans: Sequence[ProgramPlan]
) -> tuple[Mark, ...]:
    """Every place to measure. `demands` by setup, each in its frame; `plans`: those of the whole job.

    How far each may be off holds what machine and bit give way beside what the feature allows.
    """
    out: list[Mark] = []
    done: frozenset[str] = frozenset()
    for name, context in contexts.items():
        features = {f.name: f for f in features_of(context.setup)}
        own = [plan for plan in plans if plan.setup == name]
        if not own:
            continue
        near = Surfaces(contexts, demands, done)
        for feature, measure in _as_it_lies(context, near, not done):
            lying = _mark(len(out) + 1, context, feature, own[0].number, measure)
            out.append(replace(lying, before=True))
        for plan in own:
            later = {o.feature for p in plans if p.number > plan.number for o in p.operations}
            ended = [f for f in dict.fromkeys(o.feature for o in plan.operations) if f not in later]
            done |= frozenset(ended)
            near = Surfaces(contexts, demands, done)
            for measure, feature in ((m, features[f]) for f in ended for m in features[f].measures(context, near)):
                told = measure.loosened(_gives_way(context, feature, own))
                mark = _mark(len(out) + 1, context, feature, plan.number + 1, told)
                out.append(_moved_between(mark, own))
    return tuple(replace(m, later=_followed(m, plans), together=_together(m, out)) for m in out)


def _followed(mark: Mark, plans: Sequence[ProgramPlan]) -> bool:
    """Whether a program that comes after a mark can follow it."""
    later = [plan for plan in plans if plan.number >= mark.after]
    match mark.meaning:
        case Meaning.blank | Meaning.axis:
            return bool(later)
        case Meaning.face:
            return any(plan.setup == mark.setup or mark.figure.kind == "thickness" for plan in later)
        case Meaning.sides:
            return any(plan.setup == mark.setup for plan in later)
        case Meaning.bit:
            return any(mark.bit in plan.bits for plan in later)
        case Meaning.depth | Meaning.part | Meaning.look:
            return False
        case _:
            assert_never(mark.meaning)


def _together(mark: Mark, marks: Sequence[Mark]) -> tuple[int, ...]:
    """Numbers of the marks that say something only together: of a face, of a blank's places, of a ring."""
    if mark.meaning not in (Meaning.blank, Meaning.face, Meaning.sides):
        return ()

    def of(m: Mark) -> tuple[object, ...]:
        kind = "" if m.meaning is Meaning.sides else m.figure.kind
        return m.meaning, m.setup, m.feature, m.after, kind

    return tuple(m.number for m in marks if m.measure.figures and of(m) == of(mark))


def _mark(number: int, context: SetupContext, feature: Feature | None, after: int, measure: Measure) -> Mark:
    name, bit = ("", "") if feature is None else (feature.name, feature.bits[-1])
    cuts = frozenset() if feature is None else feature.cuts
    meaning = meaning_of(measure.figures[0], cuts, context.bits.get(bit)) if measure.figures else Meaning.look
    return Mark(number, context.setup.name, name, bit, after, measure, meaning)


def _moved_between(mark: Mark, plans: Sequence[ProgramPlan]) -> Mark:
    """The mark; a distance whose ends were cut in two places of the blank says nothing of the machine's X."""
    lies = {plan.lie.name for plan in plans if plan.lie and any(o.feature == mark.feature for o in plan.operations)}
    return replace(mark, meaning=Meaning.part) if mark.meaning is Meaning.axis and len(lies) > 1 else mark


def _gives_way(context: SetupContext, feature: Feature, plans: Sequence[ProgramPlan]) -> float:
    """How far machine and bit give way beside the walls of a feature, mm: with that bit that does so most."""
    mine = [o for plan in plans for o in plan.operations if o.feature == feature.name]
    out = 0.0
    for bit in dict.fromkeys(o.bit for o in mine):
        own = [o for o in mine if o.bit == bit]
        deep = 0.0 if isinstance(own[0], Raster) else max(o.top for o in own) - min(o.floor for o in own)
        lines = any(isinstance(o, Lines) for o in own)
        by = gives_way(context.machine, context.bits[bit], own[0].cutting, deep, skimmed=not lines)
        out = max(out, by)
    return out


def _as_it_lies(context: SetupContext, near: Surfaces, first: bool) -> Iterator[tuple[Feature | None, Measure]]:
    """What is measured before a setup's first program.

    Of the first one the blank. Later, where Z counts from the bed, how high the top stands into which slots are cut;
    of a blank that was turned over how thick it is, and where Z counts from the bed how high it stands: what lies
    under it as it lay under the first side shows in neither alone.
    """
    if context.apart or any(f.lies in NO_PART for f in context.setup.features):
        return
    places = places_of(context.stock_box)
    if first:
        thick = context.stock.thickness
        for at, words in zip(places, _PLACES, strict=True):
            within = (thick.min - thick.max, 0.0)
            figure = Figure("thickness", thick.max, context.setup.name, at, within=within)
            yield None, Measure("thickness of the blank", (figure,), where=words)
        return
    planed, cuts = _planed_before(context), features_of(context.setup)
    if planed is None or any(CutKind.face in f.cuts for f in cuts):
        return
    on_top = context.setup.zero.z == "stock top"
    if not context.flipped and (on_top or not any(f.cuts & _SLOTTED for f in cuts)):
        return
    corners = [(places[i], _PLACES[i]) for i in _CORNERS if abs(near.top(context, places[i])[0] - context.top) < 1e-6]
    if context.flipped:
        whole = ((near.thickness(context, at, planed.within), where) for at, where in corners)
        for thick_there, where in whole:
            if abs(thick_there.value - context.top) < 1e-6:  # nothing is cut there from the other side
                yield planed, Measure("thickness before this side", (thick_there,), where=where)
    if not on_top:
        what = f"top above the {'bed' if context.jig is None else 'seat of the jig'}, as it lies"
        for at, where in corners:
            yield planed, Measure(what, (near.height(context, at, planed.within),), where=where)


def _planed_before(context: SetupContext) -> Feature | None:
    """The feature that planed the face before this setup; None where it is as it was bought."""
    job = context.job
    earlier = job.setups[: job.setups.index(context.setup)]
    planing = [f for s in earlier if s.flip is None for f in features_of(s) if CutKind.face in f.cuts]
    return planing[-1] if planing else None
