"""Model of a machine file: what a router can do and which words its controller needs."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from toolpaths.common.input_model import AsTuple, FaultAt, InputModel, Positive
from toolpaths.common.units import KIND, Between, Depth, Length, Size
from toolpaths.job.measured import Measured

Ending = Literal[
    "nc", "ngc", "gcode", "gc", "g", "tap", "cnc", "din", "iso", "eia", "mpf", "fnc", "ncd", "txt"
]  # fmt: skip
"""Endings that controllers read and that no computer runs or shows as a page: common practice, no source."""
OffsetName = Literal["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]


MOST_POCKETS = 999
"""No changer for wood has more pockets: common practice, no source."""
LOOSEST, STIFFEST = 5.0, 20_000.0
"""No machine that cuts wood is softer or stiffer at its bit, N/mm: common practice, no source."""
_STIFFNESS = re.compile(r"\s*(\d+(?:\.\d*)?|\.\d+)\s*(?:N\s*/\s*mm)?\s*")


def _newtons_a_mm(value: Any) -> float:
    """A stiffness in N/mm, whatever the units of the file. Raises ValueError for anything else."""
    found = _STIFFNESS.fullmatch(value) if isinstance(value, str) and len(value) <= 40 else None
    if found is None and (isinstance(value, bool | str) or not isinstance(value, int | float)):
        raise ValueError("a stiffness is written in N/mm, also where the units are in: 80 or 80 N/mm")
    number = float(found[1] if found else value)
    if not LOOSEST <= number <= STIFFEST:
        raise ValueError(f"must be from {LOOSEST:g} to {STIFFEST:g} N/mm")
    return number


Stiffness = Annotated[
    float,
    BeforeValidator(_newtons_a_mm),
    WithJsonSchema(
        {
            "anyOf": [{"type": "number", "minimum": LOOSEST, "maximum": STIFFEST}, {"type": "string"}],
            KIND: f"number, or text such as `80 N/mm`; {LOOSEST:g} to {STIFFEST:g} N/mm",
        }
    ),
]
"""How hard a machine must be pulled at its bit to give way by 1 mm, N/mm, in whatever units the file is."""


class Axes(InputModel):
    """One positive length or speed an axis (mm, mm/min or mm/s2 by the key that holds it)."""

    x: Size = Field(description="X, along the neck.")
    y: Size = Field(description="Y, across the neck.")
    z: Size = Field(description="Z, up and down.")

    def as_tuple(self) -> tuple[float, float, float]:
        """(x, y, z)."""
        return (self.x, self.y, self.z)


def _marks(value: Any) -> Any:
    """Dial marks are text, though most are written as numbers."""
    return {str(k): v for k, v in value.items()} if isinstance(value, dict) else value


_DIAL = {"type": "object", KIND: "each mark with its rpm, such as `{1: 10000, 2: 13500}`"}
_OFFSETS = {"type": "object", KIND: "`G54` to `G59.3`, each with `[x, y, z]` or `null`"}
_POCKETS = {"type": "object", KIND: f"names of bits, each with a whole number from 1 to {MOST_POCKETS}"}


class Spindle(InputModel):
    """Range and setting of the spindle."""

    min_rpm: int = Field(gt=0, description="Slowest speed that it holds under load, rpm.")
    max_rpm: int = Field(gt=0, description="Fastest speed, rpm.")
    set_by: Literal["program", "relay", "hand"] = Field(
        description="program: S and M3 in the program set it; relay: M3 and M5 switch it, and you turn its dial; "
        "hand: you switch it and turn its dial."
    )
    dial: Annotated[dict[str, int], BeforeValidator(_marks), WithJsonSchema(_DIAL)] = Field(
        default_factory=dict, description="Each mark of the dial with its rpm, where the speed is set by hand."
    )
    spin_up: Positive = Field(default=5.0, le=60, description="Seconds until it is up to speed.")
    power: Positive | None = Field(
        default=None, le=100_000, description="Watts on its label; absent: power is not checked."
    )

    @model_validator(mode="after")
    def _fits(self) -> Spindle:
        if self.min_rpm > self.max_rpm:
            raise ValueError(f"min_rpm {self.min_rpm} is more than max_rpm {self.max_rpm}")
        if self.dialled and not self.dial and self.min_rpm < self.max_rpm:
            how = "switched by a relay" if self.set_by == "relay" else "set by hand"
            raise ValueError(f"a spindle {how} needs its dial: each mark with its rpm, such as {{1: 10000, 2: 14000}}")
        if self.set_by == "program" and self.dial:
            raise ValueError("a spindle set by the program has no dial; leave it out, or write set_by: hand or relay")
        for mark, rpm in self.dial.items():
            if len(mark) > 12 or not re.fullmatch(r"[A-Za-z0-9.+/-]+( [A-Za-z0-9.+/-]+)*", mark):
                raise ValueError(
                    f"dial mark {mark!r} cannot be written in a program: use up to 12 letters, figures and . + - /"
                )
            if not self.min_rpm <= rpm <= self.max_rpm:
                raise ValueError(f"dial mark {mark} gives {rpm} rpm, outside {self.min_rpm} to {self.max_rpm}")
        return self

    @property
    def dialled(self) -> bool:
        """Whether the operator sets the speed on a dial; a relay or the operator may switch the spindle."""
        return self.set_by != "program"


class Collet(InputModel):
    """What stands above the bit and must stay out of the wood and the clamps."""

    nut_diameter: Size = Field(description="Widest diameter of the collet nut.")
    nut_height: Size = Field(description="Height of the collet nut; the holder begins above it.")
    holder_diameter: Size = Field(description="Widest diameter of the spindle's nose and what holds it.")


class Park(InputModel):
    """Where the bit waits at the end, at the safe height: x from the nut line, y from the centreline."""

    x: Length = Field(description="From the nut line along the neck.")
    y: Length = Field(description="From the centreline, away from the operator.")


class Machine(InputModel):
    """One machine. Lengths mm inside, speeds mm/min, accelerations mm/s2."""

    name: str = Field(min_length=1, max_length=60, description="Name of the machine in programs and reports.")
    description: str = Field(default="", max_length=400, description="One line about it.")
    units: Literal["mm", "in"] = Field(description="Units of the programs, and of the numbers in this file.")
    travel: Axes = Field(description="How far each axis can move.")
    rapid: Axes = Field(description="Speed of rapid moves by axis, a minute.")
    feed_limit: Axes = Field(description="Highest feed by axis, a minute.")
    acceleration: Axes = Field(description="Acceleration by axis, a second squared.")
    corner_deviation: Annotated[Size, Between(1e-4, 1.0)] = Field(
        default=0.01,
        description="How far the machine may pass beside a corner's point. The larger, the faster it takes corners.",
    )
    spindle: Spindle = Field(description="Speeds of the spindle, and how they are set.")
    tool_change: Literal["by hand", "automatic"] = Field(
        default="by hand", description="by hand: one program a bit; automatic: one program a setup, with M6."
    )
    pockets: Annotated[dict[str, Annotated[int, Field(ge=1, le=MOST_POCKETS)]], WithJsonSchema(_POCKETS)] = Field(
        default_factory=dict,
        description="For a changer with numbered pockets: each bit's name and the pocket that holds it, such as "
        "`{planer: 1, quarter: 3}`. T words carry these numbers.",
    )
    pocket_count: int | None = Field(
        default=None, ge=1, le=MOST_POCKETS, description="How many pockets the changer has; absent: not checked."
    )
    change_minutes: float = Field(
        default=3.0,
        ge=0,
        le=60,
        allow_inf_nan=False,
        description="Minutes that you need to put a bit in and set its Z.",
    )
    t_word: bool = Field(default=True, description="Whether the controller takes T words.")
    offsets: Annotated[
        dict[OffsetName, Annotated[tuple[Length, Length, Length], AsTuple] | None], WithJsonSchema(_OFFSETS)
    ] = Field(
        min_length=1,
        description="Work offsets of the controller, each with the machine coordinates of its zero, or null.",
    )
    decimals: int = Field(ge=2, le=6, description="Digits after the decimal point in the programs.")
    precision: Literal["double", "single"] = Field(
        default="double", description="How finely the controller computes: single is about 7 digits in all."
    )
    line_length: int = Field(
        default=80, ge=40, le=256, description="How many characters of a line the controller reads."
    )
    line_numbers: bool = Field(
        default=False, description="Whether every line begins with a number, N10, N20 and so on."
    )
    percent_lines: bool = Field(default=False, description="Whether a program begins and ends with a line of %.")
    arcs: Literal["none", "xy", "all planes"] = Field(
        default="xy", description="Planes in which the controller takes G2 and G3."
    )
    chord_tolerance: Annotated[Size, Between(1e-4, 0.1)] = Field(
        default=0.005, description="Where arcs are not taken: how far a straight piece may be off the curve."
    )
    comments: bool = Field(
        default=True,
        description="Whether the controller takes comments in parentheses. If not, the words are in a file "
        "beside each program.",
    )
    dwell: Literal["seconds", "milliseconds"] = Field(default="seconds", description="Unit of the number after G4 P.")
    safe_height: Size = Field(description="How far above stock and clamps the bit travels.")
    park: Park = Field(description="Where the bit waits at the end of a program.")
    bed_allowance: Annotated[Depth, Between(0.0, 20.0)] = Field(
        default=0.2, description="How deep a cut that goes through the wood may go into the bed or the waste board."
    )
    runout: Annotated[Depth, Between(0.0, 2.0)] = Field(
        default=0.0, description="How far a bit wobbles: highest less lowest reading of a dial gauge at the shank."
    )
    collet: Collet = Field(description="Collet nut and holder above the bit.")
    stiffness: Stiffness | None = Field(
        default=None,
        description="Force at the bit that pushes it aside by 1 mm, along the softer of x and y, N/mm; absent: "
        "a low figure for such a machine.",
    )
    measured: Measured | None = Field(
        default=None, description="How far the axes truly go. Programs are corrected by it."
    )
    ending: Ending = Field(description="Ending of the program files' names, without the point.")

    @model_validator(mode="after")
    def _possible(self) -> Machine:
        # One digit less would round a fret line by more than the depth map is asked to show.
        fewest = 3 if self.units == "mm" else 4
        if self.decimals < fewest:
            raise ValueError(f"decimals must be at least {fewest} where the programs are in {self.units}")
        if self.tool_change == "automatic" and not self.t_word:
            raise ValueError("a machine that changes bits by itself needs T words: write t_word: true")
        return self

    @model_validator(mode="after")
    def _in_pockets(self) -> Machine:
        """Each pocket holds one bit, and the machine has it."""
        if self.tool_change == "by hand":
            for key in ("pockets", "pocket_count"):
                if getattr(self, key):
                    raise FaultAt(f"only a changer has pockets; write tool_change: automatic, or take {key} out", key)
        holds: dict[int, str] = {}
        for bit, pocket in self.pockets.items():
            if self.pocket_count is not None and pocket > self.pocket_count:
                words = f"there is no pocket {pocket}: pocket_count says that the changer has {self.pocket_count}"
                raise FaultAt(words, "pockets", bit)
            if pocket in holds:
                words = f"pocket {pocket} already holds {holds[pocket]}; give each bit a pocket of its own"
                raise FaultAt(words, "pockets", bit)
            holds[pocket] = bit
        return self

    @property
    def half_digit(self) -> float:
        """Half of the last digit that the programs carry, mm."""
        step = 10.0 ** (-self.decimals) * (25.4 if self.units == "in" else 1.0)
        return step / 2

    @property
    def chord_error(self) -> float:
        """How far a written curve may stray from the true one, mm: 0 where arcs are taken."""
        return self.chord_tolerance if self.arcs == "none" or not self.keeps_circles else 0.0

    @property
    def correction(self) -> tuple[float, float, float]:
        """Factors on x, y, z as written, with which the machine goes to the wanted place; 1 where not measured."""
        return (1.0, 1.0, 1.0) if self.measured is None else self.measured.factors

    @property
    def lean(self) -> float:
        """How far Y leans toward higher X, radians; 0 where not measured."""
        return 0.0 if self.measured is None or self.measured.square is None else self.measured.square.lean

    @property
    def keeps_circles(self) -> bool:
        """Whether a circle stays one under the correction; else it is an ellipse in the text, written as chords."""
        x, y, _ = self.correction
        return x == y and self.lean == 0.0

    def told(self, x: float, y: float) -> tuple[float, float]:
        """The coordinates, mm, that bring this machine to a true place, mm from the program's zero."""
        fx, fy, _ = self.correction
        return (x - y * math.tan(self.lean)) * fx, y / math.cos(self.lean) * fy

    def truly(self, x: float, y: float) -> tuple[float, float]:
        """Where this machine goes with coordinates, mm from the program's zero: the inverse of `told`."""
        fx, fy, _ = self.correction
        return x / fx + y / fy * math.sin(self.lean), y / fy * math.cos(self.lean)
