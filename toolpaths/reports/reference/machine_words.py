"""What a machine file means, in words, and a sample of the text that such a machine gets."""

from __future__ import annotations

import math
from itertools import dropwhile

from toolpaths.common.units import show, size
from toolpaths.features.kinds.plane import Plane
from toolpaths.gcode.program import BESIDE, Heading, Program
from toolpaths.gcode.writer.write import touch_off, write
from toolpaths.instrument.woods import WOODS
from toolpaths.job.bits.flat import Flat
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.operations.machine_stiffness import YIELD, stiffness_of
from toolpaths.operations.operation import Clear, Cutting, ProgramPlan
from toolpaths.reports.text.tables import Table, axes_words
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath

MOST_LINES = 28
"""A longer sample is cut short in its middle."""
_TAIL = 6
_HUMP = (-1.56, 0.0, 1.56, 3.12)


def machine_table(name: str, machine: Machine) -> Table:
    """What each part of a machine file means."""
    m, units = machine, machine.units
    bits = "changed by hand: one program a bit, " + ("named by T" if m.t_word else "named in words, without T")
    if m.tool_change == "automatic":
        bits = "changed by the machine: one program a setup, T and M6, then a pause (M0) to see to the bit's length"
        holds = ", ".join(f"{bit} in {pocket}" for bit, pocket in m.pockets.items())
        bits += f". T is the number of a pocket: {holds}" if holds else ". T numbers count in the order of use"
    curves = {
        "none": f"no arcs: straight cuts within {show(m.chord_tolerance, units, 4)}",
        "xy": "level ones are arcs (G2, G3), all others straight cuts",
        "all planes": "arcs (G2, G3), level and upright (G17, G18, G19)",
    }
    computes = "in single precision, about 7 digits in all" if m.precision == "single" else "in double precision"
    numbered = "numbered N10, N20 and so on" if m.line_numbers else "without numbers"
    percent = ", between two lines of %" if m.percent_lines else ""
    beside = f"no comments: a file of words beside each, ending in {BESIDE}"
    collet = (
        f"nut {show(m.collet.nut_diameter, units)} wide, {show(m.collet.nut_height, units)} high; "
        f"above it {show(m.collet.holder_diameter, units)} wide"
    )
    heights = (
        f"travels {show(m.safe_height, units)} above stock and clamps; "
        f"cuts at most {show(m.bed_allowance, units)} into the bed"
    )
    rows = [
        ("travel", axes_words(m.travel, m)),
        ("fastest moves", f"{axes_words(m.rapid, m)} a minute; cutting {axes_words(m.feed_limit, m)}"),
        ("acceleration", f"{axes_words(m.acceleration, m)}/s²"),
        *([] if m.measured is None else [("measured", _measured(m))]),
        ("spindle", _spindle(m)),
        ("bits", bits),
        ("runout", f"{show(m.runout, units, 4)} at the shank"),
        ("stiffness", _stiffness(m)),
        ("collet", collet),
        (
            "numbers",
            f"{units} ({'G21' if units == 'mm' else 'G20'}), {m.decimals} digits behind the point; "
            f"the controller computes {computes}",
        ),
        ("curves", curves[m.arcs]),
        ("lines", f"at most {m.line_length} characters, {numbered}{percent}"),
        ("words", "comments in the program" if m.comments else beside),
        ("offsets", _offsets(m)),
        ("heights", heights),
        ("waits at", f"x {show(m.park.x, units)}, y {show(m.park.y, units)}, from nut line and centreline, at the end"),
        ("files", f"end in .{m.ending}"),
    ]
    title = f"{name}: {m.name}" + (f". {m.description}" if m.description else "")
    return Table(title, ("what", "means"), tuple(rows))


def sample(machine: Machine) -> list[str]:
    """Some 20 lines of the program that a few moves become: down, along, around a corner, over a hump, up.

    The comments before the first line that commands something are left out.
    """
    commands = dropwhile(lambda line: line.startswith(("(", "%")), _sample(machine).text.splitlines())
    shown = [*(["%"] if machine.percent_lines else []), *commands]
    if len(shown) > MOST_LINES:
        head = MOST_LINES - _TAIL - 1
        shown = [*shown[:head], f"... {len(shown) - head - _TAIL} lines more ...", *shown[-_TAIL:]]
    return shown


def sample_words(machine: Machine) -> list[str]:
    """The text beside the sample program, where the machine takes no comments; else empty."""
    beside = _sample(machine).beside.splitlines()
    return [f"beside it, in sample.{machine.ending}{BESIDE}:", *beside[-_TAIL:]] if beside else []


# Private


def _measured(m: Machine) -> str:
    factors = [f"{axis} x {by:.6f}" for axis, by in zip("XYZ", m.correction, strict=True) if by != 1.0]
    if m.lean:
        factors.append(f"Y leans {1000 * m.lean:+.2f} in 1000 toward higher X")
    return f"programs are corrected: {', '.join(factors)}" if factors else "true in every axis that was measured"


def _stiffness(m: Machine) -> str:
    """The figure, and what becomes of a pass that asks too much of it."""
    frame = stiffness_of(m)
    force = frame.value * YIELD
    return (
        f"{frame.words}; a pass that would push it aside by over {size(YIELD, m.units)} ({force:.0f} N) is made "
        "shallower"
    )


def _spindle(m: Machine) -> str:
    s = m.spindle
    turns = f"{s.min_rpm} to {s.max_rpm} rpm" if s.min_rpm < s.max_rpm else f"{s.max_rpm} rpm"
    dial = ", ".join(f"{mark} is {rpm}" for mark, rpm in s.dial.items())
    how = {
        "program": "S and M3 in the program set it",
        "relay": "M3 and M5 switch it, a hand turns its dial in a pause (M0)" if dial else "M3 and M5 switch it",
        "hand": "a hand switches it in a pause (M0)" + (" and turns its dial" if dial else ""),
    }[s.set_by]
    wait = s.spin_up * (1000 if m.dwell == "milliseconds" else 1)
    dialled = f"; dial {dial}" if dial else ""
    return f"{turns}; {how}{dialled}; {s.spin_up:g} s to get up to speed, G4 P{wait:g} in {m.dwell}"


def _offsets(m: Machine) -> str:
    known = [f"{name} at {', '.join(show(v, m.units) for v in zero)}" for name, zero in m.offsets.items() if zero]
    rest = [name for name, zero in m.offsets.items() if zero is None]
    return "; ".join([*known, *([f"{', '.join(rest)}, machine coordinates unknown"] if rest else [])])


def _sample(machine: Machine) -> Program:
    context = _context(machine)
    feed, down = min(800.0, machine.feed_limit.x, machine.feed_limit.y), min(200.0, machine.feed_limit.z)
    rpm = float(max([r for r in machine.spindle.dial.values() if r <= 18000], default=0))
    rpm = rpm or float(min(max(18000, machine.spindle.min_rpm), machine.spindle.max_rpm))
    top, floor = context.face, context.face - 1.0
    # A low hump along X, an arc of radius 100 from x 40.88 to 47.12.
    hump = [Feed(44 + d, 2.0, floor + math.sqrt(1e4 - d * d) - math.sqrt(1e4 - 3.12**2), feed) for d in _HUMP]
    steps: tuple[Step, ...] = (
        Rapid(10.0, 0.0, context.travel_height),
        Feed(10.0, 0.0, top + 0.5, min(feed, machine.feed_limit.z)),
        Feed(10.0, 0.0, floor, down),
        Feed(38.88, 0.0, floor, feed),
        Arc(40.88, 2.0, floor, 38.88, 2.0, True, feed),
        *hump,
        Feed(60.0, 2.0, floor, feed),
        Rapid(60.0, 2.0, context.travel_height),
    )
    cutting = Cutting(rpm, feed, down, feed, 1.0, 0.4, 0.2, "conventional", "climb", 3.0)
    operation = Clear("sample", 1, "six", cutting, "sample", top, floor, ())
    path = Toolpath(
        ProgramPlan(context.setup.name, (operation,)), (Section("sample", "six", "a few moves", steps, rpm),)
    )
    heading = Heading("", "0", f"sample.{machine.ending}", 1, 1, {"six": 1}, touch_off(context, False))
    return write(path, context, heading)


def _context(machine: Machine) -> SetupContext:
    """A small blank of maple on the machine's bed."""
    blank, board = {"length": 80, "width": 40, "thickness": 6}, {"width": {"nut": 30, "end": 30}, "overhang": 4}
    setup = {
        "name": "sample",
        "offset": next(iter(machine.offsets)),
        # Zero where the machine file counts the parking place from.
        "zero": {"x": "nut", "y": "centreline", "z": "bed"},
        "nut_at": 0,
        "features": [Plane(bit="six", leave=6).placed("plane", 1)],
    }
    keys = {
        "title": "Sample",
        "units": "mm",
        "machine": machine.name,
        "wood": "hard maple",
        "instrument": {"scale_length": 100, "frets": 1, "board": {**board, "thickness": 6}},
        "stock": blank,
        "bits": {"six": Flat(shape="flat", diameter=6, flutes=2, cutting_length=20, shank=6, stickout=25)},
        "setups": [setup],
    }
    job = Job.model_validate(keys, context={"units": "mm"})
    return setup_context_of(job, machine, WOODS["hard maple"], job.setups[0])
