"""Numbers and names as people read them, the same in every report."""

from __future__ import annotations

import math
import re
import unicodedata

from toolpaths.common.units import MM_PER_INCH, Units, show, size
from toolpaths.instrument.fans import fret_line, nut_front
from toolpaths.job.bit import Bit
from toolpaths.job.job import Fan, Instrument
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome, SetupReport


def plain(text: object, limit: int = 200) -> str:
    """Text on one line, without control or direction marks, cut to `limit` characters."""
    kept = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in str(text))
    kept = " ".join(kept.split())
    return kept if len(kept) <= limit else kept[: limit - 1] + "…"


def file_part(text: str) -> str:
    """A part of a file name: letters, digits and `._=-@` only, never empty, never hidden, at most 60 long."""
    kept = re.sub(r"[^\w.=@-]+", "-", text).strip("-.")
    return kept[:60].rstrip("-.") or "job"


def scale_words(instrument: Instrument, units: Units) -> str:
    """The scale length, or both of a fanned board and the fret that stands square."""
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        return show(fan, units)
    square = f"fret {fan.square_fret:g}" if fan.square_fret else "the nut"
    return f"{show(fan.bass, units)} (bass) to {show(fan.treble, units)} (treble), {square} square"


def nut_words(instrument: Instrument, units: Units) -> list[str]:
    """Sentences about a fan's lean, a zero fret and a nut that stands nearer to fret 1; none for a plain nut."""
    out: list[str] = []
    if isinstance(instrument.scale_length, Fan):
        nut, last = fret_line(instrument, 0).angle, fret_line(instrument, instrument.frets).angle
        out.append(
            f"Fanned frets, scale {scale_words(instrument, units)}, measured along the neck at the outer strings. "
            f"Angles from square: the nut {_leaning(nut)}; fret {instrument.frets} {_leaning(last)}."
        )
    front = nut_front(instrument).x
    if instrument.zero_fret:
        out.append(f"A zero fret is at the nut line. The nut's front is {show(-front, units)} behind it.")
    elif front:
        out.append(
            f"The nut's front is {show(front, units)} nearer to fret 1 than the nut line. The frets are measured "
            "from the "
            "nut line and stay in their places."
        )
    return out


def _leaning(angle: float) -> str:
    """`5.43 degrees, its bass end nearer to the headstock`."""
    if abs(angle) < 0.005:
        return "0.00 degrees"
    end = "bass" if angle > 0 else "treble"
    return f"{abs(angle):.2f} degrees, its {end} end nearer to the headstock"


def bit_words(bit: Bit, units: Units) -> str:
    """A bit as one asks for it: `flat 0.6 mm`, `vee 6.35 mm, 60 degrees`, `bull 12.7 mm, corner radius 3.175 mm`."""
    detail = bit.detail(lambda mm: size(mm, units))
    return f"{bit.shape} {size(bit.cut_diameter, units)}" + (f", {detail}" if detail else "")


def minutes(value: float) -> str:
    """A time, as finely as an estimate is worth: `35 s`, `4.2 min`, `18 min`, `1 h 05 min`."""
    if round(value * 60) < 60:
        return f"{round(value * 60)} s"
    if round(value, 1) < 10:
        return f"{value:.1f} min"
    whole = round(value)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60:02d} min"


def signed(mm: float, units: Units) -> str:
    """A coordinate with its sign where it has one: `-1.60 mm`; never `-0.00`."""
    digits = 3 if units == "in" else 2
    value = round(mm / MM_PER_INCH if units == "in" else mm, digits) + 0.0
    return f"{value:.{digits}f} {units}"


def figure(mm: float, units: Units, digits: int | None = None) -> str:
    """A length without its unit, which stands in the header: 2 digits of mm, 3 of inches by default."""
    return bare(show(mm, units, digits))


def bare(shown: str) -> str:
    """A figure without its unit."""
    return shown.split()[0]


def span(least: float, most: float, units: Units) -> str:
    """`7.80 mm to 8.10 mm`, or one length where both read the same."""
    low, high = show(least, units), show(most, units)
    return high if low == high else f"{low} to {high}"


def the(surface: str) -> str:
    """A surface with its article."""
    return surface if surface.startswith("the ") else f"the {surface}"


def count(number: int, noun: str) -> str:
    """`1 program`, `4 programs`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def places(finding: Finding, outcome: Outcome, job: str = "") -> str:
    """Places of a finding: `tenor.yaml:34, 02-face-scorer.ngc:120, x 12.30, y -4.00 mm`; may be empty.

    `job`: the job's file as it is written there; its name by default.
    """
    said: list[str] = []
    if finding.job_line:
        said.append(f"{job or plain(outcome.path.name)}:{finding.job_line}")
    if finding.program:
        program = plain(finding.program)
        said.append(f"{program}:{finding.program_line}" if finding.program_line else program)
    if finding.x is not None and finding.y is not None and math.isfinite(finding.x + finding.y):
        units = outcome.job.units
        said.append(f"x {bare(signed(finding.x, units))}, y {signed(finding.y, units)}")
    return ", ".join(said)


def finding_line(finding: Finding, outcome: Outcome, job: str = "") -> str:
    """A finding on one line: its code, whose it is, what is wrong, where, what to do, the value and its limit.

    `job`: the job's file as it is written there; its name by default.
    """
    of = f" of {finding.feature}" if finding.feature else ""
    where = places(finding, outcome, job)
    return plain(f"{finding.code}{of}: {finding.said.with_places(where)}.", 2000)


def origin_of(setup: SetupReport) -> str:
    """Where a setup's x counts from, in words."""
    context = setup.context
    return "nut" if not context.apart else "left end" if context.setup.stand is None else "edge's corner at the nut"


def zero_words(setup: SetupReport) -> str:
    """Where the program's zero lies, in one sentence."""
    zero = setup.context.setup.zero
    nut = "X at the upper edge's corner at the nut"
    if not setup.context.apart:
        nut = _nut_zero(setup.context.job.instrument, setup.context.job.units)
    x = {"nut": nut, "stock end": "X at the stock's left end", "jig": "X at the jig's nut line"}[zero.x]
    y = {
        "centreline": "Y on the centreline",
        "stock edge": "Y at the stock's edge on the operator's side",
        "jig": "Y on the jig's centreline",
    }[zero.y]
    z = {
        "bed": "Z on the bed",
        "stock top": "Z on the stock's top, its highest point before planing",
        "jig seat": "Z on the jig's seat, which the blank lies on",
    }[zero.z]
    return f"{x}, {y}, {z}"


def _nut_zero(instrument: Instrument, units: Units) -> str:
    """The nut's front is the nut line, unless the instrument moves it, and on a fanned board it leans."""
    front, fanned = nut_front(instrument), isinstance(instrument.scale_length, Fan)
    if not fanned and not front.x:
        return "X at the front of the nut"
    where = "X at the nut line where it crosses the centreline" if fanned else "X at the nut line"
    side = "behind" if front.x > 0 else "in front of"
    return where + (f" ({show(abs(front.x), units)} {side} the nut's front)" if front.x else "")


def weight(outcome: Outcome) -> str:
    """Severity that marks the verdict: `stop`, `warn` or nothing."""
    return "stop" if outcome.stopped else "warn" if any(f.severity == "warn" for f in outcome.findings) else ""


def verdict(outcome: Outcome) -> str:
    """The whole run in one sentence."""
    stops, warns, notes = (sum(f.severity == weight for f in outcome.findings) for weight in Severity)
    if stops:
        return f"Stopped: {count(stops, 'finding')} that must not be cut, {count(warns, 'warning')}."
    if outcome.programs and len(outcome.cut) == len(outcome.programs):
        return "Every program is cut already; none was checked again."
    if warns:
        return f"May be cut; {count(warns, 'warning')} to read first."
    return f"May be cut; no warnings, {count(notes, 'note')}." if notes else "May be cut; no findings."
