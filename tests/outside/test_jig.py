"""Jig, then board, then neck: where the pins of the jig stand, and where the bores of the work come to lie on them.

Each program is read by the outside interpreter, and a hole is where the bit goes at its lowest: the middle of that, and
its width with the bit's own. What is turned over about the centreline has y changed in sign; nothing else of this
project is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.outside.interpreter import Canonical, canonical, needed
from tests.support.jig_jobs import JigJobs
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, RAPID
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out

pytestmark = needed

Hole = tuple[float, float, float]
MEET = 0.02
"""How far a pin and its bore may stand apart, mm."""
VARIED = {
    "as it is": JigJobs(),
    "left-handed": JigJobs(handed="left"),
    "other places of the nut": JigJobs(board_nut_at=53.3, neck_nut_at=131.7, jig_nut_at=161.25),
    "left-handed, elsewhere, another offset": JigJobs(
        handed="left",
        board_nut_at=38.4,
        neck_nut_at=124.9,
        jig_nut_at=155.1,
        neck_pins=((-104.3, -11.7, 5.0), (230.1, 13.3, 7.5), (231.0, -12.0, 6.0)),
        board_pins=((-27.7, -8.4, 5.0), (226.6, 3.1, 4.5)),
        offset="G56",
    ),
    "on a seat": JigJobs(seat="      - seat: {bit: quarter, for: neck, depth: 2, room: 3}\n"),
}


def holes(found: Canonical, bit: float) -> list[Hole]:
    """Middle and width of every hole of a program that only bores, from the bit's way at the lowest of each."""
    lowest: dict[int, list[tuple[float, float]]] = {}
    floor = min(m.end[2] for m in found.moves)
    at, number = (0.0, 0.0, math.inf), 0
    for move in found.moves:
        # Between two rapids lies one hole.
        number += move.kind == RAPID
        if move.kind != RAPID and abs(move.end[2] - floor) < 1e-3 and abs(at[2] - floor) < 1e-3:
            lowest.setdefault(number, []).extend(_along(at, move.end, move.centre, move.kind))
        at = move.end
    out: list[Hole] = []
    for points in lowest.values():
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        wide = max(max(xs) - min(xs), max(ys) - min(ys)) + bit
        out.append(((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, wide))
    return sorted(out)


def _along(
    a: tuple[float, ...], b: tuple[float, ...], centre: tuple[float, float], kind: int
) -> Iterable[tuple[float, float]]:
    """Points of a level move, 1 degree apart on an arc."""
    if kind not in (ARC_CCW, ARC_CW):
        return [(a[0], a[1]), (b[0], b[1])]
    radius = math.dist(a[:2], centre)
    start = math.atan2(a[1] - centre[1], a[0] - centre[0])
    turn = (math.atan2(b[1] - centre[1], b[0] - centre[0]) - start) % math.tau or math.tau
    turn = turn if kind == ARC_CCW else turn - math.tau if turn < math.tau else -math.tau
    return [
        (centre[0] + radius * math.cos(start + turn * k / 360), centre[1] + radius * math.sin(start + turn * k / 360))
        for k in range(361)
    ]


def bored(path: Path, feature: str, bit: float) -> list[Hole]:
    """The holes of one feature of a job, as the interpreter reads its program."""
    (program,) = [program for _, program in lay_out(path, Changes(only=feature)).own]
    return holes(canonical(program.text), bit)


@pytest.mark.parametrize("numbers", VARIED.values(), ids=VARIED)
def test_pins_of_the_jig_stand_where_the_bores_of_the_work_come_to_lie(numbers: JigJobs, tmp_path: Path) -> None:
    files = numbers.write(tmp_path)
    pins = bored(files["jig"], "jig_pins", 3.175)
    board = bored(files["board"], "pin_bores", 3.175)
    neck = [(x, -y, d) for x, y, d in bored(files["neck"], "pin_bores", 3.175)]
    assert len(pins) == len(board) + len(neck)
    for x, y, wide in (*board, *neck):
        near = min(pins, key=lambda pin: math.dist(pin[:2], (x, y)))
        assert math.dist(near[:2], (x, y)) <= MEET
        assert abs(near[2] - wide) <= MEET


@pytest.mark.parametrize("numbers", VARIED.values(), ids=VARIED)
def test_the_bores_are_where_the_jobs_have_them(numbers: JigJobs, tmp_path: Path) -> None:
    """The instrument's places, mirrored where the maker is left-handed: the test above cannot hold by chance."""
    files, seen = numbers.write(tmp_path), -1.0 if numbers.handed == "left" else 1.0
    for part, asked in (("neck", numbers.neck_pins), ("board", numbers.board_pins)):
        found = bored(files[part], "pin_bores", 3.175)
        for (x, y, d), (ax, ay, ad) in zip(found, sorted((x, seen * y, d) for x, y, d in asked), strict=True):
            assert math.dist((x, y), (ax, ay)) <= MEET
            assert abs(d - ad) <= MEET


@pytest.mark.parametrize("numbers", VARIED.values(), ids=VARIED)
def test_all_three_are_under_the_zero_of_one_offset(numbers: JigJobs, tmp_path: Path) -> None:
    files = numbers.write(tmp_path)
    for path in files.values():
        for _, program in lay_out(path, Changes()).own:
            assert {m.offset for m in canonical(program.text).moves if m.kind != RAPID} == {numbers.offset}
