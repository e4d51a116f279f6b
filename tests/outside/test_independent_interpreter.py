"""Our reader against an independent RS-274/NGC interpreter, move by move.

Skipped unless NECKPATH_INTERPRETER names the folder that holds it (see interpreter.py).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.outside.interpreter import Refused, canonical, compare, differences, needed
from tests.support.made import laid_out
from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read

pytestmark = needed

ROOT = Path(__file__).parents[2]
DEMOS = sorted([*(ROOT / "demo_jobs").glob("*.yaml"), *(ROOT / "tests" / "cases").glob("*.yaml")])

READY = "G21 G17 G90 G94 G54\nS18000 M3\nG0 X0 Y0 Z5\nF600\n"

PROGRAMS = {
    "straight moves, feeds and speeds": READY + "G1 Z-1\nX10 F300\nS12000\nY5\nM5\nG0 Z5\nM30\n",
    "inches": "G20 G17 G90\nG0 X1 Y.5 Z.25\nF10\nG1 Z-.0625\nG2 X2 Y.5 I.5\nG3 X2 Y.5 I.25 J0 Z-.1\nM2\n",
    "both units": READY + "G1 X10\nG20\nF20\nX1\nG21\nF500\nX1\nG20 G0 X0.1\nM2\n",
    "arcs in three planes": READY
    + "G2 X2 I1\nG3 X2 Y0 Z0 I2\nG18\nG2 X4 I1 K0\nG3 X4 Z0 K3\nX6 Z0 Y4 I1\nG19\nG2 Y6 J1\nG3 Y6 Z0 K3 X9\nM2\n",
    "increments": READY + "G91\nG1 X1\nX1 Y1 Z-1\nG2 X2 I1\nG2 X0 Y0 J2\nG90\nX2 Y1 I-1 J-.0001\nM2\n",
    "offsets": READY + "G1 X1\nG55\nG0 X1 Y2 Z3\nG1 X2\nG59.1\nG0 X1 Y2 Z3\nG59.3\nG0 X1 Y2 Z3\nG54\nG0 X9 Y9 Z9\nM2\n",
    "bit changes": "G21\nT1 M6\nS9000 M3\nG0 X0 Y0 Z5\nM5\nT2\nM6\nX1\nM3 S8000 T3\nX2\nM6\nX3\nM2\n",
    "dwells and stops": READY + "G4 P1.5\nG1 X1\nG4 P0.25 X2\nM0\nX3 M1\nM7\nM8\nM9\nM2\n",
    "odd spacing": "%\ng 2 1\ng0x +0. 12 34y 7z+1.\nN12f1 0 0\nN 00013 g1\tX -.5 (over) Y7.50 (there)\nm30\n%\n",
    "comments": READY + "(G0 Z-50)\n(look)\n(+ MSG, look)\nG1 (F1) X1 (M5) F50\nM2\n",
    "motion cancelled": READY + "G1 X1\nG80\nG1 X2\nG40 G49\nM2\n",
}


@pytest.mark.parametrize("name", PROGRAMS)
def test_programs_written_by_hand_are_understood_alike(name: str) -> None:
    assert [] == compare(PROGRAMS[name])


@pytest.mark.parametrize(
    "line",
    [
        "G0 G1 X1", "G54 G55", "G17 G18", "M3 M5", "M8 M9", "M0 M30", "G1 X1 X2", "F-1", "S-1", "T-1", "T1.5",
        "G4", "G4 P-1", "P1", "G2 X2.1 Y0 I1 J0", "G2 X1 I1 K1", "G18 G2 X1 I1 J1", "G2 X1", "G2 X1 I0 J0",
        "(open", "(a (b))", "G1 X1 )", "G1 N1 X1", "G1 X", "G1 X1.2.3", "GO X1", "12", "X1 (c) 2", "G80 X1",
        "G1 X1 I1", "K1", "G1 F0 X1", "G94\nG1 X1", "G5", "G1.5", "G-1 X1", "G1 X1e3", "G1 X1 %",
        "G1 X" + "1" * 256,
    ],
)  # fmt: skip
def test_both_refuse_what_the_standard_forbids(line: str) -> None:
    with pytest.raises(ReadError):
        read(READY + line + "\nM2\n")
    with pytest.raises(Refused):
        canonical(READY + line + "\nM2\n")


@pytest.mark.parametrize(
    ("theirs", "ours", "difference"),
    [
        ("G1 X1", "G0 X1", "line 5: kind 0, the interpreter has 1"),
        ("G2 X2 I1", "G3 X2 I1", "line 5: kind 3, the interpreter has 2"),
        ("G1 X1 Y2", "G1 X1 Y2.001", "line 5: Y differs by 0.001000 mm"),
        ("G2 X2 Y0 I1", "G2 X2 Y0 I1 J0.001", "line 5: the centre differs along Y"),
        ("G18 G1 X2", "G19 G1 X2", "line 5: plane G19, the interpreter has G18"),
        ("G1 X1 F100", "G1 X1 F101", "line 5: feed 101.0, the interpreter has 100.0"),
        ("G1 X1 S9", "G1 X1 S10", "line 5: speed 10.0, the interpreter has 9.0"),
        ("G55 G0 X1", "G56 G0 X1", "line 5: offset G56, the interpreter has G55"),
        ("G4 P1", "G4 P2", "values of words [('G4', 1, 2.0)], the interpreter has [('G4', 1, 1.0)]"),
        ("M0", "M1", "words [('M1', 1, 0.0)], the interpreter has [('M0', 1, 0.0)]"),
        ("G1 X1", "G1 X1\nX2", "3 moves, the interpreter has 2"),
        ("G1 X1\nM2", "G1 X1", "ended False, the interpreter has True"),
    ],
)
def test_the_comparison_itself_sees_every_kind_of_difference(theirs: str, ours: str, difference: str) -> None:
    assert [difference] == differences(read(READY + ours + "\n"), canonical(f"%\n{READY}{theirs}\n%\n"))


def test_a_refusal_by_either_is_a_difference() -> None:
    assert compare(READY + "G28\nM2\n")[0].startswith("our reader refuses: line 5: G28 is not allowed")
    assert compare(READY + "G1 X1 F0\nM2\n")[0].startswith("the interpreter refuses: Cannot do g1 with zero feed rate")


# Random programs


@dataclass
class Writer:
    """Writes random valid programs. Places are whole numbers of the last digit: 0.001 mm or 0.0001 in."""

    draw: st.DrawFn
    lines: list[str] = field(default_factory=list)
    digits: int = 3
    place: list[int] = field(default_factory=lambda: [0, 0, 0])
    plane: int = 17
    incremental: bool = False
    motion: int = -1
    bit: int = 0
    feed: bool = False

    def text(self) -> str:
        self.units(self.draw(st.sampled_from([20, 21])))
        for _ in range(self.draw(st.integers(1, 25))):
            step = self.draw(
                st.sampled_from([*[self.straight] * 4, *[self.arc] * 4, self.rapid, self.aside, self.mode])
            )
            step()
        self.lines.append(self.draw(st.sampled_from(["M2", "M30", "M5 M30", "m02"])))
        return "\n".join(self.lines) + "\n"

    def units(self, code: int) -> None:
        self.digits = 4 if code == 20 else 3
        self.line([f"G{code}", "G90"])
        self.incremental, self.feed = False, False
        self.lost()

    def lost(self) -> None:
        """Commands every axis, as one has to after a change of what places mean."""
        self.place = [self.draw(st.integers(-99999, 99999)) for _ in range(3)]
        self.motion = 0
        self.line(["G90", "G0", *(f"{a}{self.number(v)}" for a, v in zip("XYZ", self.place, strict=True))])
        self.incremental = False

    def rapid(self) -> None:
        self.to(0, [self.draw(st.integers(-99999, 99999)) for _ in range(3)], [])

    def straight(self) -> None:
        self.to(1, [self.draw(st.integers(-99999, 99999)) for _ in range(3)], self.feed_word())

    def arc(self) -> None:
        """An arc whose ends lie on one circle exactly: a whole-numbered radius vector, turned or mirrored."""
        a, b, n = {17: (0, 1, 2), 18: (0, 2, 1), 19: (1, 2, 0)}[self.plane]
        i, j = self.draw(st.integers(-20000, 20000)), self.draw(st.integers(-20000, 20000))
        if abs(i) + abs(j) < 50:
            i = 50
        p, q = (i, j) if self.draw(st.booleans()) else (j, i)
        p, q = self.draw(st.sampled_from([p, -p])), self.draw(st.sampled_from([q, -q]))
        end = self.place.copy()
        end[a], end[b] = self.place[a] + i + p, self.place[b] + j + q
        if self.draw(st.booleans()):
            end[n] += self.draw(st.integers(-5000, 5000))
        words = []
        for axis, value in ((a, i), (b, j)):
            if value != 0 or (axis == a and j == 0) or self.draw(st.booleans()):
                words.append(f"{'IJK'[axis]}{self.number(value)}")
        self.to(self.draw(st.sampled_from([2, 3])), end, [*words, *self.feed_word()], must=(a, b))

    def feed_word(self) -> list[str]:
        if self.feed and self.draw(st.booleans()):
            return []
        self.feed = True
        return [f"F{self.draw(st.integers(1, 4000))}"]

    def to(self, motion: int, end: list[int], extra: list[str], must: tuple[int, ...] = ()) -> None:
        words = [] if motion == self.motion and self.draw(st.booleans()) else [f"G{motion}"]
        named = [a for a in range(3) if end[a] != self.place[a] or self.draw(st.booleans())]
        if not set(named) & set(must or (0, 1, 2)):
            named.append((must or (0,))[0])
        for a in named:
            value = end[a] - self.place[a] if self.incremental else end[a]
            words.append(f"{'XYZ'[a]}{self.number(value)}")
        self.motion, self.place = motion, end
        self.line([*words, *extra])

    def aside(self) -> None:
        kind = self.draw(st.integers(0, 7))
        self.bit = self.bit if kind != 0 else self.draw(st.integers(1, 99))
        words = {
            0: [f"T{self.bit}"],
            1: ["M3", f"S{self.draw(st.integers(1000, 24000))}"],
            2: ["M5"],
            3: ["G4", f"P{self.number(self.draw(st.integers(0, 9999)))}"],
            4: [self.draw(st.sampled_from(["M7", "M8", "M9"]))],
            5: [self.draw(st.sampled_from(["M0", "M1"]))],
            6: [f"S{self.draw(st.integers(0, 24000))}"],
            7: ["M6"] if self.bit else ["G40", "G49"],
        }
        self.line(words[kind])

    def mode(self) -> None:
        kind = self.draw(st.integers(0, 4))
        if kind == 0:
            self.units(self.draw(st.sampled_from([20, 21])))
        elif kind == 1:
            self.plane = self.draw(st.sampled_from([17, 18, 19]))
            self.line([f"G{self.plane}"])
        elif kind == 2:
            self.incremental = self.draw(st.booleans())
            self.line(["G91" if self.incremental else "G90"])
        elif kind == 3:
            self.line(
                [self.draw(st.sampled_from(["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]))]
            )
            self.lost()
        else:
            word = self.draw(st.sampled_from(["G80", "G94"]))
            self.line([word])
            self.feed = self.feed and word != "G94"
            self.motion = -1

    def number(self, value: int) -> str:
        """A number in one of the ways in which it may be written."""
        text = f"{abs(value):0{self.digits + 1}d}"
        whole, part = text[: -self.digits], text[-self.digits :]
        way = self.draw(st.integers(0, 3))
        if way == 1:
            part = part.rstrip("0")
        elif way == 2:
            whole = whole.lstrip("0") or ("" if part.strip("0") else "0")
        sign = "-" if value < 0 else self.draw(st.sampled_from(["", "", "+"]))
        return f"{sign}{whole}.{part}" if part or way == 1 else f"{sign}{whole}"

    def line(self, words: list[str]) -> None:
        """The words in any order, with blanks, comments, small letters and a line number where they may be."""
        words = list(self.draw(st.permutations(words)))
        if self.draw(st.integers(0, 5)) == 0:
            words.insert(
                self.draw(st.integers(0, len(words))), self.draw(st.sampled_from(["(G0 Z-9)", "( )", "(F1;#)"]))
            )
        if self.draw(st.integers(0, 5)) == 0:
            words.insert(0, f"N{self.draw(st.integers(0, 99999))}")
        text = self.draw(st.sampled_from(["", " ", "\t", "  "])).join(words)
        if self.draw(st.integers(0, 5)) == 0:
            text = text.lower()
        if self.draw(st.integers(0, 5)) == 0 and "(" not in text:
            at = self.draw(st.integers(0, len(text)))
            text = text[:at] + " " + text[at:]
        self.lines.append(text)


@st.composite
def programs(draw: st.DrawFn) -> str:
    return Writer(draw).text()


@given(programs())
@settings(max_examples=50, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_random_programs_are_understood_alike(text: str) -> None:
    assert [] == compare(text)


# Our own programs


@pytest.mark.slow
@pytest.mark.parametrize("job", DEMOS, ids=lambda p: p.stem)
def test_every_program_of_every_demo_is_understood_alike(job: Path) -> None:
    # As they are written: what they are judged to be changes none of their words.
    programs = [program for _, program in laid_out(job).own]
    assert programs
    assert {} == {p.name: found for p in programs if (found := compare(p.text))}
