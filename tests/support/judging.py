"""A changed program of a set, judged as `verify` judges it, without laying out and cutting again what did not change.

`tests/tamper/test_faults.py` sets this beside `verify` itself.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

from tests.support.made import laid_out, made
from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import ProgramSet
from toolpaths.pipeline.judge import judge, settled
from toolpaths.pipeline.run import _place
from toolpaths.pipeline.workpiece import Workpiece
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.program import unreadable


def judged(path: Path, index: int, text: str, changes: Changes | None = None) -> tuple[Finding, ...]:
    """What is found in a set of a job of this repository whose program `index` has become another text."""
    changes = changes or Changes()
    layout = laid_out(path, changes)
    own = [program for _, program in layout.own]
    beside = "" if layout.loaded.machine.comments else own[index].beside
    # Its header says which program it is.
    place = _place(layout, own[index].name, text, beside)
    batch, _ = layout.own[place]
    program = replace(own[place], name=own[index].name, text=text, beside=beside)
    try:
        written = read(text, beside)
    except ReadError as error:
        said = unreadable(error.problem, error.todo)
        found = [
            Finding.of(
                "unreadable",
                said,
                program=program.name,
                program_line=error.line,
            )
        ]
    else:
        wood = _before(path.resolve(), changes)[place].taken()
        found = judge(wood.cut(batch, program, written, changes.air))
    return settled(found, changes.accept)[0]


def judged_outcome(path: Path, index: int, text: str, changes: Changes | None = None) -> Outcome:
    """The same as an outcome, whose wood is that of the set as it was made."""
    whole = made(path, changes)
    programs = list(whole.programs)
    programs[index] = replace(programs[index], text=text)
    return replace(whole, programs=tuple(programs), findings=judged(path, index, text, changes), accepted=())


@dataclass(frozen=True)
class _Moment:
    """The wood before a program, of which any number of copies may be cut further."""

    wood: Workpiece

    def taken(self) -> Workpiece:
        return _copy(self.wood)


@cache
def _before(path: Path, changes: Changes) -> tuple[_Moment, ...]:
    layout: ProgramSet = laid_out(path, changes)
    wood, out = Workpiece.of(layout), []
    for batch, program in layout.earlier:
        wood.cut(batch, program, read(program.text, program.beside), 0.0)
    for batch, program in layout.own:
        out.append(_Moment(_copy(wood)))
        wood.cut(batch, program, read(program.text, program.beside), changes.air)
    return tuple(out)


def _copy(wood: Workpiece) -> Workpiece:
    """Apart from the first in all that a cut changes: its lists and tables, its sides, their bounds and probes."""
    other = replace(wood, **{f.name: _apart(getattr(wood, f.name)) for f in fields(wood)})
    for name, side in wood.sides.items():
        ledger = object.__new__(type(side.ledger))
        for slot in type(side.ledger).__slots__:
            value = getattr(side.ledger, slot)
            setattr(ledger, slot, value.copy() if hasattr(value, "copy") else value)
        other.sides[name] = replace(side, ledger=ledger, bounded=_apart(side.bounded))
    return other


def _apart(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _apart(v) for k, v in value.items()}
    return list(value) if isinstance(value, list) else value
