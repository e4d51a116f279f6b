"""What errors of the machine do to the frets, in words."""

from __future__ import annotations

from toolpaths.common.units import show, show_fine
from toolpaths.instrument.fans import fret_x, scale_at
from toolpaths.instrument.frets import cents_off
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine

FRETTED = frozenset({CutKind.line, CutKind.fret_slot})
"""What puts frets in their places."""
_ERROR = 2e-4
"""0.1 mm in 500 mm: a small table router that was set up with a rule is seldom better. Common practice, no source."""


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
        way, off = (("500 mm", "0.1 mm"), ("20 in", "0.004 in"))[units == "in"]
        out.append(
            f"The X axis has not been calibrated. An error of {off} in {way} would move fret {fret} by "
            f"{show_fine(error, units)}, {cents_off(scale, fret, error):.1f} cents: "
            f"`neckpath gauge {name}` measures it."
        )
    else:
        error = place * (measured.x.measured / measured.x.commanded - 1)
        cents = cents_off(scale, fret, error)
        out.append(
            f"X is corrected: {show(measured.x.commanded, units)} was measured as "
            f"{show(measured.x.measured, units)}. Uncorrected, fret {fret} would stand "
            f"{show_fine(abs(error), units)} too {'far from' if error > 0 else 'near'} the nut, "
            f"{abs(cents):.1f} cents {'sharp' if cents > 0 else 'flat'}."
        )
    if measured is not None and measured.backlash is not None and measured.backlash.x:
        out.append(
            f"Backlash in X, {show(measured.backlash.x, units)}: lines are all approached from lower X, so it moves "
            "all of them alike; set the zero from lower X too."
        )
    return tuple(out)
