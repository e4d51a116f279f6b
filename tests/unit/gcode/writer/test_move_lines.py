"""However short an arc is and however it lies, the text turns as far as was meant. It is read by its own reader."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pytest

from tests.support.setup_builder import context
from tests.support.text_moves import Point, TextMove, TextReader
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.move_lines import MoveLines
from toolpaths.geometry.loop import Loop
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stock import Skew
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Step, ToolpathBuilder

SHIPPED = {name: load_machine(name) for name in ("bench-router", "hand-dial", "shop-gantry", "small-frame")}
EVEN = Measured.model_validate({a: {"commanded": 500, "measured": 499.3} for a in "xyz"})
UNEVEN = Measured.model_validate({"x": {"commanded": 500, "measured": 499.3}, "y": {"commanded": 300, "measured": 301}})
MACHINES = {
    **SHIPPED,
    "corrected": SHIPPED["bench-router"].model_copy(update={"measured": EVEN}),
    "corrected unevenly": SHIPPED["bench-router"].model_copy(update={"measured": UNEVEN}),
    "five decimals": SHIPPED["shop-gantry"].model_copy(update={"decimals": 5}),
    "inch with arcs": SHIPPED["hand-dial"].model_copy(update={"arcs": "xy"}),
}
SKEWS = {"straight": None, "skewed": Skew(points=((40.5, 0.63), (690.1, -1.19)))}
Z = 20.0


@dataclass(frozen=True)
class Meant:
    """A step, with where it starts and how far it turns, known from how it was made and not from the step."""

    step: Step
    start: Point
    turn: float = 0.0

    @property
    def length(self) -> float:
        run = abs(self.turn) * self.radius if self.turn else math.dist(self.start[:2], (self.step.x, self.step.y))
        return math.hypot(run, self.step.z - self.start[2])

    @property
    def radius(self) -> float:
        assert isinstance(self.step, Arc)
        return math.hypot(self.start[0] - self.step.cx, self.start[1] - self.step.cy)

    def off(self, x: float, y: float) -> float:
        """How far a place lies from it as seen from above, mm."""
        ends = min(math.dist((x, y), self.start[:2]), math.dist((x, y), (self.step.x, self.step.y)))
        if not isinstance(self.step, Arc):
            ax, ay = self.start[:2]
            dx, dy = self.step.x - ax, self.step.y - ay
            t = ((x - ax) * dx + (y - ay) * dy) / ((dx * dx + dy * dy) or 1.0)
            return min(ends, math.dist((x, y), (ax + t * dx, ay + t * dy))) if 0 <= t <= 1 else ends
        cx, cy = self.step.cx, self.step.cy
        gone = math.atan2(y - cy, x - cx) - math.atan2(self.start[1] - cy, self.start[0] - cx)
        if gone * math.copysign(1.0, self.turn) % (2 * math.pi) <= abs(self.turn):
            return min(ends, abs(math.dist((x, y), (cx, cy)) - self.radius))
        return ends


def lying(machine: Machine, skew: Skew | None) -> SetupContext:
    return context(machine=machine, setup={} if skew is None else {"skew": skew})


def told(at: SetupContext, meant: list[Meant]) -> Iterator[tuple[Meant, list[TextMove]]]:
    """Each step with the moves that the text has for it, turned back into the setup's frame and mm."""
    lines = MoveLines(GcodeFormat(at.machine), at, 0.0)
    lines.steps((Rapid(*meant[0].start),))
    reader = TextReader()
    reader.read(lines.lines)
    for step in meant:
        before = len(lines.lines)
        lines.steps((step.step,))
        yield step, reader.read(lines.lines[before:])


def in_frame(at: SetupContext) -> Callable[[Point], Point]:
    """Takes a place of the text into the setup's frame, mm: units, measured factors and skew taken off again."""
    unit = 25.4 if at.machine.units == "in" else 1.0
    (turn, shift), (zx, zy, zz) = at.skew, at.zero
    fx, fy, fz = (unit / f for f in at.machine.correction)
    c, s = math.cos(turn), math.sin(turn)

    def taken(place: Point) -> Point:
        x, y, z = place[0] * fx, place[1] * fy, place[2] * fz
        return zx + x * c + y * s, zy - x * s + y * c - shift, zz + z

    return taken


def assert_as_meant(at: SetupContext, meant: list[Meant]) -> int:
    """Every step's moves end where it ends, lie on it and are as long. Returns how many arcs the text has."""
    digit, chord = 2 * at.machine.half_digit, at.machine.chord_tolerance
    unit = 25.4 if at.machine.units == "in" else 1.0
    arcs, framed = 0, in_frame(at)
    for step, moves in told(at, meant):
        # Two rounded ends and the centre solved again; a chord strays by its tolerance, its ends by half digits.
        allowed = 3 * digit + (0.0 if all(m.sweep for m in moves) else chord)
        places = [framed(p) for m in moves for p in m.points(max(m.length / (12 if m.sweep else 3), 1e-4))]
        assert allowed >= max((step.off(x, y) for x, y, _ in places), default=0.0), (step, moves)
        length = sum(
            m.length * unit / at.machine.correction[0] if m.sweep else math.dist(framed(m.start), framed(m.end))
            for m in moves
        )
        # Chords for an error e are shorter by about a third of e a radian; each rounded end adds or takes a digit.
        spare = (4 + 2 * len(moves)) * digit + abs(step.turn) * chord / 3 + 2e-5 * length
        assert abs(length - step.length) <= spare, (step, moves)
        curved = [m for m in moves if m.sweep]
        arcs += len(curved)
        if curved and len(curved) == len(moves):
            # In one arc, or in two of half the turn each.
            slack = 4.5 * len(curved) * digit / step.radius
            assert step.turn == pytest.approx(sum(m.sweep for m in curved), abs=slack), (step, moves)
        end = framed(moves[-1].end) if moves else None
        if end is not None:
            assert 0.87 * digit >= math.dist(end, (step.step.x, step.step.y, step.step.z))
    return arcs


def chain(seed: int, turned: float, count: int = 20) -> list[Meant]:
    """Arcs and straight cuts one after the other: lengths from a millionth of a mm, radii from 0.01 mm to 300 mm."""
    rng = np.random.default_rng(seed)
    x, y, z, heading = 60.0, 3.0, 5.0, math.radians(turned)
    out: list[Meant] = []
    for _ in range(count):
        down = z + float(rng.choice([0.0, 0.0, -1e-4, 1e-3, 0.02]))
        start, length = (x, y, z), 10 ** float(rng.uniform(-6, 0.5))
        if rng.random() < 0.2:
            x, y = x + length * math.cos(heading), y + length * math.sin(heading)
            out.append(Meant(Feed(x, y, down, 500.0), start))
        else:
            radius = 10 ** float(rng.uniform(-2, 2.5))
            turn = min(length / radius, 1.9 * math.pi) * float(rng.choice([-1, 1]))
            side = math.copysign(radius, turn)
            cx, cy = x - side * math.sin(heading), y + side * math.cos(heading)
            heading += turn
            x, y = cx + side * math.sin(heading), cy - side * math.cos(heading)
            out.append(Meant(Arc(x, y, down, cx, cy, turn > 0, 500.0), start, turn))
        z = down
    return out


_WAYS = [(name, lies) for name in MACHINES for lies in SKEWS]
_SHIPPED_STRAIGHT = [(name, "straight") for name in SHIPPED]
each_way = pytest.mark.parametrize(
    ("name", "lies", "turns"),
    [
        # Every turn on one of the shipped machines, where nothing is askew; on others every 23rd.
        *((*way, range(k, 360, 4)) for k, way in enumerate(_SHIPPED_STRAIGHT)),
        *((*way, range(0, 360, 23)) for way in _WAYS if way not in _SHIPPED_STRAIGHT),
        *(pytest.param(*way, range(360), marks=pytest.mark.slow) for way in _SHIPPED_STRAIGHT),
    ],
    ids=lambda v: f"every {v.step}" if isinstance(v, range) else v,
)


@each_way
def test_short_arcs_are_written_as_they_are_meant_at_each_of_360_turns(name: str, lies: str, turns: range) -> None:
    at = lying(MACHINES[name], SKEWS[lies])
    arcs = sum(assert_as_meant(at, chain(degree, degree)) for degree in turns)
    # Most of the longer ones are arcs where the machine takes them.
    assert (arcs > 2 * len(turns)) == (at.machine.arcs != "none" and at.machine.keeps_circles)


def ring(turned: float) -> ArcLengthPath:
    """A pocket's ring of 14 x 9 mm with roundings of 0.003, 0.03, 0.4 and 3 mm, turned by so many degrees."""
    points: list[tuple[float, float]] = []
    for (x, y), (ix, iy), (ox, oy), r in (
        ((0.0, 0.0), (0, 1), (1, 0), 0.03),
        ((14.0, 0.0), (-1, 0), (0, 1), 0.4),
        ((14.0, 9.0), (0, -1), (-1, 0), 3.0),
        ((0.0, 9.0), (1, 0), (0, -1), 0.003),
    ):
        points += [(x + r * ix, y + r * iy), (x + r * ox, y + r * oy)]
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    array = np.array(points) @ np.array([[c, s], [-s, c]]) + np.array([178.3, 7.7])
    return ArcLengthPath.along(Loop(array, np.array([math.tan(math.pi / 8), 0.0] * 4)))


@each_way
def test_a_pocket_entered_beside_the_end_of_an_arc_is_cut_on_its_ring_at_each_of_360_turns(
    name: str, lies: str, turns: range
) -> None:
    at = lying(MACHINES[name], SKEWS[lies])
    rng = np.random.default_rng(5)
    for degree in turns:
        track = ring(degree)
        # As a ramp does: it begins and ends a little before or behind where an arc meets a straight edge.
        first = float(rng.choice(track.ends)) + float(rng.choice([-1, 1])) * 10 ** float(rng.uniform(-8, -2))
        pen = ToolpathBuilder(safe=Z, z=Z)
        pen.travel(*track.at(first))
        pen.cut(pen.x, pen.y, 5.0, 200.0)
        start = (pen.x, pen.y, pen.z)
        pen.steps.clear()
        track.run(pen, first, first + track.length / 3, 5.0, 4.6, 600.0)
        track.run(pen, first + track.length / 3, first + track.length * 4 / 3, 4.6, 4.6, 800.0)
        meant = []
        for step in pen.steps:
            turn = 0.0
            if isinstance(step, Arc):
                # No rounding of this ring turns by more than a quarter.
                a, b = ((x - step.cx) + (y - step.cy) * 1j for x, y in (start[:2], (step.x, step.y)))
                turn = math.atan2((b / a).imag, (b / a).real)
                assert -1e-9 <= turn <= math.pi / 2 + 1e-9
            meant.append(Meant(step, start, turn))
            start = (step.x, step.y, step.z)
        assert_as_meant(at, meant)


@pytest.mark.parametrize("turn", [359.0, 359.99, -359.9, 270.0, -200.0])
@pytest.mark.parametrize("name", MACHINES)
def test_an_arc_of_nearly_a_whole_turn_is_written_in_two(name: str, turn: float) -> None:
    sweep, r = math.radians(turn), 2.0
    at = lying(MACHINES[name], None)
    framed = in_frame(at)
    for degree in range(0, 360, 31):
        a = math.radians(degree)
        start, end = ((30 + r * math.cos(t), 4 + r * math.sin(t)) for t in (a, a + sweep))
        step = Arc(*end, 5.0, 30.0, 4.0, sweep > 0, 500.0)
        meant = Meant(step, (*start, 5.0), sweep)
        moves = [m for _, some in told(at, [meant]) for m in some]
        assert 5 * at.machine.half_digit + at.machine.chord_tolerance >= max(
            meant.off(*framed(p)[:2]) for m in moves for p in m.points(0.05)
        )
        lengths = [m.length for m in moves]
        unit = 25.4 if at.machine.units == "in" else 1.0
        assert abs(sweep) * r == pytest.approx(sum(lengths) * unit, abs=0.03)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("decimals", [3, 4, 5])
def test_upright_arcs_turn_as_far_as_the_cuts_that_they_stand_for(axis: int, decimals: int) -> None:
    """Hollows from 0.1 mm long and from 1 mm to 15 m in radius: their length is that of the straight cuts."""
    at = lying(SHIPPED["shop-gantry"].model_copy(update={"decimals": decimals}), None)
    rng, arcs = np.random.default_rng(8), 0
    for _ in range(200):
        radius, side = 10 ** float(rng.uniform(0, 4.1)), float(rng.choice([-1, 1]))
        run = min(10 ** float(rng.uniform(-1, 2)), 0.5 * radius)
        places = float(rng.uniform(0, 90)) + np.linspace(-0.4, 0.6, 30) * run * float(rng.choice([-1, 1]))
        middle = places[0] * 0.6 + places[-1] * 0.4
        heights = 5.0 + side * (radius - np.sqrt(radius**2 - (places - middle) ** 2))
        steps = [
            Feed(*((p, 4.0) if axis == 0 else (4.0, p)), h, 500.0)
            for p, h in zip(places.tolist(), heights.tolist(), strict=True)
        ]
        lines = MoveLines(GcodeFormat(at.machine), at, 0.0)
        lines.steps((Rapid(steps[0].x, steps[0].y, steps[0].z), *steps[1:]))
        moves = TextReader().read(lines.lines)
        curved = [m for m in moves if m.sweep]
        arcs += len(curved)
        assert {18 - axis + 2 * axis} >= {m.plane for m in curved}
        digit = 10.0**-decimals
        cut = sum(m.length for m in moves if m.code)
        exact = radius * abs(math.asin((places[-1] - middle) / radius) - math.asin((places[0] - middle) / radius))
        assert exact == pytest.approx(cut, rel=1e-3, abs=30 * digit)
        for move in curved:
            for p in move.points(move.length / 20):
                height = 5.0 + side * (radius - math.sqrt(radius**2 - (p[axis] - middle) ** 2))
                # gcode/writer/vertical_arcs.py: 0.004 mm from the cuts at most; 30 chords of the hollow stray less.
                assert 0.006 + 2 * digit >= abs(height - p[2])
    assert arcs > 50
