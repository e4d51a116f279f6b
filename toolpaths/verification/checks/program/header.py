"""Does the program say which job it belongs to, where it stands in the set, and how the work is to be set up?

A program cut from an older job, or out of its turn, looks like any other: its header is what tells. So do its words
by which a hand puts in a bit, lays the blank and sets the zero.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from toolpaths.common.units import show_fine
from toolpaths.gcode.program import BESIDE
from toolpaths.job.obstacles import Obstacle
from toolpaths.job.setup_context import SetupContext
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, line_of, same_name, surfaces_of

_CODE = "header"
_ROUNDING = 0.002
"""What a bit measures, and a Z to enter, has three digits in mm, four in inches: mm."""
_PLACED = {"mm": 0.0051, "in": 0.0128}
"""Half of the last digit of a length that is found with a rule, by the program's units: mm."""


class _Place(float):
    """A length that is found with a rule: two digits in mm, three in inches."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `header`."""
    found = [at_line(inputs, _CODE, message, line_of(inputs, words)) for message, words in _wrong(inputs)]
    return [*found, *_misleading(inputs)]


def _beside(inputs: CheckInput) -> str:
    """Where the words would be looked for, on a machine that takes no comments."""
    if inputs.machine.comments:
        return ""
    return f", and keep {inputs.program.name}{BESIDE} beside the program: its words stand there"


def _wrong(inputs: CheckInput) -> Iterator[tuple[str, str]]:
    """What is wrong with the program's place, and the words that say so; none where they are missing."""
    header, program = inputs.trace.header, inputs.program
    if header.job_hash is None:
        yield (
            f"the header does not say which job the program was written from; job {inputs.job_hash} was expected: "
            f"write the set again{_beside(inputs)}",
            "",
        )
    elif header.job_hash != inputs.job_hash:
        yield (
            f"the program was written from job {header.job_hash}, and the job now is {inputs.job_hash}: "
            "the job has been changed since, or this is another's program; write the set again",
            f"job {header.job_hash}",
        )
    wanted = f"program {program.number} of {program.count}"
    if header.number is None or header.count is None:
        yield f"the header does not say which program of the set this is; {wanted} was expected", ""
    elif (header.number, header.count) != (program.number, program.count):
        said = f"rogram {header.number} of {header.count}"
        yield f"the header says p{said}, and {wanted} was expected; cut out of its turn it would meet other wood", said
    if inputs.context.jig is not None and not any(told.what == "jig" for told in inputs.trace.told):
        jig = inputs.context.jig
        yield f"the header does not say which jig the work lies on; {jig.title}, job {jig.job_hash}, was expected", ""
    if header.setup is None:
        yield f"the header does not say which setup this is for; setup {program.setup} was expected", ""
    elif not same_name(header.setup, program.setup):
        said = f"setup {header.setup}"
        yield f"the header says {said}, and setup {program.setup} was expected; the blank would lie differently", said


def _misleading(inputs: CheckInput) -> Iterator[Finding]:
    """Sentences for the operator with another zero, blank, bit or height than the job's."""
    wanted, same = _wanted(inputs), partial(_same, placed=_PLACED[inputs.machine.units])
    for told in inputs.trace.told:
        meant = wanted.get(told.what, told.values)
        if len(meant) != len(told.values) or not all(map(same, meant, told.values)):
            said, job = (
                ", ".join(v if isinstance(v, str) else show_fine(v, inputs.job.units) for v in values)
                for values in (told.values, meant)
            )
            message = f"the words give the {told.what} as {said}, and in the job it is {job}; put the job's words back"
            yield at_line(inputs, _CODE, message, told.line)


def _wanted(inputs: CheckInput) -> dict[str, tuple[str | float, ...]]:
    """The values that each kind of sentence must give; lengths mm."""
    context = inputs.context
    zero, thick, (x0, y0, x1, y1) = context.setup.zero, context.stock.thickness, context.stock_box
    by = inputs.machine.correction[2]
    return {
        "zero": (zero.x, zero.y, zero.z, context.setup.offset),
        "stock": tuple(map(_Place, (x1 - x0, y1 - y0, *dict.fromkeys((thick.min, thick.max))))),
        "nut line": (_Place(context.setup.nut_at),),
        "centreline": (_Place(context.centre_at),),
        "jig": () if context.jig is None else (context.jig.job_hash,),
        **{f"place to keep clear of {n}": _place(context, it) for n, it in enumerate(context.obstacles, 1)},
        **{f"Z on the {name}": ((height - context.zero[2]) * by,) for name, height in surfaces_of(context).items()},
        **{
            f"bit {n}": (b.shape, b.cut_diameter, str(b.flutes), _Place(b.stickout))
            for n, (_, b) in inputs.bits.items()
        },
    }


def _place(context: SetupContext, it: Obstacle) -> tuple[float, ...]:
    """X from and to and Y from and to in the program's coordinates, and the height above the bed, mm."""
    (x0, y0, x1, y1), (zx, zy, _) = it.bounds, context.zero
    return tuple(map(_Place, (x0 - zx, x1 - zx, y0 - zy, y1 - zy, context.above_bed(it.top))))


def _same(meant: str | float, said: str | float, placed: float) -> bool:
    if isinstance(meant, str) or isinstance(said, str):
        return meant == said
    return abs(meant - said) <= (placed if isinstance(meant, _Place) else _ROUNDING)
