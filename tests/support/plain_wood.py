"""The wood of a setup the plain way: a program's text read by the small reader, and a height field lowered by it.

Nothing of the product is used. Frames: *machine* is as seen at the machine, x from the nut line, y from the
centreline, z from the blank's underside; *blank* is the same turned back by the skew.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.property.plain_part import Part, machine_of, rack
from tests.support.text_moves import TextReader
from tests.tamper.described import mm

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
FALL = 0.1
"""Of one piece of a sloping move, mm."""
CHORD = 0.3
"""Length of the chords that arcs are taken in, mm."""


@dataclass(frozen=True)
class Lay:
    """How a setup's blank lies: the job's numbers, read once more."""

    part: Part

    @property
    def setup(self) -> dict[str, Any]:
        return self.part.setup

    @property
    def hold(self) -> dict[str, Any]:
        return self.part.hold

    @property
    def under(self) -> float:
        return self.part.under

    @property
    def clearance(self) -> float:
        return self.part.mm(self.setup.get("clearance", "1 mm"))

    @property
    def zero(self) -> Array:
        return np.array(self.part.zero)

    @cached_property
    def skew(self) -> tuple[float, float]:
        """(turn, how far the measured edge lies off, square to it): two places on it, in the program's own x, y."""
        if "skew" not in self.setup:
            return 0.0, 0.0
        (x0, y0), (x1, y1) = ([self.part.mm(v) for v in p] for p in self.setup["skew"]["points"])
        turn = math.atan2(y1 - y0, x1 - x0)
        edge = self.part.blank[1] - self.zero[1]
        return turn, float(np.dot([x0, y0], [-math.sin(turn), math.cos(turn)])) - edge

    def at_machine(self, x: Any, y: Any) -> tuple[Any, Any]:
        """Where a place of the blank lies."""
        turn, off = self.skew
        c, s = math.cos(turn), math.sin(turn)
        px, py = x - self.zero[0], y - self.zero[1] + off
        return c * px - s * py + self.zero[0], s * px + c * py + self.zero[1]

    def on_blank(self, x: Any, y: Any) -> tuple[Any, Any]:
        """The place of the blank that lies there."""
        turn, off = self.skew
        c, s = math.cos(turn), math.sin(turn)
        px, py = x - self.zero[0], y - self.zero[1]
        return c * px + s * py + self.zero[0], -s * px + c * py - off + self.zero[1]


@dataclass(frozen=True)
class Read:
    """A program: name, features named in it, its bit, and its moves: starts, ends (N, 3) at the machine, and chords."""

    name: str
    setup: str
    features: frozenset[str]
    bit: str
    start: Array
    end: Array

    @property
    def on_bed(self) -> bool:
        return "bed_bores" in self.features

    @property
    def boring(self) -> bool:
        return "screw_holes" in self.features


def read_plainly(lay: Lay, name: str, text: str) -> Read:
    """Straight pieces of all moves, rapids too, of one program, in mm at the machine; arcs in short chords."""
    bits = re.findall(r"^(?:N\d+ )?\(Bit \d+: ([^,]+),", text, re.M)
    assert len(bits) == 1, "one program a bit"
    factor = 25.4 if re.search(r"^(?:N\d+ )?G20\b", text, re.M) else 1.0
    starts, ends = [], []
    for move in TextReader().read(text.splitlines()):
        if not all(map(math.isfinite, move.start)):
            continue
        points = np.array(list(move.points(CHORD / factor if move.sweep else math.inf))) * factor + lay.zero
        starts.append(points[:-1])
        ends.append(points[1:])
    named = {re.sub(r" \d+$", "", f) for f in re.findall(r"^(?:N\d+ )?\(Feature ([^:]+):", text, re.M)}
    return Read(name, lay.setup["name"], frozenset(named), bits[0], np.concatenate(starts), np.concatenate(ends))


def turning_parts(part: Part, name: str) -> list[tuple[float, float]]:
    """(radius, how far above the tip it begins) of bit, shank, collet nut and tool holder."""
    shelf, own = rack(), part.job.get("bits", {}).get(name, {})
    given, units = (own, part.job["units"]) if "shape" in own else ({**shelf["bits"][name], **own}, shelf["units"])
    machine = machine_of(part.job["machine"])
    collet = {k: mm(v, machine["units"]) for k, v in machine["collet"].items()}
    out = mm(given["stickout"], units)
    return [
        (mm(given["diameter"], units) / 2, 0.0),
        (mm(given["shank"], units) / 2, mm(given["cutting_length"], units)),
        (collet["nut_diameter"] / 2, out),
        (collet["holder_diameter"] / 2, out + collet["nut_height"]),
    ]


@dataclass
class Heights:
    """Tops of a blank's cells (rows, cols), mm, over its box in the blank's frame."""

    box: tuple[float, float, float, float]
    pitch: float
    z: Array = field(default_factory=lambda: np.zeros((0, 0)))

    @staticmethod
    def of(box: tuple[float, float, float, float], top: float, pitch: float) -> Heights:
        cols, rows = round((box[2] - box[0]) / pitch), round((box[3] - box[1]) / pitch)
        return Heights(box, pitch, np.full((rows, cols), top))

    @property
    def xs(self) -> Array:
        return np.linspace(self.box[0], self.box[2], 2 * self.z.shape[1] + 1)[1::2]

    @property
    def ys(self) -> Array:
        return np.linspace(self.box[1], self.box[3], 2 * self.z.shape[0] + 1)[1::2]

    @property
    def places(self) -> tuple[Array, Array]:
        """x and y of every cell (rows, cols)."""
        x, y = np.meshgrid(self.xs, self.ys)
        return x, y

    def cut(self, lay: Lay, program: Read) -> None:
        """Lowered by a flat bit along every move; other bits score and round the face, and free nothing."""
        shape = lay.part.bit(program.bit)
        if shape.kind != "flat":
            return
        start, end = (np.column_stack([*lay.on_blank(p[:, 0], p[:, 1]), p[:, 2]]) for p in (program.start, program.end))
        top = float(self.z.max())
        for a, b in zip(start, end, strict=True):
            if min(a[2], b[2]) >= top:
                continue
            count = max(1, math.ceil(abs(b[2] - a[2]) / FALL)) if np.any(a[:2] != b[:2]) else 1
            for k in range(count):
                p, q = a + (b - a) * k / count, a + (b - a) * (k + 1) / count
                low = min(p[2], q[2]) if count == 1 else (p[2] + q[2]) / 2
                self._line(p[:2], q[:2], shape.radius, float(low))

    def _line(self, a: Array, b: Array, radius: float, z: float) -> None:
        xs, ys = self.xs, self.ys
        i0, i1 = np.searchsorted(xs, [min(a[0], b[0]) - radius, max(a[0], b[0]) + radius])
        j0, j1 = np.searchsorted(ys, [min(a[1], b[1]) - radius, max(a[1], b[1]) + radius])
        if i0 >= i1 or j0 >= j1:
            return
        x, y = xs[None, i0:i1] - a[0], ys[j0:j1, None] - a[1]
        dx, dy = b - a
        along = np.clip((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-12), 0.0, 1.0)
        inside = np.hypot(x - along * dx, y - along * dy) <= radius
        window = self.z[j0:j1, i0:i1]
        window[inside] = np.minimum(window[inside], z)
