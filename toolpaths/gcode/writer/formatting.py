"""Formatting of numbers and comments. Only the writer uses it; the reader has its own rules."""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.units import show, show_fine, size
from toolpaths.job.machine import Machine
from toolpaths.toolpath.toolpath import Arc

_RADII = {"mm": 0.002, "in": 0.0002}
"""How far the radii at an arc's start and end may differ (NISTIR 6556, 3.5.3.2), in the program's units."""
_SAFE_PART = 0.75
"""Part of that allowance that is used, since a controller adds roundings of its own."""
_LAST_DIGITS = 4.0
"""By how many last digits an arc's way may be longer or shorter in the text: its ends and its centre are rounded."""
_NUMBER_ROOM = len("N99990 ")
_NUMBER_STEP = 10
_MOST_NUMBER = 99_999
"""The largest line number (NISTIR 6556, 3.3.1)."""
_OTHER_SIGNS = re.compile("[^A-Za-z0-9 .,:+/='_-]")
"""Every sign that no comment keeps: controllers act on some of the others, which ones differs (docs/programs.md)."""
_GOES_ON = "+ "
"""Begins each line of a comment after its first."""
_ACTED_ON = re.compile(
    r"\w+ ?,|" + "|".join(" ?".join(word) for word in ("MSG", "DEBUG", "PRINT", "ABORT", "LOG", "PROBE", "PY")),
    re.IGNORECASE,
)
"""How a comment begins that an open interpreter may carry out."""


@dataclass(frozen=True, slots=True)
class GcodeFormat:
    """Number and comment formats of one machine."""

    machine: Machine

    @property
    def scale(self) -> float:
        """Output units a mm."""
        return 1.0 if self.machine.units == "mm" else 1.0 / 25.4

    @property
    def width(self) -> int:
        """Most characters of a line that commands, its number not counted."""
        return self.machine.line_length - (_NUMBER_ROOM if self.machine.line_numbers else 0)

    def numbered(self, lines: Sequence[str]) -> list[str]:
        """The lines, with N10, N20 and so on before those that command, where the machine has its lines numbered.

        Numbers go up by 1 where steps of 10 would pass the largest, and begin again after it: they may repeat.
        """
        if not self.machine.line_numbers:
            return list(lines)
        bear = [not line.startswith(("(", "%")) for line in lines]
        step = _NUMBER_STEP if sum(bear) * _NUMBER_STEP <= _MOST_NUMBER else 1
        out, count = [], 0
        for line, wanted in zip(lines, bear, strict=True):
            count += wanted
            out.append(f"N{(count * step - 1) % _MOST_NUMBER + 1} {line}" if wanted else line)
        return out

    def rounded(self, mm: float) -> float:
        """A coordinate in output units, rounded as it will stand in the text."""
        value = round(mm * self.scale, self.machine.decimals)
        return 0.0 if value == 0 else value

    def number(self, value: float) -> str:
        """A rounded number without needless zeros: `12.5`, `0`, `-0.25`."""
        text = f"{value:.{self.machine.decimals}f}".rstrip("0").rstrip(".")
        return "0" if text in ("-0", "") else text

    def feed(self, mm_min: float) -> str:
        """A feed in output units a minute."""
        text = f"{mm_min * self.scale:.{1 if self.machine.units == 'mm' else 2}f}".rstrip("0").rstrip(".")
        return text or "0"

    def size(self, mm: float) -> str:
        """A size of a bit, or a figure that was typed, with its unit: `6 mm`, `3.175 mm`, `0.0197 in`."""
        return size(mm, self.machine.units)

    def place(self, mm: float) -> str:
        """A length that is found with rule or dial, with its unit: `7.80 mm`, `0.307 in`."""
        return show(mm, self.machine.units)

    def rule(self, mm: float) -> str:
        """The same without needless zeros: `28 mm`, `1.102 in`."""
        number, units = self.place(mm).split()
        return f"{number.rstrip('0').rstrip('.')} {units}"

    def span(self, low: float, high: float) -> str:
        """From one such length to another: `7.80 to 8.10 mm`."""
        return f"{self.place(low).split()[0]} to {self.place(high)}"

    def fine(self, mm: float) -> str:
        """A small length with its unit: `0.050 mm`, `0.0020 in`."""
        return show_fine(mm, self.machine.units)

    def entered(self, mm: float) -> str:
        """A length that is entered at the machine, or compared with its moves: to its last digit, three at least."""
        usual = 3 if self.machine.units == "mm" else 4
        whole, _, behind = f"{self.rounded(mm):.{max(usual, self.machine.decimals)}f}".partition(".")
        return f"{whole}.{behind[:usual]}{behind[usual:].rstrip('0')} {self.machine.units}"

    def comments(self, text: str) -> list[str]:
        """Comments that cannot become commands: harmless signs alone, over as many lines as it takes.

        A + and a blank begin each line after the first: whatever word stands there, no controller and no reader finds
        it at a comment's beginning.
        """
        width = self.machine.line_length - 2
        lines = textwrap.wrap(self._tame(text), width, subsequent_indent=_GOES_ON, break_on_hyphens=False)
        return [f"({line})" for line in lines]

    def centre_words(
        self, start: tuple[float, float], end: tuple[float, float], arc: Arc, turn: float
    ) -> tuple[float, float] | None:
        """I and J in output units, solved again for the rounded ends (output units) so that both radii agree.

        `turn`: how far the arc turns, radians, positive to the left. None where no rounded centre near the true one
        keeps the radii within the allowance, or where the rounded arc would turn otherwise: write chords then.
        """
        digit = 10.0**-self.machine.decimals
        cx, cy = arc.cx * self.scale, arc.cy * self.scale
        dx, dy = end[0] - start[0], end[1] - start[1]
        square = dx * dx + dy * dy
        if square == 0:
            return None
        # The centre moves onto the perpendicular bisector of the rounded chord.
        mx, my = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        along = ((cx - mx) * dx + (cy - my) * dy) / square
        cx, cy = cx - along * dx, cy - along * dy
        best: tuple[float, float, float] | None = None
        i0, j0 = round((cx - start[0]) / digit), round((cy - start[1]) / digit)
        for i in range(i0 - 1, i0 + 2):
            for j in range(j0 - 1, j0 + 2):
                ii, jj = round(i * digit, self.machine.decimals), round(j * digit, self.machine.decimals)
                r0 = math.hypot(ii, jj)
                r1 = math.hypot(end[0] - start[0] - ii, end[1] - start[1] - jj)
                aside = math.hypot(start[0] + ii - cx, start[1] + jj - cy)
                error = abs(r0 - r1) + 0.1 * aside
                if (
                    abs(r0 - r1) <= self._radii_apart
                    and (best is None or error < best[0])
                    and (self.machine.precision == "double" or self._agree_in_single(start, end, ii, jj))
                ):
                    best = (error, ii, jj)
        if best is None or not self._turns(start, end, best[1], best[2], turn):
            return None
        return best[1], best[2]

    def _turns(self, start: tuple[float, float], end: tuple[float, float], i: float, j: float, turn: float) -> bool:
        """Whether the arc in the text turns as far as was meant, but for the last digit of its ends and centre."""
        first, last = math.atan2(-j, -i), math.atan2(end[1] - start[1] - j, end[0] - start[0] - i)
        told = (last - first) % (2 * math.pi) if turn > 0 else -((first - last) % (2 * math.pi))
        return abs(told - turn) * math.hypot(i, j) <= _LAST_DIGITS * 10.0**-self.machine.decimals

    def plain(self, text: str) -> str:
        """Text on one line, of letters without accents, digits and harmless signs; a sign taken out leaves a blank."""
        spelt = text if text.isascii() else "".join(map(_spelt, text))
        return " ".join(_OTHER_SIGNS.sub(" ", spelt).split())

    def _tame(self, text: str) -> str:
        """The text as it may stand in a comment, its beginning included."""
        plain = self.plain(text)
        return f"{_GOES_ON}{plain}" if _ACTED_ON.match(plain) else plain

    @property
    def _radii_apart(self) -> float:
        return _SAFE_PART * _RADII[self.machine.units]

    def _agree_in_single(self, start: tuple[float, float], end: tuple[float, float], i: float, j: float) -> bool:
        """Whether the radii agree too for a controller that keeps each number, in mm, in 32 bits (IEEE 754 binary32).

        Beside a large radius such a number has few digits left behind the point: at 10 m one in the third place.
        """
        unit = np.float32(25.4 if self.machine.units == "in" else 1.0)
        sx, sy, ex, ey, ci, cj = (np.float32(v) * unit for v in (*start, *end, i, j))
        first = np.hypot(ci, cj)
        last = np.hypot(ex - (sx + ci), ey - (sy + cj))
        return bool(abs(float(first) - float(last)) <= self._radii_apart * float(unit))


def _spelt(sign: str) -> str:
    """A sign in simpler ones (Unicode's NFKD), without accents; a fraction or a raised digit is parted from a number
    before it.
    """
    parts = "".join(c for c in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(c))
    parts = parts.replace("\u2044", "/")
    return f" {parts}" if unicodedata.decomposition(sign).startswith(("<fraction>", "<super>")) else parts
