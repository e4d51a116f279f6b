"""An independent RS-274/NGC interpreter, set against our reader move by move.

The environment variable NECKPATH_INTERPRETER names the folder that its packages were unpacked into.
It prints canonical commands, as NISTIR 6556 defines them: positions in the units
that USE_LENGTH_UNITS names; arcs as first and second axis of the plane (XY, ZX, YZ), then centre, turn and height.
"""

from __future__ import annotations

import math
import os
import re
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from tests.support.needs import INTERPRETER, RS274, needs
from tests.support.patience import LONGEST
from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, FEED, RAPID, Trace

FOLDER = RS274
needed = needs(INTERPRETER)

_COMMAND = re.compile(r"^\s*\d+ N\S*\s+(\w+)\((.*)\)\s*$")
_OFFSETS = ("", "G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
_PLANES = {"CANON_PLANE_XY": 17, "CANON_PLANE_XZ": 18, "CANON_PLANE_YZ": 19}
_FIRST_SECOND_NORMAL = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
_PLAIN_WORDS = {
    "PROGRAM_STOP": "M0",
    "OPTIONAL_PROGRAM_STOP": "M1",
    "DWELL": "G4",
    "SELECT_TOOL": "T",
    "CHANGE_TOOL": "M6",
}


class Refused(Exception):
    """The interpreter stopped at an error."""


@dataclass
class Move:
    """One canonical move; lengths mm, feed mm/min."""

    kind: int
    end: tuple[float, float, float]
    centre: tuple[float, float]
    plane: int
    feed: float
    rpm: float
    offset: str
    digit: float


@dataclass
class Canonical:
    """All canonical moves, and the words between them: (word, number of moves before it, value)."""

    moves: list[Move] = field(default_factory=list)
    words: list[tuple[str, int, float]] = field(default_factory=list)
    ended: bool = False
    waited: float = 0.0
    """Dwells while the spindle turns, in all, as the program's P words say them."""
    said: list[str] = field(default_factory=list)
    """Whatever a comment made it do: messages, logs, and words on the screen."""


def canonical(text: str) -> Canonical:
    """What the interpreter makes of a program. Raises Refused, with its words, where it stops."""
    commands, screen = _run(text)
    found = _parsed(commands)
    found.said += [line for line in screen.replace("executing", "").splitlines() if line.strip()]
    return found


def compare(text: str) -> list[str]:
    """Every difference between the interpreter's canonical moves and our trace; empty where they agree."""
    try:
        theirs = canonical(text)
    except Refused as refused:
        return [f"the interpreter refuses: {refused}"]
    try:
        ours = read(text)
    except ReadError as error:
        return [f"our reader refuses: {error}"]
    return differences(ours, theirs)


def differences(ours: Trace, theirs: Canonical) -> list[str]:
    """Every difference between a trace and the interpreter's canonical moves."""
    return _move_differences(ours, theirs) + _word_differences(ours, theirs)


def _run(text: str) -> tuple[str, str]:
    """Its canonical commands, and what it printed beside."""
    folder = Path(FOLDER).resolve()
    libraries = f"{folder / 'usr/lib'}:{folder / 'usr/lib/x86_64-linux-gnu'}"
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        (place / "in.ngc").write_text(text, newline="")
        (place / "parameters").touch()
        (place / "bits").write_text("".join(f"T{n} P{n} D3.0\n" for n in range(1, 100)))
        command = [str(folder / "usr/bin/rs274"), "-t", "bits", "-v", "parameters", "-g", "in.ngc", "out.txt"]
        # It keeps its table of bits in a file under HOME, which runs at the same time must not share.
        around = {**os.environ, "LD_LIBRARY_PATH": libraries, "HOME": name}
        done = subprocess.run(command, cwd=place, env=around, capture_output=True, timeout=LONGEST)
        if done.returncode != 0:
            raise Refused((done.stdout + done.stderr).decode(errors="replace").replace("executing", "").strip())
        return (place / "out.txt").read_text(), (done.stdout + done.stderr).decode(errors="replace")


def _parsed(output: str) -> Canonical:
    found = Canonical()
    units, plane, feed, speed, turning, offset = 1.0, 17, 0.0, 0.0, False, "G54"
    for line in output.splitlines():
        match = _COMMAND.match(line)
        if match is None:
            continue
        name, inside = match[1], match[2]
        values = [float(v) for v in re.findall(r"-?\d+\.?\d*", inside)]
        if name == "USE_LENGTH_UNITS":
            units = {"CANON_UNITS_MM": 1.0, "CANON_UNITS_INCHES": 25.4}[inside]
        elif name == "SELECT_PLANE":
            plane = _PLANES[inside]
        elif name == "SET_FEED_RATE":
            feed = values[0] * units
        elif name == "SET_SPINDLE_SPEED":
            speed = values[1]
        elif name == "START_SPINDLE_CLOCKWISE":
            turning = True
        elif name == "STOP_SPINDLE_TURNING":
            turning = False
        elif name == "SET_G5X_OFFSET":
            offset = _OFFSETS[int(values[0])]
        elif name in ("STRAIGHT_TRAVERSE", "STRAIGHT_FEED", "ARC_FEED"):
            kind, end, centre = RAPID, (0.0, 0.0, 0.0), (math.nan, math.nan)
            mm = [v * units for v in values]
            if name == "ARC_FEED":
                axes = _FIRST_SECOND_NORMAL[plane]
                by_axis = dict(zip(axes, (mm[0], mm[1], mm[5]), strict=True))
                kind, end, centre = _kind_of_turn(values[4]), (by_axis[0], by_axis[1], by_axis[2]), (mm[2], mm[3])
            else:
                kind, end = (RAPID if name == "STRAIGHT_TRAVERSE" else FEED), (mm[0], mm[1], mm[2])
            found.moves.append(Move(kind, end, centre, plane, feed, speed if turning else 0.0, offset, units * 1e-4))
        elif name in _PLAIN_WORDS:
            value = values[0] if values else 0.0
            found.waited += value if name == "DWELL" and turning else 0.0
            found.words.append((_PLAIN_WORDS[name], len(found.moves), value))
        elif name == "MESSAGE" or name.startswith("LOG"):
            found.said.append(line)
        elif name == "PROGRAM_END":
            found.ended = True
        elif name not in _WITHOUT_MEANING_HERE:
            raise AssertionError(f"an unexpected canonical command: {line}")
    return found


_WITHOUT_MEANING_HERE = {
    "COMMENT", "ON_RESET", "SET_G92_OFFSET", "SET_XY_ROTATION", "SET_FEED_REFERENCE", "SET_FEED_MODE",
    "USE_TOOL_LENGTH_OFFSET", "START_CHANGE", "FINISH", "FLOOD_ON", "FLOOD_OFF", "MIST_ON", "MIST_OFF",
    "SET_SPINDLE_MODE", "PALLET_SHUTTLE",
}  # fmt: skip


def _kind_of_turn(turn: float) -> int:
    # 1 is one counter-clockwise turn or less, -1 clockwise; more turns are not in our subset.
    return {1.0: ARC_CCW, -1.0: ARC_CW}[turn]


def _move_differences(ours: Trace, theirs: Canonical) -> list[str]:
    out = []
    if len(ours) != len(theirs.moves):
        out.append(f"{len(ours)} moves, the interpreter has {len(theirs.moves)}")
    for i, move in enumerate(theirs.moves[: len(ours)]):
        where = f"line {ours.line[i]}"
        close = move.digit * 0.51
        if ours.kind[i] != move.kind:
            out.append(f"{where}: kind {ours.kind[i]}, the interpreter has {move.kind}")
            continue
        for axis, value in zip("XYZ", ours.end[i] - move.end, strict=True):
            # An axis that nobody commanded is unknown to us and 0 to the interpreter.
            if abs(value) > close:
                out.append(f"{where}: {axis} differs by {value:.6f} mm")
        if move.kind in (ARC_CW, ARC_CCW):
            a, b, _ = _FIRST_SECOND_NORMAL[move.plane]
            for axis, value in ((a, move.centre[0]), (b, move.centre[1])):
                if not abs(ours.centre[i][axis] - value) <= close:
                    out.append(f"{where}: the centre differs along {'XYZ'[axis]}")
        if ours.plane[i] != move.plane:
            out.append(f"{where}: plane G{ours.plane[i]}, the interpreter has G{move.plane}")
        if move.kind != RAPID and abs(ours.feed[i] - move.feed) > close:
            out.append(f"{where}: feed {ours.feed[i]}, the interpreter has {move.feed}")
        if abs(ours.rpm[i] - move.rpm) > 1e-4:
            out.append(f"{where}: speed {ours.rpm[i]}, the interpreter has {move.rpm}")
        offset = ours.offsets[ours.offset[i]]
        if offset not in ("", move.offset):
            out.append(f"{where}: offset {offset}, the interpreter has {move.offset}")
    return out


def _word_differences(ours: Trace, theirs: Canonical) -> list[str]:
    out = []
    words = [(e.word, e.before, e.value) for e in ours.events if e.word in _PLAIN_WORDS.values()]
    if [w[:2] for w in words] != [w[:2] for w in theirs.words]:
        out.append(f"words {words}, the interpreter has {theirs.words}")
    elif any(abs(a[2] - b[2]) > 1e-4 for a, b in zip(words, theirs.words, strict=True)):
        out.append(f"values of words {words}, the interpreter has {theirs.words}")
    if ours.ended != theirs.ended:
        out.append(f"ended {ours.ended}, the interpreter has {theirs.ended}")
    return out
