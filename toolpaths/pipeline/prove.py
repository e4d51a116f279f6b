"""Prove the text of programs: read it back, cut a simulated blank with it, compare and check.

read -> simulate -> judge -> outcome
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from toolpaths.common.background import BackgroundTask
from toolpaths.common.errors import ReadError
from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.read import read
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline.build import ProgramSet
from toolpaths.pipeline.judge import judge, settled
from toolpaths.pipeline.setup_report import handwork
from toolpaths.pipeline.workpiece import Workpiece
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.program import unreadable

Progress = Callable[[str, float], None]
"""Called with what is being done and the part done so far, 0 to 1."""


_WORTH_IT = 1_000_000
"""Cells of a map above which judging on another core saves time."""
_AT_ONCE = 8
"""How many programs may be judged at once."""


def prove(
    layout: ProgramSet,
    given: Mapping[int, Program] | None = None,
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Outcome:
    """The outcome of a set. `given` puts other texts in the place of programs (by index): only those are judged then.

    Every program is cut in the state that those before it truly leave. `meanwhile` is called once all are cut,
    while the last are still judged on other cores.
    """
    given = given or {}
    wood = Workpiece.of(layout)
    findings: list[Finding] = []
    judged: list[BackgroundTask[list[Finding]]] = []
    queue = list(_queue(layout, given))
    for step, (program_plan, program, own) in enumerate(queue):
        if progress:
            progress(f"cutting {program.name}", step / len(queue))
        try:
            written = read(program.text, program.beside)
        except ReadError as error:
            said = unreadable(error.problem, error.todo)
            findings.append(Finding.of("unreadable", said, program=program.name, program_line=error.line))
            break
        inputs = wood.cut(program_plan, program, written, layout.changes.air if own else 0.0)
        if own and layout.history.was_cut(program_plan) is None and (not given or program in given.values()):
            # While one program is judged, the next is cut: on another core, where the map is worth it.
            if inputs.after.heights.size > _WORTH_IT and not judged:
                import scipy.sparse.csgraph  # noqa: F401  once, before the first fork, and not anew in each
            judged.append(BackgroundTask(partial(judge, inputs), aside=inputs.after.heights.size > _WORTH_IT))
            if len(judged) > _AT_ONCE:
                judged[-1 - _AT_ONCE].result()
    # What does not hang on the findings is done while the last programs are still judged.
    setups = tuple(wood.reports())
    programs = tuple(wood.timed(given.get(i, p)) for i, (_, p) in enumerate(layout.own))
    by_hand = handwork(list(layout.contexts.values()), layout.target.demands, layout.changes.only)
    if meanwhile:
        meanwhile()
    findings = [f for one in judged for f in one.result()] + findings
    if progress:
        progress("reporting", 1.0)
    ranked, accepted = settled(findings, layout.changes.accept)
    loaded, history = layout.history.design.loaded, layout.history
    return Outcome(
        path=loaded.path,
        job=loaded.job,
        asked=layout.loaded.job,
        machine=loaded.machine,
        wood=loaded.wood,
        job_hash=loaded.job_hash,
        changes=layout.changes,
        programs=programs,
        setups=setups,
        findings=ranked,
        handwork=by_hand,
        accepted=accepted,
        marks=history.marks,
        found=history.values.value,
        corrections=history.followed,
        cut=frozenset(p.name for plan, p in layout.own if history.was_cut(plan) is not None),
    )


def _queue(layout: ProgramSet, given: Mapping[int, Program]) -> Iterator[tuple[ProgramPlan, Program, bool]]:
    """(plan, program, whether it belongs to the set) in cutting order, as far as there is something to judge."""
    for program_plan, program in layout.earlier:
        yield program_plan, program, False
    last = max(given, default=len(layout.own) - 1)
    for i, (program_plan, program) in enumerate(layout.own[: last + 1]):
        yield program_plan, given.get(i, program), True
