"""What errors of the machine do to the frets, in words."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import MM_PER_INCH, Units, show, show_fine
from toolpaths.instrument.fans import fret_x, scale_at
from toolpaths.instrument.frets import cents_off, fret_distance
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Stroke

FRETTED = frozenset({CutKind.line, CutKind.fret_slot})
"""What puts frets in their places."""
_ERROR = 2e-4
"""0.1 mm in 500 mm: a small table router that was set up with a rule is seldom better. Common practice, no source."""
EXAMPLE_SCALE, EXAMPLE_FRET, EXAMPLE_WAY = 650.0, 12, {"mm": 300.0, "in": 12 * MM_PER_INCH}
"""The instrument by which a machine's errors are shown where there is no job, and a way along it, mm."""


def trueness(job: Job, machine: Machine, name: str) -> tuple[str, ...]:
    """Sentences for a job that places frets; none for another. `name`: of the machine, for a command.

    A scale error moves a fret in proportion to its distance from the nut; the bridge is placed by hand, truly.
    """
    if not any(f.cuts & FRETTED for setup in job.setups for f in setup.features):
        return ()
    fret, units = min(12, job.instrument.frets), job.units
    scale, place = scale_at(job.instrument, fret, 0.0), fret_x(job.instrument, fret)
    measured = machine.measured
    out: list[str] = []
    if measured is None or measured.x is None:
        error = place * _ERROR
        out.append(
            f"The X axis has not been calibrated. An error of {_usual_error(units)} would move fret {fret} by "
            f"{show_fine(error, units)}, {cents_off(scale, fret, error):.1f} cents: "
            f"`neckpath gauge {name}` measures it."
        )
    else:
        error = place * _off(measured.x)
        out.append(f"{_corrected('X', measured.x, units)}. {_uncorrected(fret, error, scale, units)}.")
    if measured is not None and measured.backlash is not None and measured.backlash.x:
        play = measured.backlash.x
        out.append(_backlash(play, f"{cents_off(scale, fret, play):.1f} cents at fret {fret}", units))
    return tuple(out)


def machine_trueness(machine: Machine, given: str) -> Iterator[str]:
    """Sentences on what a machine's axes do to the work, by the example of one scale. `given`: its name or its file."""
    units, measured = machine.units, machine.measured
    fret, scale, way = EXAMPLE_FRET, EXAMPLE_SCALE, EXAMPLE_WAY[units]
    place = fret_distance(scale, fret)
    example = f"on a scale of {show(scale, units)}, taken as an example,"
    if measured is None or measured.x is None:
        error = place * _ERROR
        yield (
            f"The X axis has not been calibrated. An error of {_usual_error(units)} is "
            f"{show_fine(way * _ERROR, units)} at {show(way, units)}; {example} "
            f"it would move fret {fret} by {show_fine(error, units)}, "
            f"{cents_off(scale, fret, error):.1f} cents: `neckpath gauge {given}` measures it."
        )
    else:
        off = _off(measured.x)
        words = _uncorrected(fret, place * off, scale, units)
        yield (
            f"{_corrected('X', measured.x, units)}. Over {show(way, units)} that is "
            f"{show_fine(abs(way * off), units)}, which the programs correct. {words}, {example.removesuffix(',')}."
        )
    if measured is None:
        return
    for axis, stroke, length, what in (("Y", measured.y, 50.0, "a width"), ("Z", measured.z, 10.0, "a depth")):
        if stroke is not None:
            part = f"{show_fine(abs(length * _off(stroke)), units)} on {what} of {show(length, units)}"
            yield f"{_corrected(axis, stroke, units)}. That is {part}, which the programs correct."
    if measured.backlash is None:
        return
    if measured.backlash.x:
        play = measured.backlash.x
        yield _backlash(play, f"{cents_off(scale, fret, play):.1f} cents at fret {fret} of that scale", units)
    for name, by in (("X", measured.backlash.x), ("Y", measured.backlash.y)):
        if by:
            yield (
                f"Backlash in {name}, {show_fine(by, units)}: what is cut with {name} going there and back may come "
                "out narrower by this. No move makes up for it: measure the cut."
            )
    if measured.backlash.z:
        down = show_fine(measured.backlash.z, units)
        yield f"Backlash in Z, {down}: set Z by coming down onto the paper, never up to it."


def _usual_error(units: Units) -> str:
    return "0.004 in in 20 in" if units == "in" else "0.1 mm in 500 mm"


def _off(axis: Stroke) -> float:
    """How much too far an axis goes, uncorrected, in parts of its way."""
    return axis.measured / axis.commanded - 1


def _corrected(name: str, axis: Stroke, units: Units) -> str:
    return f"{name} is corrected: {show(axis.commanded, units)} was measured as {show(axis.measured, units)}"


def _uncorrected(fret: int, error: float, scale: float, units: Units) -> str:
    cents = cents_off(scale, fret, error)
    return (
        f"Uncorrected, fret {fret} would be {show_fine(abs(error), units)} too "
        f"{'far from' if error > 0 else 'near'} the nut, {abs(cents):.1f} cents {'sharp' if cents > 0 else 'flat'}"
    )


def _backlash(play: float, cents: str, units: Units) -> str:
    """For lines, which are all approached from the same side."""
    return (
        f"Backlash in X, {show_fine(play, units)}: the programs come to each line from lower X, so all lines are off "
        "by the "
        f"same amount. From both sides they would differ by {cents}. Come to X zero from lower X too."
    )
