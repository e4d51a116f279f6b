"""What lies on each long side of a setup, as it is seen at the machine, and where its nut is."""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.instrument.fans import FretLine, nut_front
from toolpaths.verification.outcome import SetupReport

OPERATOR = "operator's side"


@dataclass(frozen=True, slots=True)
class Sides:
    """Words for the two long sides: `near` lies at the operator (low y), `far` away; `far` may be empty.

    `nut`: the name of the line at the nut, and that line in the setup's frame, mm; None where the setup has no nut.
    """

    near: str
    far: str
    nut: tuple[str, FretLine] | None

    @property
    def near_words(self) -> str:
        """`bass side, operator's side`; the operator's side alone where that is all."""
        return ", ".join(dict.fromkeys(word for word in (self.near, OPERATOR) if word))


def sides_of(setup: SetupReport) -> Sides:
    """The sides of one setup.

    Instruments are described with the bass side at low y; a left-handed one, and one that is turned over, is
    mirrored there; one that is both is not (`SetupContext.mirror`).
    """
    context = setup.context
    if context.setup.stand is not None:
        near, far = ("back", "face") if context.faces_away else ("face", "back")
        return Sides(f"{near} of the board", f"{far} of the board", ("nut end", FretLine(0.0)))
    if context.apart:
        return Sides("", "", None)
    if context.job.part == "jig":
        return Sides("", "", ("nut line", FretLine(0.0)))
    near, far = ("bass side", "treble side") if context.mirror > 0 else ("treble side", "bass side")
    line = nut_front(context.job.instrument)
    return Sides(near, far, ("nut", FretLine(line.x, context.mirror * line.lean)))
