"""Work out what a job asks for: setups, wanted shapes and plan; and report every refusal at its place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from shapely.errors import GEOSException

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.common.units import in_units, show
from toolpaths.features.feature import Feature, features_of
from toolpaths.instrument.boards import as_cut, corners
from toolpaths.instrument.drawn_headstock import head_polygon
from toolpaths.instrument.necks import neck_outline
from toolpaths.instrument.places import x_of
from toolpaths.instrument.woods import wood_of
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.placed import Lie
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import FoundInSetup, SetupContext, setup_context_of
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.plan import AsCut, lies_of, parts_of, plan
from toolpaths.target_shape.demand import Demand, Target

_WANTS = {
    "": "put it into a setup without `stock`, which cuts the job's blank",
    "jig": "put it into a job with `part: jig`",
    "sheet": "put it into a setup with its own `stock`, which is the sheet",
    "edge": (
        "put it into a setup with its own `stock`, which is the board, and `stand: bass edge up` or `treble edge up`"
    ),
}

_FAR = 500.0
"""How far past its blank a feature may reach before it is taken for a slip, mm."""


@dataclass(frozen=True, slots=True)
class JobDesign:
    """What a job asks for, before any toolpath: the contexts of its setups, the wanted shapes and the plan."""

    loaded: LoadedJob
    contexts: dict[str, SetupContext]
    target: Target
    plans: tuple[ProgramPlan, ...]


def read_design(path: Path) -> JobDesign:
    """What the job in a file asks for, without toolpaths. Raises JobError with every refusal at once."""
    return design_of(load_job(path))


def design_of(loaded: LoadedJob, as_cut: AsCut = MappingProxyType({})) -> JobDesign:
    """The same of a job in memory. `as_cut`: features that are cut already, in the setup as it was known then.

    Raises JobError with every refusal at once.
    """
    contexts = contexts_of(loaded)
    every, wanted = _asked(loaded, contexts, as_cut)
    return JobDesign(loaded, contexts, wanted, every)


def contexts_of(loaded: LoadedJob) -> dict[str, SetupContext]:
    """The context of each setup of a job, by name."""
    return {s.name: _context(loaded, s) for s in loaded.job.setups}


def target(contexts: Iterable[SetupContext], as_cut: AsCut = MappingProxyType({})) -> Target:
    """Every demand of a job by setup name, in its setup's frame. Raises FeatureError for one that cannot be cut."""
    return Target({context.setup.name: tuple(_demands(context, as_cut)) for context in contexts})


def problem_of(loaded: LoadedJob, line: int, feature: str, error: FeatureError) -> Problem:
    """A refusal at its place: the line of the key at fault, else the feature's."""
    lines = loaded.source.splitlines()
    at, column = max(line, 1), 1
    if error.key:
        pattern = re.compile(rf"\b{re.escape(error.key)}\s*:")
        for i in range(at - 1, min(at + 30, len(lines))):
            if i >= at and re.match(r"\s*-\s+\w+\s*:", lines[i]):
                break
            if match := pattern.search(lines[i]):
                at, column = i + 1, match.start() + 1
                break
    source = lines[at - 1] if at <= len(lines) else ""
    key = f"{feature}.{error.key}" if error.key else feature
    return Problem(str(loaded.path), at, column, key, *in_job_units(error, loaded), source)


def in_job_units(error: FeatureError, loaded: LoadedJob) -> tuple[str, str]:
    """(what is wrong, what to do), lengths in the job's units."""
    return in_units(error.problem, loaded.job.units), in_units(error.hint, loaded.job.units)


# Private


def _context(loaded: LoadedJob, setup: Setup) -> SetupContext:
    """The context of a setup. A board on edge is finished, and has its binding."""
    job = loaded.job if setup.stand is not None else as_cut(loaded.job)
    wood = loaded.wood if setup.wood is None else wood_of(setup.wood)
    jig = loaded.jigs.get(setup.name)
    lies = loaded.lies.get(setup.name, FoundInSetup())
    return setup_context_of(job, loaded.machine, wood, setup, loaded.path.parent, jig, loaded.served, lies)


def _demands(context: SetupContext, as_cut: AsCut) -> Iterator[Demand]:
    for feature in features_of(context.setup):
        for demand in feature.demands(as_cut.get(feature.name, context)):
            yield demand if context.mirror > 0 else demand.mirrored()


def _asked(
    loaded: LoadedJob, contexts: dict[str, SetupContext], as_cut: AsCut
) -> tuple[tuple[ProgramPlan, ...], Target]:
    """(plan, wanted shapes); where one feature cannot be cut, all are tried, so that every refusal is reported."""
    problems = [*_moved_blank(loaded, contexts), *_of_other_jobs(loaded, contexts)]
    shapeless = _of_instrument(loaded)
    if shapeless:
        raise JobError([*problems, *shapeless])
    try:
        wanted = target(contexts.values(), as_cut)
        problems += _far_off(loaded, contexts, wanted)
        if not problems:
            return plan(list(contexts.values()), as_cut), wanted
    except (FeatureError, GEOSException):
        errors = _refusals(loaded, contexts, as_cut)
        if not errors:
            raise
        problems += errors
    raise JobError(problems)


def _of_instrument(loaded: LoadedJob) -> list[Problem]:
    """Faults of the instrument's own shapes, looked for before any feature: board, headstock and neck outline."""
    instrument = as_cut(loaded.job).instrument
    part = "board"
    try:
        corners(instrument)
        if loaded.job.part == "neck" and instrument.neck is not None:
            part = "neck.headstock"
            head = head_polygon(instrument, loaded.path.parent)
            part = "neck"
            neck_outline(instrument, 0.0, head)
            if instrument.neck.volute is not None:
                part = "neck.volute"
                x_of(instrument.neck.volute.at, instrument, "at")
    except FeatureError as error:
        line = _line_of(loaded.source, *reversed(part.split(".")))
        if error.key == "instrument":  # which the place says already
            error = FeatureError(error.problem, error.hint)
        return [problem_of(loaded, line, f"instrument.{part}", error)]
    return []


def _refusals(loaded: LoadedJob, contexts: dict[str, SetupContext], as_cut: AsCut) -> list[Problem]:
    """Try every feature once, so that all that cannot be cut is reported together."""
    out: list[Problem] = []
    for name, context in contexts.items():
        lies: tuple[Lie, ...] = ()
        try:
            lies = lies_of(context)
        except FeatureError as error:
            said = FeatureError(error.problem, error.hint)
            out.append(problem_of(loaded, _line_of(loaded.source, "placed"), f"setup {name}.placed", said))
        for feature in features_of(context.setup):
            try:
                _must_belong(feature, context)
                then = as_cut.get(feature.name, context)
                _ = list(feature.demands(then))
                operations = list(feature.operations(then))
                if lies and feature.order != "bed":
                    _ = [parts_of(o, context, lies) for o in operations]
            except FeatureError as error:
                out.append(problem_of(loaded, feature.line, feature.name, error))
            except GEOSException:
                hint = "check the board's widths and the places"
                crossed = FeatureError("its shape, or the board's, crosses itself", hint)
                out.append(problem_of(loaded, feature.line, feature.name, crossed))
    return out


def _of_other_jobs(loaded: LoadedJob, contexts: dict[str, SetupContext]) -> list[Problem]:
    """Features of a jig in another job, and those of an instrument in a jig's."""
    out: list[Problem] = []
    for name, context in contexts.items():
        for feature in context.setup.features:
            if (feature.piece == "jig") == (loaded.job.part == "jig") or feature.on_jig:
                continue
            error = FeatureError(f"setup {name} does not make a jig", _WANTS["jig"])
            if loaded.job.part == "jig":
                hint = (
                    "leave it out; a jig can have the features of jigs, and `plane`, `bores`, `pocket` and `engraving`"
                )
                error = FeatureError("a jig cannot have it: it is cut from a board or a neck", hint)
            out.append(problem_of(loaded, feature.line, feature.name, error))
    return out


def _must_belong(feature: Feature, context: SetupContext) -> None:
    """Raises FeatureError for a feature that is not cut from the piece that lies in its setup."""
    here = "" if not context.apart else "sheet" if context.setup.stand is None else "edge"
    if feature.piece in (here, "jig"):
        return
    raise FeatureError(f"this feature is not cut from the piece in setup {context.setup.name}", _WANTS[feature.piece])


def _line_of(source: str, *keys: str) -> int:
    """The line where the job describes a part of its instrument, or names the file that does."""
    lines = source.splitlines()
    for key in (*keys, "instrument"):
        for i, line in enumerate(lines, 1):
            if re.search(rf"\b{key}\s*:", line):
                return i
    return 1


def _moved_blank(loaded: LoadedJob, contexts: dict[str, SetupContext]) -> list[Problem]:
    """Setups that place the blank differently about the nut line and the centreline than the first one."""
    first = next(iter(contexts.values()))
    out: list[Problem] = []
    for name, context in contexts.items():
        if context.apart:
            continue
        x0, y0, x1, y1 = context.stock_box
        seen = (x0, y0, x1, y1) if context.flipped == first.flipped else (x0, -y1, x1, -y0)
        if any(abs(a - b) > 1e-6 for a, b in zip(seen, first.stock_box, strict=True)):
            hint = (
                "give all setups the same nut_at; measure centre_at from the operator's edge, as the blank lies there"
            )
            error = FeatureError("the blank is not in the same place as in the first setup", hint, "")
            out.append(problem_of(loaded, context.setup.features[0].line, f"setup {name}", error))
    return out


def _far_off(loaded: LoadedJob, contexts: dict[str, SetupContext], wanted: Target) -> list[Problem]:
    """Demands that reach far from their blank: typing mistakes, which would take very long to compute."""
    out: list[Problem] = []
    for name, context in contexts.items():
        x0, y0, x1, y1 = context.stock_box
        for demand in wanted.demands[name]:
            if demand.asked.is_empty:
                continue
            ax0, ay0, ax1, ay1 = demand.asked.bounds
            off = max(x0 - ax0, y0 - ay0, ax1 - x1, ay1 - y1)
            if off > _FAR:
                words = f"it reaches {show(off, loaded.job.units, 0)} past the blank"
                error = FeatureError(words, "check its place, its size and their units")
                out.append(problem_of(loaded, demand.job_line, demand.feature, error))
    return list(dict.fromkeys(out))
