"""The number by which programs call each bit: its pocket in the changer, else its place in the order of use."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.features.lined_feature import CAREFUL
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline.design import problem_of


def bit_numbers(loaded: LoadedJob, plans: Sequence[ProgramPlan], changes: Changes) -> dict[str, int]:
    """The number of every bit that the plans use, by name.

    Raises JobError for every bit that has no pocket, where the machine file says what its pockets hold.
    """
    names = list(dict.fromkeys(name for plan in plans for name in plan.bits))
    pockets = loaded.machine.pockets
    if not pockets:
        return {name: number for number, name in enumerate(names, 1)}
    problems = [*_exchanged(loaded, changes), *_without_pocket(loaded, plans)]
    if problems:
        raise JobError(problems)
    return {name: pockets[name] for name in names}


# Private


def _exchanged(loaded: LoadedJob, changes: Changes) -> Iterator[Problem]:
    """Bits that the command line exchanges: the pocket would still hold the bit that the machine file names."""
    for name, value in changes.bits:
        if name in loaded.machine.pockets and (value.strip() != CAREFUL or CAREFUL in loaded.job.bits):
            words = f"pocket {loaded.machine.pockets[name]} of {loaded.machine.name} holds {name}, and no other bit"
            hint = (
                "name the other bit in the job's feature and in `pockets`; only to compare bits, use a copy of "
                "the machine "
                "file without `pockets`"
            )
            yield Problem("command line", 0, 0, f"--bit {name[:40]}={value[:40]}", words, hint)


def _without_pocket(loaded: LoadedJob, plans: Sequence[ProgramPlan]) -> Iterator[Problem]:
    """A problem for each bit without a pocket, at the first feature that uses it."""
    machine = loaded.machine
    told: set[str] = set()
    for operation in (one for plan in plans for one in plan.operations):
        bit = operation.bit
        if bit in machine.pockets or bit in told:
            continue
        told.add(bit)
        others = ", ".join(machine.pockets)
        hint = f"add it to `pockets` in the machine file, such as `{bit}: {_free(machine.pockets.values())}`; "
        error = FeatureError(f"no pocket of {machine.name} holds {bit}", f"{hint}in pockets now: {others}", "bit")
        yield problem_of(loaded, operation.job_line, operation.feature, error)


def _free(taken: Collection[int]) -> int:
    """The lowest number of a pocket that no bit has."""
    return next(number for number in range(1, len(taken) + 2) if number not in taken)
