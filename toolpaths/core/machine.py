"""A machine file: what one router can do and how it wants to be told."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from toolpaths.core.model import AsTuple, Positive, Typed
from toolpaths.core.units import Depth, Length, Size

OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
OffsetName = Literal["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]


class Axes(Typed):
    """One positive length or speed an axis (mm, mm/min or mm/s2 by the key that holds it)."""

    x: Size
    y: Size
    z: Size

    def as_tuple(self) -> tuple[float, float, float]:
        """(x, y, z)."""
        return (self.x, self.y, self.z)


class Spindle(Typed):
    """Range and setting of the spindle."""

    min_rpm: int = Field(gt=0)
    max_rpm: int = Field(gt=0)
    set_by: Literal["program", "hand"] = Field(
        description="program: S and M3 in the text; hand: the operator switches it and turns the dial."
    )
    dial: dict[str, int] = Field(default_factory=dict, description="Dial mark to rpm, where set by hand.")
    spin_up: Positive = Field(default=5.0, description="Seconds until it is up to speed.")


class Collet(Typed):
    """What stands above the bit and must stay out of the wood and the clamps."""

    nut_diameter: Size
    nut_height: Size
    holder_diameter: Size


class Park(Typed):
    """Where the bit waits at the end, in the machine's work coordinates: x, y from the nut line; z above the stock."""

    x: Length
    y: Length


class Machine(Typed):
    """One machine. Lengths mm inside, speeds mm/min, accelerations mm/s2."""

    name: str = Field(min_length=1, max_length=60)
    description: str = ""
    units: Literal["mm", "in"] = Field(description="Units of the programs (and of the bare numbers in this file).")
    travel: Axes
    rapid: Axes = Field(description="Rapid speed by axis, a minute.")
    feed_limit: Axes = Field(description="Highest feed by axis, a minute.")
    acceleration: Axes = Field(description="By axis, a second squared.")
    corner_deviation: Size = Field(default=0.01, description="Junction deviation of the corner speed.")
    spindle: Spindle
    tool_change: Literal["by hand", "automatic"] = "by hand"
    t_word: bool = Field(default=True, description="Whether the controller takes T words.")
    offsets: dict[OffsetName, Annotated[tuple[Length, Length, Length], AsTuple] | None] = Field(
        description="Offsets it knows, each with its machine coordinates of the work's zero where known."
    )
    decimals: int = Field(ge=2, le=6)
    line_length: int = Field(default=80, ge=40, le=256)
    arcs: Literal["none", "xy", "all planes"] = "xy"
    chord_tolerance: Size = Field(default=0.005, description="Where arcs are not taken: how far a chord may stray.")
    comments: bool = True
    dwell: Literal["seconds", "milliseconds"] = "seconds"
    safe_height: Size = Field(description="How far above stock and clamps it travels.")
    park: Park
    bed_allowance: Depth = Field(default=0.2, description="How deep a through cut may go into the waste bed.")
    runout: Depth = 0.0
    collet: Collet
    ending: str = Field(pattern=r"^[a-z0-9]{1,8}$")

    @property
    def half_digit(self) -> float:
        """Half of the last digit that the programs carry, mm."""
        step = 10.0 ** (-self.decimals) * (25.4 if self.units == "in" else 1.0)
        return step / 2

    @property
    def chord_error(self) -> float:
        """How far a written curve may stray from the true one, mm: 0 where arcs are taken."""
        return self.chord_tolerance if self.arcs == "none" else 0.0
