"""What a machine file does not say: what is taken instead, what follows from that, and how to find the figure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from toolpaths.common.units import show, show_fine, size
from toolpaths.job.files.machine_file import machine_paths, read_machine
from toolpaths.job.machine import Machine
from toolpaths.operations.machine_stiffness import YIELD, stiffness_of
from toolpaths.reports.text.words import plain

_SETUP = "docs/machine-setup.md"
_AXES = ("x", "y", "z")


@dataclass(frozen=True, slots=True)
class Unknown:
    """A key that a machine file leaves out. `taken`: instead of it; `follows`: from that; `find`: how to get it."""

    key: str
    taken: str
    follows: str
    find: str

    @property
    def text(self) -> str:
        """All of it, in sentences."""
        return f"{self.key}: {self.taken} {self.follows} {self.find}"


def unknowns(machine: Machine, given: str) -> tuple[Unknown, ...]:
    """What a machine file leaves open, in the order of its keys. `given`: how a command names the machine."""
    parts = (_motion(machine), _spindle(machine), _changes(machine), _text(machine), _play(machine, given))
    return tuple(one for part in parts for one in part)


# Private


def _motion(m: Machine) -> Iterator[Unknown]:
    example = _example(m)
    if example:
        yield Unknown(
            "acceleration",
            f"These are the figures of the example `{example}`.",
            "The minutes of a program, and the chips in its corners, are computed from them.",
            "Read your own from the settings of the controller.",
        )
    if "corner_deviation" not in m.model_fields_set:
        yield Unknown(
            "corner_deviation",
            f"Not given; {show_fine(m.corner_deviation, m.units)} is taken.",
            "The minutes of a program, and the chips in its corners, are computed from it.",
            "Look in the settings of the controller for how far it rounds corners off.",
        )
    unknown = [name for name, zero in m.offsets.items() if zero is None]
    if unknown:
        yield Unknown(
            "offsets",
            f"No machine coordinates are given for {', '.join(unknown)}.",
            "For these, `travel` compares only the length of the motion with the travel. It cannot tell whether the "
            "motion runs past an end.",
            "Set the zero, read its machine coordinates from the display, and write them here or as `at` in the setup.",
        )


def _spindle(m: Machine) -> Iterator[Unknown]:
    s = m.spindle
    if "spin_up" not in s.model_fields_set:
        yield Unknown(
            "spindle.spin_up",
            f"Not given; {s.spin_up:g} s is taken.",
            "If the spindle needs longer, the bit enters the wood too slowly turning, and may break.",
            "Measure the time from the start to the full speed with a watch.",
        )
    if s.power is None:
        yield Unknown(
            "spindle.power",
            "Not given.",
            "`power` checks nothing: a cut that needs more than the spindle can give is not found.",
            "Read the watts from its label.",
        )


def _changes(m: Machine) -> Iterator[Unknown]:
    if m.tool_change == "automatic" and not m.pockets:
        yield Unknown(
            "pockets",
            "Not given; T numbers count from 1 in the order of use, anew in each job.",
            "Before each job you must put its bits into the pockets of these numbers. No check can see which bit is in "
            "a pocket.",
            "Write each bit with the number of its pocket, such as `pockets: {planer: 1, quarter: 3}`: "
            "docs/machine-file.md.",
        )
    elif m.pockets and m.pocket_count is None:
        yield Unknown(
            "pocket_count",
            "Not given.",
            "A pocket's number that the changer does not have is not found.",
            "Count the pockets.",
        )
    if "change_minutes" not in m.model_fields_set:
        yield Unknown(
            "change_minutes",
            f"Not given; {m.change_minutes:g} minutes for each bit change are taken.",
            "The time at the machine, and the bookings of `--session`, are computed from it.",
            "Measure how long you take to put a bit in and to set its Z.",
        )


def _text(m: Machine) -> Iterator[Unknown]:
    for key, taken, follows in (
        (
            "dwell",
            f"Not given; {m.dwell} are taken.",
            "If the controller reads the number of G4 in another unit, the bit goes down before the spindle is up to "
            "speed, or the machine waits for minutes.",
        ),
        (
            "precision",
            f"Not given; {m.precision} is taken.",
            "If the controller computes in single precision, it rounds the last digits of far places"
            + ("." if m.arcs == "none" else ", and may refuse long arcs."),
        ),
        (
            "arcs",
            f"Not given; {m.arcs} is taken.",
            "If the controller takes no arcs, it stops at the first G2 or G3.",
        ),
        (
            "line_length",
            f"Not given; {m.line_length} characters are taken.",
            "If the controller reads less, it loses the rest of a long line.",
        ),
        (
            "comments",
            "Not given; comments in parentheses are taken as allowed.",
            "If the controller takes none, it stops at the first line.",
        ),
    ):
        if key not in m.model_fields_set:
            yield Unknown(key, taken, follows, "Look into the manual of the controller.")


def _play(m: Machine, given: str) -> Iterator[Unknown]:
    if "bed_allowance" not in m.model_fields_set:
        yield Unknown(
            "bed_allowance",
            f"Not given; {show(m.bed_allowance, m.units)} is taken.",
            "Every cut that goes through the wood may go so deep into the bed or the waste board.",
            "Ask whose bed it is. Write 0 if it must not be cut.",
        )
    if "runout" not in m.model_fields_set:
        yield Unknown(
            "runout",
            "Not given; 0 is taken.",
            "Slots and pockets may come out wider than computed, pieces narrower. `runout`, `kerf` and the check of "
            "chips do not see it, and fine bits break sooner than computed.",
            f"Measure it with a dial gauge at the shank: {_SETUP}.",
        )
    if m.stiffness is None:
        frame = stiffness_of(m)
        yield Unknown(
            "stiffness",
            f"{frame.words[:1].upper()}{frame.words[1:]}.",
            f"A pass that would push the machine aside by over {size(YIELD, m.units)} under such a stiffness is made "
            "shallower. A softer machine gives way more, and its walls come out of size.",
            f"Measure it with a spring scale and a dial gauge: {_SETUP}.",
        )
    measured = m.measured
    open_axes = [axis for axis in _AXES if measured is None or getattr(measured, axis) is None]
    if open_axes:
        name, are = _listed(open_axes)
        how = [f"`neckpath gauge {plain(given, 1000)}` measures X and Y."] if set(open_axes) & {"x", "y"} else []
        how += ["For Z, lower the bit by a known distance beside a dial gauge."] if "z" in open_axes else []
        yield Unknown(
            ", ".join(f"measured.{axis}" for axis in open_axes),
            f"{name} {are} not calibrated; {'each is' if len(open_axes) > 1 else 'it is'} taken as true.",
            "Programs are not corrected: frets, widths or depths may be off in proportion to their size.",
            " ".join(how),
        )
    if measured is None or measured.square is None:
        yield Unknown(
            "measured.square",
            "Whether Y is square to X was not measured; it is taken as square.",
            "If it is not, fret lines are not square to the centreline, and both sides of a neck do not meet.",
            f"`neckpath gauge {plain(given, 1000)} --square` cuts four crosses; measure their diagonals.",
        )
    play = None if measured is None else measured.backlash
    slack = [axis for axis in _AXES if play is None or getattr(play, axis) is None]
    if slack:
        name, _ = _listed(slack)
        yield Unknown(
            ", ".join(f"measured.backlash.{axis}" for axis in slack),
            f"The backlash of {name} was not measured.",
            "Programs do not make up for it: cuts that go there and back may come out narrower, and lines are all "
            "approached from the same side.",
            f"Run the axis against a dial gauge and back by a known distance: {_SETUP}.",
        )


def _listed(axes: list[str]) -> tuple[str, str]:
    """(`X, Y and Z`, `is` or `are`)."""
    names = [axis.upper() for axis in axes]
    if len(names) == 1:
        return names[0], "is"
    return f"{', '.join(names[:-1])} and {names[-1]}", "are"


def _example(m: Machine) -> str:
    """The shipped machine whose accelerations these are; empty where they are nobody's."""
    shipped = {name: read_machine(path) for name, path in machine_paths().items()}
    same = (name for name, other in shipped.items() if other.acceleration == m.acceleration)
    return next(same, "")
