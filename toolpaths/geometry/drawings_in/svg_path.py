"""The `d` of an SVG path, as pieces: straight edges, Bezier curves and elliptical arcs, in the path's own units.

The grammar is that of SVG 2, chapter 9 (Paths); arcs are solved by its appendix B.2 (Elliptical arc implementation).

Two general libraries were tried in its place: both take a path that begins without a move, doubled commas and
coordinates without end, which are refused here; the tests hold this reader against them on sound paths.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_BETWEEN = re.compile(r"[\s,]*")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_LONGEST_NUMBER = 40


@dataclass(frozen=True, slots=True)
class Bent:
    """A straight edge or Bezier curve through its control points (D + 1, 2)."""

    control: Array


@dataclass(frozen=True, slots=True)
class Swung:
    """Part of an ellipse: centre + u cos t + v sin t, t from `start` over `sweep` radians, ending exactly at `end`."""

    centre: Array
    u: Array
    v: Array
    start: float
    sweep: float
    begin: Array
    end: Array


Piece = Bent | Swung


def pieces_of(d: str, most: int) -> list[list[Piece]]:
    """Subpaths, each a list of pieces end to end; a closed one ends exactly where it begins.

    Raises ValueError, in words, for what the grammar does not allow and for more than `most` pieces.
    """
    return _Scanner(d, most).subpaths()


def arc_between(a: Array, b: Array, rx: float, ry: float, turn: float, large: bool, sweep: bool) -> Piece:
    """The arc from a to b on an ellipse of half axes rx, ry turned by `turn` degrees; straight where it has none."""
    rx, ry = abs(rx), abs(ry)
    if rx == 0 or ry == 0:
        return Bent(np.stack([a, b]))
    phi = math.radians(turn)
    along, across = np.array([math.cos(phi), math.sin(phi)]), np.array([-math.sin(phi), math.cos(phi)])
    half = (a - b) / 2
    x, y = float(half @ along), float(half @ across)
    # Radii too small to reach are enlarged until they do.
    short = (x / rx) ** 2 + (y / ry) ** 2
    if short > 1:
        rx, ry = rx * math.sqrt(short), ry * math.sqrt(short)
    rest = (x / rx) ** 2 + (y / ry) ** 2
    if rest == 0:
        return Bent(np.stack([a, b]))
    k = math.sqrt(max(0.0, 1 / rest - 1)) * (-1.0 if large == sweep else 1.0)
    cx, cy = k * rx * y / ry, -k * ry * x / rx
    centre = cx * along + cy * across + (a + b) / 2
    t0 = math.atan2((y - cy) / ry, (x - cx) / rx)
    t1 = math.atan2((-y - cy) / ry, (-x - cx) / rx)
    angle = (t1 - t0) % (2 * math.pi)
    if not sweep:
        angle -= 2 * math.pi
    return Swung(centre, rx * along, ry * across, t0, angle, a, b)


class _Scanner:
    """Reads one path's text from left to right."""

    def __init__(self, d: str, most: int) -> None:
        self.d, self.most = d, most
        self.at = 0
        self.count = 0
        self.here = self.first = np.zeros(2)
        self.steer: Array | None = None
        self.out: list[list[Piece]] = []
        self.path: list[Piece] = []

    def subpaths(self) -> list[list[Piece]]:
        command, before = "", ""
        self._skip()
        while self.at < len(self.d):
            c = self.d[self.at]
            if c.isalpha() and c.upper() in _TAKES:
                command = c
                self.at += 1
            elif not command or command in "Zz":
                raise ValueError(f"a command is expected at {self._near()}")
            elif command in "Mm":
                command = "L" if command == "M" else "l"
            if not before and command not in "Mm":
                raise ValueError("it does not begin with a move (M)")
            self._do(command, before)
            before = command
            self._skip()
        self._finish()
        return self.out

    def _do(self, command: str, before: str) -> None:
        kind, rel = command.upper(), self.here if command.islower() else np.zeros(2)
        if kind == "Z":
            if np.any(self.here != self.first):
                self._add(Bent(np.stack([self.here, self.first])))
            self.here, self.steer = self.first, None
            self._finish()
            return
        v = self._arc_values() if kind == "A" else [self._number() for _ in range(_TAKES[kind])]
        if kind == "M":
            self._finish()
            self.here = self.first = rel + v
            self.steer = None
            return
        if kind in "HV":
            axis = 0 if kind == "H" else 1
            end = self.here.copy()
            end[axis] = v[0] + rel[axis]
            self._to(Bent(np.stack([self.here, end])), end)
        elif kind == "A":
            end = rel + v[5:7]
            if np.any(end != self.here):
                self._to(arc_between(self.here, end, v[0], v[1], v[2], v[3] != 0, v[4] != 0), end)
        else:
            control = [rel + v[i : i + 2] for i in range(0, len(v), 2)]
            if kind in "ST":
                smooth = self.steer is not None and before.upper() in ("CS" if kind == "S" else "QT")
                mirrored = 2 * self.here - self.steer if smooth and self.steer is not None else self.here
                control = [mirrored, *control]
            self._to(Bent(np.stack([self.here, *control])), control[-1], control[-2] if len(control) > 1 else None)

    def _to(self, piece: Piece, end: Array, steer: Array | None = None) -> None:
        self._add(piece)
        self.here, self.steer = end, steer

    def _add(self, piece: Piece) -> None:
        self.count += 1
        if self.count > self.most:
            raise ValueError(f"it has more than {self.most} pieces")
        self.path.append(piece)

    def _finish(self) -> None:
        if self.path:
            self.out.append(self.path)
        self.path = []

    def _arc_values(self) -> list[float]:
        radii = [self._number() for _ in range(3)]
        flags = [self._flag(), self._flag()]
        return [*radii, *flags, self._number(), self._number()]

    def _flag(self) -> float:
        # Two flags and a number may stand together, such as 0110.
        self._skip()
        c = self.d[self.at : self.at + 1]
        if c not in ("0", "1"):
            raise ValueError(f"a flag of an arc must be 0 or 1, at {self._near()}")
        self.at += 1
        return float(c)

    def _number(self) -> float:
        self._skip()
        found = _NUMBER.match(self.d, self.at)
        if found is None or len(found[0]) > _LONGEST_NUMBER:
            raise ValueError(f"a number is expected at {self._near()}")
        self.at = found.end()
        return float(found[0])

    def _skip(self) -> None:
        found = _BETWEEN.match(self.d, self.at)
        self.at = found.end() if found else self.at

    def _near(self) -> str:
        rest = self.d[self.at : self.at + 12]
        return f"`{rest}`" if rest and rest.isprintable() else "its end" if not rest else "an odd character"
