"""Kinds of fault about what holds the wood: tabs, kerfs, holders and their screws. As in `kinds.py`, text alone."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

Lines = list[str]
Change = Callable[[Lines, random.Random], str | None]

_NUMBER = r"-?\d+(?:\.\d*)?|-?\.\d+"
_Z = re.compile(rf"Z({_NUMBER})")


def _text(lines: Lines) -> str:
    return "\n".join(lines) + "\n"


def _is_code(line: str) -> bool:
    return bool(line) and not line.lstrip().startswith(("(", "%"))


def _inches(lines: Lines) -> bool:
    return any(re.match(r"\s*(N\d+\s*)?G20\b", line) for line in lines)


def _with_z(line: str, z: float) -> str:
    return _Z.sub(f"Z{round(z, 4):g}", line, count=1)


def _heights(lines: Lines) -> list[tuple[int, float]]:
    """(line, Z) of every line of code that has one."""
    found = ((i, _Z.search(line)) for i, line in enumerate(lines) if _is_code(line))
    return [(i, float(m[1])) for i, m in found if m]


def _tab_lost(lines: Lines, rng: random.Random) -> str | None:
    """A stretch that is raised while the bit cuts, and comes down again to the same height: taken straight on."""
    if not any("Feature outline" in line for line in lines):
        return None
    heights, raises = _heights(lines), []
    for k in range(1, len(heights) - 1):
        (_, low), (first, high) = heights[k - 1], heights[k]
        after = next((j for j in range(k + 1, len(heights)) if heights[j][1] < high - 1e-9), None)
        if high <= low + 1e-9 or after is None or abs(heights[after][1] - low) > 1e-9:
            continue
        last = heights[after][0]
        if not any(re.search(r"\bG0\b", line) for line in lines[heights[k - 1][0] : last + 1]):
            raises.append((first, last, low))
    if not raises:
        return None
    first, last, low = rng.choice(raises)
    return _text([*lines[:first], *(_with_z(line, low) for line in lines[first:last]), *lines[last:]])


def _kerf_deeper(lines: Lines, rng: random.Random) -> str | None:
    """The lowest level of an outline, lower still."""
    if not any("Feature outline" in line for line in lines):
        return None
    heights = _heights(lines)
    low = min(z for _, z in heights)
    deeper = low - rng.choice([0.5, 1.0, 2.0, 3.0]) / (25 if _inches(lines) else 1)
    places = {i for i, z in heights if abs(z - low) < 1e-9}
    return _text([_with_z(line, deeper) if i in places else line for i, line in enumerate(lines)])


def _holder_reworded(lines: Lines, rng: random.Random) -> str | None:
    """Another number in the words that say where a holder stands."""
    places = [i for i, line in enumerate(lines) if re.match(r"\(Obstacle", line)]
    if not places:
        return None
    i = rng.choice(places)
    numbers = list(re.finditer(r"\d+\.\d+", lines[i]))
    if not numbers:
        return None
    m = rng.choice(numbers)
    moved = float(m[0]) + rng.choice([1, 5, 10]) / (25 if _inches(lines) else 1)
    line = lines[i][: m.start()] + f"{moved:.{len(m[0].split('.')[1])}f}" + lines[i][m.end() :]
    return _text([*lines[:i], line, *lines[i + 1 :]])


def _hole_moved(lines: Lines, rng: random.Random) -> str | None:
    """One screw's hole, or that of its head, beside its place."""
    starts = [i for i, line in enumerate(lines) if line.startswith("(Feature screw_holes:")]
    if not starts:
        return None
    i = rng.choice(starts)
    ends = (j for j in range(i + 1, len(lines)) if re.match(r"\(Feature|\s*(N\d+ )?M5\b", lines[j]))
    last = next(ends, len(lines))
    by = rng.choice([-1, 1]) * rng.choice([1.0, 2.0, 5.0]) / (25 if _inches(lines) else 1)

    def moved(line: str) -> str:
        if not _is_code(line):
            return line
        return re.sub(rf"X({_NUMBER})", lambda m: f"X{round(float(m[1]) + by, 4):g}", line)

    return _text([*lines[:i], *map(moved, lines[i:last]), *lines[last:]])


def _beside_a_screw(lines: Lines, rng: random.Random) -> str | None:
    """The bit set down into the wood at less than a mm from a screw's head."""
    words = " ".join(line.strip("()").removeprefix("+ ") for line in lines if line.startswith("("))
    length = rf"({_NUMBER})(?: (?:mm|in))?"
    screws = re.findall(rf"screw \d+: X {length} to {length}, Y {length} to {length}", words)
    wide = re.search(rf"\(Bit \d+: [^,]+, [^,]*?({_NUMBER}) (?:mm|in)", "\n".join(lines))
    stops = [i for i, line in enumerate(lines) if re.match(r"\s*(N\d+ )?M5\b", line)]
    if not screws or wide is None or not stops:
        return None
    x0, x1, y0, y1 = map(float, rng.choice(screws))
    factor = 25.4 if _inches(lines) else 1.0
    off = float(wide[1]) / 2 + rng.choice([-1.0, 0.2, 0.5, 0.8]) / factor
    x, y = rng.choice([(x0 - off, (y0 + y1) / 2), (x1 + off, (y0 + y1) / 2)])
    heights = [z for _, z in _heights(lines)]
    low, high = min(heights), max(heights)
    block = [f"G0 X{x:.4f} Y{y:.4f}", f"G1 Z{low:g} F{100 / factor:g}", f"G0 Z{high:g}"]
    return _text([*lines[: stops[0]], *block, *lines[stops[0] :]])


HOLDING: dict[str, Change] = {
    "a tab lost": _tab_lost,
    "a kerf deeper": _kerf_deeper,
    "a holder elsewhere in the header": _holder_reworded,
    "a screw's hole moved": _hole_moved,
    "a plunge beside a screw": _beside_a_screw,
}

HOLDING_BY_NATURE = {
    "a tab lost": "the part hangs on less than the job asks for",
    "a kerf deeper": "the part hangs on less than the job asks for, or the bed is cut",
    "a holder elsewhere in the header": "it would be put where the program does not keep clear of it",
    "a screw's hole moved": "the screw would stand where the programs do not keep clear of it",
    "a plunge beside a screw": "the bit may meet steel",
}
"""Always harmful; and why."""
