"""Moves of a program's text, read by a small reader of its own: nothing of the product is used here.

Source: NISTIR 6556 (2000), section 3.5: G0 to G3, G17 to G19, and arcs in centre format. Absolute coordinates only.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

Point = tuple[float, float, float]
# Each plane's first and second axis, and its centre words: 3.5.3.2.
PLANES = {17: (0, 1, "I", "J"), 18: (2, 0, "K", "I"), 19: (1, 2, "J", "K")}


@dataclass(frozen=True)
class TextMove:
    """One move, in the text's own units; `sweep` radians, positive to the left, 0 of a straight one."""

    code: int
    start: Point
    end: Point
    feed: float
    plane: int = 17
    centre: tuple[float, float] = (0.0, 0.0)
    sweep: float = 0.0
    radius: float = 0.0

    @property
    def length(self) -> float:
        if not self.sweep:
            return math.dist(self.start, self.end)
        a, b, *_ = PLANES[self.plane]
        rest = ({0, 1, 2} - {a, b}).pop()
        return math.hypot(self.radius * self.sweep, self.end[rest] - self.start[rest])

    def points(self, step: float) -> Iterator[Point]:
        """Points along it, both ends among them, at most `step` apart."""
        count = max(1, math.ceil(self.length / step))
        for k in range(count + 1):
            part = k / count
            at = [s + (e - s) * part for s, e in zip(self.start, self.end, strict=True)]
            if self.sweep and 0 < k < count:
                a, b, *_ = PLANES[self.plane]
                angle = math.atan2(self.start[b] - self.centre[1], self.start[a] - self.centre[0]) + part * self.sweep
                at[a] = self.centre[0] + self.radius * math.cos(angle)
                at[b] = self.centre[1] + self.radius * math.sin(angle)
            yield at[0], at[1], at[2]


class TextReader:
    """Keeps what is in force between lines."""

    def __init__(self, at: Point = (math.nan, math.nan, math.nan)) -> None:
        self.at, self.code, self.plane, self.feed = at, 0, 17, 0.0

    def read(self, lines: Iterable[str]) -> list[TextMove]:
        return [move for line in lines if (move := self._line(line)) is not None]

    def _line(self, line: str) -> TextMove | None:
        words = re.findall(r"([A-Z])(-?[0-9.]+)", re.sub(r"\(.*?\)", "", line))
        for letter, digits in words:
            if letter == "G" and digits in ("0", "1", "2", "3"):
                self.code = int(digits)
            elif letter == "G" and digits in ("17", "18", "19"):
                self.plane = int(digits)
        by = {letter: float(digits) for letter, digits in words if letter not in "GM"}
        self.feed = by.get("F", self.feed)
        if not by.keys() & set("XYZ"):
            return None
        start = self.at
        self.at = end = (by.get("X", start[0]), by.get("Y", start[1]), by.get("Z", start[2]))
        if self.code < 2:
            return TextMove(self.code, start, end, self.feed)
        a, b, i, j = PLANES[self.plane]
        ca, cb = start[a] + by.get(i, 0.0), start[b] + by.get(j, 0.0)
        turn = math.atan2(end[b] - cb, end[a] - ca) - math.atan2(start[b] - cb, start[a] - ca)
        # Where the end is the start an arc is a whole circle: 3.5.3.2.
        sweep = turn % (2 * math.pi) or 2 * math.pi
        if self.code == 2:
            sweep = sweep - 2 * math.pi or -2 * math.pi
        radius = math.hypot(start[a] - ca, start[b] - cb)
        return TextMove(self.code, start, end, self.feed, self.plane, (ca, cb), sweep, radius)
