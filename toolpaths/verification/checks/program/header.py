"""Does the program say which job it belongs to, where it stands in the set, and how the work is to be set up?

A program cut from an older job, or out of its turn, looks like any other: its header is what tells. So do its words
by which a hand puts in a bit, lays the blank and sets the zero.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from toolpaths.gcode.program import BESIDE
from toolpaths.job.obstacles import Obstacle
from toolpaths.job.setup_context import SetupContext
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, line_of, same_name, surfaces_of
from toolpaths.verification.wording import program as wording
from toolpaths.verification.wording.message import Message

_CODE = "header"
_ROUNDING = 0.002
"""What a bit measures, and a Z to enter, has three digits in mm, four in inches: mm."""
_PLACED = {"mm": 0.0051, "in": 0.0128}
"""Half of the last digit of a length that is found with a rule, by the program's units: mm."""


class _Place(float):
    """A length that is found with a rule: two digits in mm, three in inches."""


_SHOWN = 2
"""Values of one comment that are shown, of those that differ."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `header`."""
    found = [at_line(inputs, _CODE, said, line_of(inputs, words)) for said, words in _wrong(inputs)]
    return [*found, *_misleading(inputs)]


def _wrong(inputs: CheckInput) -> Iterator[tuple[Message, str]]:
    """What is wrong with the program's place, and the words that say so; none where they are missing."""
    header, program, job = inputs.trace.header, inputs.program, inputs.job_hash
    if header.job_hash is None:
        # On a machine that takes no comments the words lie in a file beside the program.
        yield wording.no_job_named(job, "" if inputs.machine.comments else f"{program.name}{BESIDE}"), ""
    elif header.job_hash != job:
        yield wording.other_job(header.job_hash, job), f"job {header.job_hash}"
    wanted = f"program {program.number} of {program.count}"
    if header.number is None or header.count is None:
        yield wording.no_number(wanted), ""
    elif (header.number, header.count) != (program.number, program.count):
        place = f"rogram {header.number} of {header.count}"
        yield wording.other_number(f"p{place}", wanted), place
    if inputs.context.jig is not None and not any(told.what == "jig" for told in inputs.trace.told):
        yield wording.no_jig_named(inputs.context.jig.job_hash), ""
    lie = None if inputs.on_bed else inputs.context.lie
    if lie is not None and not any(told.what == "place" for told in inputs.trace.told):
        yield wording.no_place_named(lie.name, lie.shift, units=inputs.job.units), ""
    if header.setup is None:
        yield wording.no_setup_named(program.setup), ""
    elif not same_name(header.setup, program.setup):
        yield wording.other_setup(header.setup, program.setup), f"setup {header.setup}"


def _misleading(inputs: CheckInput) -> Iterator[Finding]:
    """Sentences for the operator with another zero, blank, bit or height than the job's."""
    wanted, same = _wanted(inputs), partial(_same, placed=_PLACED[inputs.machine.units])
    for told in inputs.trace.told:
        meant = wanted.get(told.what, told.values)
        apart = [k for k, both in enumerate(zip(meant, told.values, strict=False)) if not same(*both)]
        if len(meant) != len(told.values) or apart:
            # Of many values the first two that differ say enough.
            shown = apart[:_SHOWN] if len(meant) == len(told.values) else range(len(meant) + len(told.values))
            said, job = ([values[k] for k in shown if k < len(values)] for values in (told.values, meant))
            yield at_line(inputs, _CODE, wording.misleading(told.what, said, job, inputs.job.units), told.line)


def _wanted(inputs: CheckInput) -> dict[str, tuple[str | float, ...]]:
    """The values that each kind of sentence must give; lengths mm."""
    context, lie = inputs.context, None if inputs.on_bed else inputs.context.lie
    zero, thick, (x0, y0, x1, y1) = context.setup.zero, context.stock.thickness, context.stock_box
    by = inputs.machine.correction[2]
    return {
        "zero": (zero.x, zero.y, zero.z, context.setup.offset),
        "stock": tuple(map(_Place, (x1 - x0, y1 - y0, *dict.fromkeys((thick.min, thick.max))))),
        "nut line": (_Place(context.setup.nut_at),),
        "centreline": (_Place(context.centre_at),),
        "place": () if lie is None else (str(lie.number), str(lie.count), lie.name, _Place(lie.shift)),
        "jig": () if context.jig is None else (context.jig.job_hash,),
        **{f"place to keep clear of {n}": _place(context, it) for n, it in enumerate(context.obstacles, 1)},
        **{f"Z on the {name}": ((height - context.zero[2]) * by,) for name, height in surfaces_of(context).items()},
        **{f"pocket of {name}": (str(n),) for name, n in inputs.machine.pockets.items()},
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
