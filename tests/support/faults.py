"""Faults put into the text of good programs, each with a near miss that must pass. The job is `cases/short_board.yaml`.

In its programs X counts from the stock's end (18 mm left of the nut), Y from the stock's edge (34 mm from the
centreline), Z from the blank's unplaned top (6.2 mm above the bed): the planed face is Z -1.2, the bed Z -6.2.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from toolpaths.operations.operation import Cutting
from toolpaths.verification.outcome import Outcome

JOB = Path(__file__).parents[1] / "cases" / "short_board.yaml"
PITCH = 1.0
PLANER, SCORER, THREE, SIX = 1, 2, 3, 4
"""Numbers of the programs in the set, and of the bits in the job."""

Edit = Callable[[str, Outcome], str]


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault in one program: the code that must tell it, an edit that must be told, and one that must not."""

    name: str
    code: str
    program: int
    bad: Edit
    near: Edit


def added(*lines: str) -> Edit:
    """Moves added after all others, before the spindle stops. What stands in braces is taken from `values`."""

    def edit(text: str, outcome: Outcome) -> str:
        assert text.count("\nM5\n") == 1
        block = "\n".join(lines).format(**values(text, outcome))
        return text.replace("\nM5\n", f"\n{block}\nG0 Z7.8\nM5\n")

    return edit


def swapped(old: str, new: str, count: int = 0, section: str = "") -> Edit:
    """A pattern replaced, everywhere or so many times, in the whole text or in the section of those words."""

    def edit(text: str, outcome: Outcome) -> str:
        head, part, tail = "", text, ""
        if section:
            begin = text.index(section)
            end = text.find("\n(", begin)
            head, part, tail = text[:begin], text[begin:end], text[end:]
        changed, number = re.subn(old, new.format(**values(text, outcome)), part, count=count, flags=re.MULTILINE)
        assert number, f"nothing in the text fits {old!r}"
        return head + changed + tail

    return edit


def moved(axis: str, by: float, section: str) -> Edit:
    """A word of an axis moved by so much throughout a section."""

    def edit(text: str, outcome: Outcome) -> str:
        begin = text.index(section)
        end = text.find("\n(", begin)
        part = re.sub(rf"{axis}(-?[\d.]+)", lambda m: f"{axis}{float(m[1]) + by:.3f}", text[begin + len(section) : end])
        return text[: begin + len(section)] + part + text[end:]

    return edit


def values(text: str, outcome: Outcome) -> dict[str, float]:
    """Numbers of the program's last feature, and the least X of its motion."""
    cutting = cutting_of(text, outcome)
    least = re.search(r"\(Motion: X (-?[\d.]+) to", text)
    assert least is not None
    return {
        "plunge": cutting.plunge,
        "feed": cutting.feed,
        "rpm": cutting.rpm,
        "twice_plunge": 2.05 * cutting.plunge,
        "pass_z": -1.2 - cutting.pass_depth,
        "twice_z": -1.2 - 2.05 * cutting.pass_depth,
        "far": float(least[1]) + 799.99,
        "too_far": float(least[1]) + 800.01,
    }


def cutting_of(text: str, outcome: Outcome) -> Cutting:
    """How the last feature of a program is cut."""
    names = re.findall(r"\(Feature (\w+):", text)
    return next(f.cutting for s in outcome.setups for f in s.features if f.name == names[-1])


FAULTS = (
    Fault("a stab of the face between two frets", "gouge", SIX,
          added("G0 X63 Y34", "G1 Z-1.25 F{plunge:g}"), added("G0 X63 Y34", "G1 Z-1.209 F{plunge:g}")),
    Fault("a line not cut to its depth", "uncut", SCORER,
          swapped(r"Z-1\.6\b", "Z-1.5", section="fret 3,"), swapped(r"Z-1\.6\b", "Z-1.585", section="fret 3,")),
    Fault("a rapid down into the face", "rapid-in-wood", SIX,
          added("G0 X63 Y34", "G0 Z-1.3"), added("G0 X63 Y34", "G0 Z-1.2")),
    Fault("a low rapid across the blank", "safe-height", SIX,
          added("G0 X63 Y34", "G0 Z0.9", "G0 X30"), added("G0 X63 Y34", "G0 Z1", "G0 X30")),
    Fault("sideways before the height is known", "safe-height", SIX,
          swapped(r"^G0 Z7\.8$", "G0 X0 Y0\nG0 Z7.8", count=1), swapped(r"^G0 Z7\.8$", "G0 Z7.8\nG0 X0 Y0", count=1)),
    Fault("a brush against the fence", "keep-out", SIX,
          added("G0 X63 Y-12", "G0 Z2", "G0 Y-18.01"), added("G0 X63 Y-12", "G0 Z2", "G0 Y-18")),
    Fault("out of the machine's reach", "travel", SIX,
          added("G0 X{too_far:.3f}"), added("G0 X{far:.3f}")),
    Fault("the scorer's shank down to the face", "shank-in-wood", SCORER,
          added("G0 X63 Y34", "G1 Z-3.25 F{plunge:g}"), added("G0 X63 Y34", "G1 Z-3.205 F{plunge:g}")),
    Fault("deeper than the scorer's edges", "deeper-than-flutes", SCORER,
          added("G0 X63 Y34", "G1 Z-3.25 F{plunge:g}"), added("G0 X63 Y34", "G1 Z-3.205 F{plunge:g}")),
    Fault("deeper into the bed than it may", "into-bed", SIX,
          swapped(r"Z-6\.4\b", "Z-6.42"), swapped(r"Z-6\.4\b", "Z-6.405")),
    Fault("a fret line beside its place", "fret-off", SCORER,
          moved("X", 0.03, "fret 4,"), moved("X", 0.015, "fret 4,")),
    Fault("twice the pass depth at once", "pass-depth", SCORER,
          added("G0 X63 Y34", "G1 Z{twice_z:.3f} F{plunge:g}", "G1 X70 F{feed:g}"),
          added("G0 X63 Y34", "G1 Z{pass_z:.3f} F{plunge:g}", "G1 X70 F{feed:g}")),
    Fault("a plunge twice too fast", "plunge", SIX,
          added("G0 X63 Y34", "G1 Z-2 F{twice_plunge:g}"), added("G0 X63 Y34", "G1 Z-2 F{plunge:g}")),
    Fault("the planer straight down", "plunge", PLANER,
          added("G0 X63 Y34", "G1 Z-1.3 F100"), added("G0 X63 Y34", "G1 Z-1.2 F100")),
    Fault("the spindle never started", "spindle", SIX,
          swapped(r"^S\d+ M3$", "S{rpm:g}"), swapped(r"^S(\d+) M3$", r"S\1\nM3")),
    Fault("inches where millimetres are meant", "setup-words", PLANER,
          swapped(r"^G21$", "G20"), swapped(r"^G21$", "g 21")),
    Fault("another offset than the job's", "setup-words", SIX,
          swapped(r"^G55$", "G54"), swapped(r"^G55$", "g 55")),
    Fault("another bit than the job's", "wrong-bit", SIX,
          swapped(r"^T4$", "T3"), swapped(r"^T4$", "T3\nT4")),
    Fault("nothing said of the touch-off", "no-touch-off", SIX,
          swapped(r"^\(Touch off:.*\n", ""), swapped(r"^\(Touch off: (.*) mm\)", r"(Touch off:  \1 mm)")),
    Fault("a program of another job", "header", SIX,
          swapped(r"job [0-9a-f]{12}", "job 000000000000"),
          swapped(r"Title: .*\)", "Title: renamed by hand)")),
    Fault("a word that no program may hold", "unreadable", SIX,
          swapped(r"^M5$", "G28\nM5"), swapped(r"^M5$", "m5")),
    Fault("a feed that the job does not name", "feed-differs", SIX,
          swapped(r"^(G1 X.*) F\d+$", r"\1 F{feed:g}1", count=1), swapped(r"^(G1 X.* F\d+)$", r"\1.0", count=1)),
    Fault("a speed that the job does not name", "rpm-differs", SIX,
          swapped(r"^S\d+ M3", "S{rpm:g}1 M3"), swapped(r"^S(\d+) M3", r"S\1.0 M3")),
)  # fmt: skip
"""Every check that stops, but for those whose faults lie in the job, not the text."""
