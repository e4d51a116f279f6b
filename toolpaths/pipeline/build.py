"""Turn a job file into the text of its programs, before any check.

load -> target, plan -> move -> write
"""

from __future__ import annotations

import re
from collections import Counter
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
from toolpaths.pipeline.begin_at import begun, pieces_of
from toolpaths.pipeline.bit_numbers import bit_numbers
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


def names_of_pieces(path: Path) -> list[str]:
    """What `--from` takes beside features: each piece by its own name where no other has it, and by its whole name.

    Raises JobError with every refusal at once.
    """
    history = history_of(load_job(path))
    pieces = pieces_of(_moved(history, history.plans))
    often = Counter(p.name for p in pieces)
    return [name for p in pieces for name in (p.label, *((p.name,) if often[p.name] == 1 else ()))]


def lay_out_loaded(loaded: LoadedJob, changes: Changes) -> ProgramSet:
    """The same for a job in memory, its bits already changed. Raises JobError with every refusal at once."""
    history = history_of(loaded, [name for name, _ in changes.bits])
    before, keep, changes = _chosen(history, changes)
    numbers = bit_numbers(loaded, history.plans, changes)
    earlier = _written(loaded, history, before, numbers, replace(changes, air=0.0, session=0.0), set())
    rest = [t.program_plan for t in keep]
    planed = {b.setup for b in (t.program_plan for t in before) if _planes(b, rest, history.context(b))}
    # Both may begin with a part of the same program: no file has the name of one that is taken as cut.
    earlier = tuple((b, replace(p, name=f"before-{p.name}")) for b, p in earlier)
    own = _written(loaded, history, keep, numbers, changes, planed)
    design = history.design
    return ProgramSet(loaded, changes, history, design.contexts, design.target, earlier, own, numbers)


def _written(
    loaded: LoadedJob,
    history: History,
    toolpaths: Sequence[Toolpath],
    numbers: dict[str, int],
    changes: Changes,
    planed: set[str],
) -> tuple[tuple[ProgramPlan, Program], ...]:
    """The programs of a set. `planed`: setups whose face was planed before it."""
    parts = _parts(loaded, history, toolpaths, changes.session)
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


def _parts(loaded: LoadedJob, history: History, toolpaths: Sequence[Toolpath], session: float) -> list[SessionPart]:
    """What each program cuts: a toolpath, or as much of it as fits into a booking of `session` minutes."""
    if not session:
        return [SessionPart(toolpath) for toolpath in toolpaths]
    try:
        return divided([(t, history.context(t.program_plan)) for t in toolpaths], session)
    except FeatureError as error:
        raise JobError([Problem("command line", 0, 0, "--session", *in_job_units(error, loaded))]) from None


def _moved(history: History, program_plans: Sequence[ProgramPlan]) -> list[Toolpath]:
    """The toolpath of each plan. Raises JobError with every operation that no strategy can cut."""
    out: list[Toolpath] = []
    for program_plan in program_plans:
        context = history.context(program_plan)
        try:
            out.append(move(program_plan, context))
        except FeatureError:
            raise JobError(_refused(history.design.loaded, program_plan, context)) from None
    return out


def _refused(loaded: LoadedJob, program_plan: ProgramPlan, context: SetupContext) -> list[Problem]:
    """Which operations of a plan no strategy can cut."""
    out: list[Problem] = []
    for operation in program_plan.operations:
        try:
            move(ProgramPlan(program_plan.setup, (operation,), lie=program_plan.lie), context)
        except FeatureError as error:
            out.append(problem_of(loaded, operation.job_line, operation.feature, error))
    return out


def _file_name(k: int, program_plan: ProgramPlan, context: SetupContext) -> str:
    words = [f"{k:02d}", program_plan.setup, *(() if program_plan.lie is None else (program_plan.lie.name,))]
    if context.machine.tool_change == "by hand":
        words += program_plan.bits
    return re.sub(r"[^A-Za-z0-9._-]+", "-", "-".join(words)) + f".{context.machine.ending}"


def _planes(program_plan: ProgramPlan, later: Sequence[ProgramPlan], context: SetupContext) -> bool:
    """Whether a plan takes the top down to the finished face, not only nearer to it; `later` come after it."""
    planing = [o for o in program_plan.operations if isinstance(o, Raster) and o.floor <= context.face]
    return any(all(o is not other for b in later for other in b.operations) for o in planing)


def _chosen(history: History, changes: Changes) -> tuple[list[Toolpath], list[Toolpath], Changes]:
    """(as if cut, to write, the changes with the whole name of the piece that the set begins with).

    What somebody asks for by name is to be cut, though it may have been before: it is made from what is known now.
    """
    if changes.only is None and changes.start is None:
        return [], _moved(history, history.plans), changes
    before, _, _ = _divided(history, history.plans, changes)
    _, keep, changes = _divided(history, history.design.plans, changes)
    return before, keep, changes


def _divided(
    history: History, plans: Sequence[ProgramPlan], changes: Changes
) -> tuple[list[Toolpath], list[Toolpath], Changes]:
    """The plans before what is asked for by name, and from there on or that alone. Raises JobError for no such name."""
    try:
        before, keep = chosen(plans, changes.only, changes.start)
    except KeyError as error:
        if changes.only is None and changes.start is not None:
            first, rest, name = begun(_moved(history, plans), history.design.contexts, changes.start)
            return first, rest, replace(changes, start=name)
        hint = f"the job has {error.args[0]}"
        problem = Problem("command line", 0, 0, "--only", f"no feature is called `{changes.only}`", hint)
        raise JobError([problem]) from None
    return _moved(history, before), _moved(history, keep), changes
