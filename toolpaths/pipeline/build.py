"""Turn a job file into the text of its programs, before any check.

load -> target, plan -> move -> write
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.common.version import __version__
from toolpaths.gcode.program import BookedSession, Heading, Program
from toolpaths.gcode.writer.write import touch_off, write
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import ProgramPlan, Raster
from toolpaths.pipeline.as_found import History, history_of
from toolpaths.pipeline.design import in_job_units, problem_of
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.move import move
from toolpaths.pipeline.plan import chosen
from toolpaths.target_shape.demand import Target
from toolpaths.toolpath.split_sessions import SessionPart, divided
from toolpaths.toolpath.toolpath import Toolpath


@dataclass(frozen=True, slots=True)
class ProgramSet:
    """A job laid out. `earlier` is taken as cut before the set begins (`--only`, `--from`); `numbers`: bit numbers.

    `contexts`, `target`: as the wood was found, where it was measured.
    """

    loaded: LoadedJob
    changes: Changes
    history: History
    contexts: dict[str, SetupContext]
    target: Target
    earlier: tuple[tuple[ProgramPlan, Program], ...]
    own: tuple[tuple[ProgramPlan, Program], ...]
    numbers: dict[str, int]


def lay_out(path: Path, changes: Changes) -> ProgramSet:
    """The programs of the job in a file. Raises JobError with every refusal at once."""
    return lay_out_loaded(load_job(path, changes.bits), changes)


def lay_out_loaded(loaded: LoadedJob, changes: Changes) -> ProgramSet:
    """The same for a job in memory, its bits already changed. Raises JobError with every refusal at once."""
    history = history_of(loaded, [name for name, _ in changes.bits])
    before, keep = _chosen(history.plans, changes)
    numbers = {name: i for i, name in enumerate(dict.fromkeys(n for b in history.plans for n in b.bits), 1)}
    earlier = _written(loaded, history, before, numbers, replace(changes, air=0.0, session=0.0), set())
    planed = {b.setup for b in before if _planes(b, (), history.context(b))}
    own = _written(loaded, history, keep, numbers, changes, planed)
    design = history.design
    return ProgramSet(loaded, changes, history, design.contexts, design.target, earlier, own, numbers)


def _written(
    loaded: LoadedJob,
    history: History,
    program_plans: Sequence[ProgramPlan],
    numbers: dict[str, int],
    changes: Changes,
    planed: set[str],
) -> tuple[tuple[ProgramPlan, Program], ...]:
    """The programs of a set. `planed`: setups whose face was planed before it."""
    parts = _parts(loaded, history, program_plans, changes.session)
    out: list[tuple[ProgramPlan, Program]] = []
    done = set(planed)
    for k, part in enumerate(parts, 1):
        program_plan = part.toolpath.program_plan
        context = history.context(program_plan)
        heading = Heading(
            version=__version__,
            job_hash=loaded.job_hash,
            name=_file_name(k, program_plan, context),
            number=k,
            count=len(parts),
            bit_numbers=numbers,
            touch_off=touch_off(context, program_plan.setup in done, program_plan.on_bed),
            altered=changes.words,
            found=history.words(program_plan),
            accepted=tuple(f"{code}@{feature}" for code, feature in changes.accept),
            lift=changes.air,
            booked=BookedSession(part.session, parts[-1].session, changes.session, part.goes_on)
            if part.session
            else None,
        )
        out.append((program_plan, write(part.toolpath, context, heading)))
        if _planes(program_plan, [p.toolpath.program_plan for p in parts[k:]], context):
            done.add(program_plan.setup)
    return tuple(out)


def _parts(
    loaded: LoadedJob, history: History, program_plans: Sequence[ProgramPlan], session: float
) -> list[SessionPart]:
    """What each program cuts: a plan, or as much of it as fits into a booking of `session` minutes."""
    works: list[tuple[Toolpath, SetupContext]] = []
    for program_plan in program_plans:
        context = history.context(program_plan)
        try:
            works.append((move(program_plan, context), context))
        except FeatureError:
            raise JobError(_refused(loaded, program_plan, context)) from None
    if not session:
        return [SessionPart(toolpath) for toolpath, _ in works]
    try:
        return divided(works, session)
    except FeatureError as error:
        raise JobError([Problem("command line", 1, 1, "--session", *in_job_units(error, loaded))]) from None


def _refused(loaded: LoadedJob, program_plan: ProgramPlan, context: SetupContext) -> list[Problem]:
    """Which operations of a plan no strategy can cut."""
    out: list[Problem] = []
    for operation in program_plan.operations:
        try:
            move(ProgramPlan(program_plan.setup, (operation,)), context)
        except FeatureError as error:
            out.append(problem_of(loaded, operation.job_line, operation.feature, error))
    return out


def _file_name(k: int, program_plan: ProgramPlan, context: SetupContext) -> str:
    words = [f"{k:02d}", program_plan.setup]
    if context.machine.tool_change == "by hand":
        words += program_plan.bits
    return re.sub(r"[^A-Za-z0-9._-]+", "-", "-".join(words)) + f".{context.machine.ending}"


def _planes(program_plan: ProgramPlan, later: Sequence[ProgramPlan], context: SetupContext) -> bool:
    """Whether a plan takes the top down to the finished face, not only nearer to it; `later` come after it."""
    planing = [o for o in program_plan.operations if isinstance(o, Raster) and o.floor <= context.face]
    return any(all(o is not other for b in later for other in b.operations) for o in planing)


def _chosen(every: Sequence[ProgramPlan], changes: Changes) -> tuple[tuple[ProgramPlan, ...], tuple[ProgramPlan, ...]]:
    try:
        return chosen(every, changes.only, changes.start)
    except KeyError as error:
        option, name = ("--only", changes.only) if changes.only is not None else ("--from", changes.start)
        hint = f"the job has {error.args[0]}"
        raise JobError([Problem("command line", 1, 1, option, f"no feature is called `{name}`", hint)]) from None
