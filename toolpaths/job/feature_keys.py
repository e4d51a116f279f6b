"""The keys that every feature takes. `features/feature.py` defines what it cuts, and how."""

from __future__ import annotations

from typing import ClassVar, Literal, Self, get_args

from pydantic import Field, PrivateAttr, field_validator

from toolpaths.common.input_model import InputModel, Positive
from toolpaths.common.units import Depth, FineStep, Size
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.stage import Stage

Lies = Literal["in part", "anywhere", "in scrap", "on machine"]
NO_PART = ("in scrap", "on machine")
"""Of features by which no part is cut."""
MillingDirection = Literal["climb", "conventional"]
LineDirection = Literal["both", "one way"]
GENERAL = (-0.1, 0.1)
"""How far a measure may be off that nothing is fitted to, mm. Common practice, no source."""


KINDS: dict[str, type[FeatureKeys]] = {}
"""Every feature by its key. `features/kinds` fills it, so that a reader of files knows where a key belongs."""


class FeatureKeys(InputModel):
    """Model of the keys that features of every kind have in common."""

    key: ClassVar[str] = ""
    order: ClassVar[Literal["bed", "screws", "first", "face", "inside", "free"]] = "inside"
    """bed: in the bare bed, before the work lies on it; screws: before the screws that hold it are in; first: to be
    measured before all else; each of these in a program of its own. face: before what lies inside; inside: in the
    job's order; free: last, it frees the part."""
    piece: ClassVar[Literal["", "sheet", "edge", "jig"]] = ""
    """What it is cut from: the instrument's blank, a sheet for inlays, the board that stands on edge, or a jig."""
    on_jig: ClassVar[bool] = False
    """Whether a jig may have it too, though it is no jig's alone: it asks nothing of the finished part."""
    lies: ClassVar[Lies] = "in part"
    """in part: what it asks for belongs inside the finished part; anywhere: it may lie in waste on purpose, or another
    check judges its place; in scrap: no part is cut at all; on machine: nor is
    there a blank, but a board of the machine itself."""
    leaves: ClassVar[str] = "the floor around it"
    """What it cuts, in the words of one who measures a depth from there."""
    sized: ClassVar[bool] = True
    """Whether its cuts have a width to measure: what is drawn has one at no place that could be named."""
    within: ClassVar[tuple[float, float]] = GENERAL
    """How far the width of its cuts may be off, below and above, mm. Common practice, no source."""
    within_depth: ClassVar[tuple[float, float]] = GENERAL

    lined: ClassVar[bool] = False
    """Whether it is cut in lines as wide as the bit, whose levels go `both` ways or `one way`."""
    says: ClassVar[tuple[str, ...]] = ()
    """What the header of its program says about where it lies and how zero is found, in sentences."""

    cuts: ClassVar[frozenset[CutKind]]
    """What it cuts: every kind of shape that it may want."""
    stage: ClassVar[Stage]
    """Where what it leaves to the hands stands in the order of their work."""

    bit: str = Field(description="Name of a bit, from the job's `bits` or the rack.")
    rpm: Positive | None = Field(default=None, description="Speed of the spindle.")
    feed: Size | None = Field(default=None, description="Feed in wood.")
    plunge: Size | None = Field(default=None, description="Feed straight down.")
    pass_depth: FineStep | None = Field(default=None, description="Depth of one pass.")
    step_over: Positive | None = Field(
        default=None,
        ge=0.01,
        le=1,
        description="Distance between passes, as a fraction of the bit's diameter.",
    )
    finish_allowance: Depth | None = Field(default=None, description="Wood that is left on walls for the last skim.")
    direction: MillingDirection | LineDirection | None = Field(
        default=None,
        description="`climb` or `conventional`: the direction in which the bit goes along a wall. For lines and "
        "fret slots, which "
        "are as wide as the bit: `both`, where each level goes back the other way, or `one way`.",
    )

    @field_validator("direction")
    @classmethod
    def _of_its_kind(cls, given: str | None) -> str | None:
        allowed = get_args(LineDirection) if cls.lined else get_args(MillingDirection)
        if given is not None and given not in allowed:
            why = "a line is as wide as its bit" if cls.lined else "this goes along walls"
            raise ValueError(f"{why}: write {' or '.join(allowed)}")
        return given

    @property
    def careful(self) -> bool:
        """Whether the job asks for the careful pace of lines; only what is cut in lines can."""
        return False

    _line: int = PrivateAttr(0)
    _name: str = PrivateAttr("")

    @property
    def line(self) -> int:
        """Line in the job file, from 1; 0 where unknown."""
        return self._line

    @property
    def name(self) -> str:
        """Name in reports: its key, numbered where a setup has several of a kind."""
        return self._name or self.key

    @property
    def bits(self) -> tuple[str, ...]:
        """Names of its bits, in the order of their work: one, unless a feature says that another follows."""
        then = getattr(self, "then", None)
        return (self.bit,) if then is None else (self.bit, then)

    def placed(self, name: str, line: int) -> Self:
        """A copy with its name and its line in the job set."""
        copy = self.model_copy()
        copy._name, copy._line = name, line
        return copy
