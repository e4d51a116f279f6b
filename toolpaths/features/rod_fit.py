"""Pocket and floor of a rod's channel as a job gives them; whether channel and slots hold rod and bars. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeVar

from pydantic import Field, model_validator

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size, Units, marked, show, show_at_least
from toolpaths.instrument.rods import RODS, body_of
from toolpaths.job.neck import Bars, Rod

T = TypeVar("T")
_SAME = 1e-6
Bought = Literal["rod", "bars"]
_PARTS: dict[Bought, str] = {
    "rod": f"{{kind: double acting, length: {marked(440.0)}}}",
    "bars": f"{{width: {marked(3.2)}, depth: {marked(6.0)}, length: {marked(300.0)}}}",
}
_EXAMPLES: dict[Bought, dict[str, str]] = {
    "rod": {"width": marked(6.4), "depth": marked(9.5), "from": marked(4.0), "to": marked(350.0)},
    "bars": {"width": marked(3.4), "depth": marked(6.0), "from": marked(12.0), "to": marked(330.0)},
}
"""What to write, in numbers."""


class Adjuster(InputModel):
    """The pocket for the adjuster, beyond the channel's end."""

    end: Literal["heel", "nut"] = Field(description="End of the channel at which the pocket begins.")
    width: Size = Field(description="Width of the pocket, at least that of the channel.")
    length: Size = Field(description="Length of the pocket, from the channel's end outwards.")
    depth: Size = Field(description="Depth below the glue face.")


class RodFloor(InputModel):
    """An arc: a circle through the depths at both ends and in the middle."""

    ends: Size = Field(description="Depth at `from` and at `to`, below the glue face.")
    middle: Size = Field(description="Depth in the middle between them, at least as much.")

    @model_validator(mode="after")
    def _ordered(self) -> RodFloor:
        if self.middle < self.ends:
            raise ValueError("`middle` must be at least as deep as `ends`: a one-way rod is lower in the middle")
        return self


def given(value: T | None, key: str, part: Bought) -> T:
    """The value of a key. Raises FeatureError where neither the feature nor the instrument's `part` says it."""
    if value is None:
        must_say({key: None}, part)
    assert value is not None
    return value


def must_say(keys: Mapping[str, object], part: Bought) -> None:
    """Raises FeatureError, naming all of them, where keys have no value, nor the instrument a `part` to say them."""
    missing = [key for key, value in keys.items() if value is None]
    if missing:
        *most, last = [f"`{key}`" for key in missing]
        named = f"{', '.join(most)} and {last} are" if most else f"{last} is"
        examples = ", ".join(f"{key}: {_EXAMPLES[part][key]}" for key in missing)
        raise FeatureError(
            f"{named} not given, and the instrument's neck has no `{part}` to take it from",
            f"write `{examples}` here, or `{part}: {_PARTS[part]}` under `neck` in the instrument",
            missing[0],
        )


def refuse_rod(rod: Rod, channel: tuple[float, float, float | None], floor_key: str, units: Units) -> None:
    """Raises FeatureError where a channel does not hold a rod.

    `channel`: its width, its depth at its ends, and its length over all with the adjuster's pocket; None where it runs
    out of the wood. `floor_key`: the key that says how deep it is.
    """
    (wide, deep, long), (rod_wide, rod_deep) = channel, body_of(rod)
    if wide < rod_wide - _SAME:
        raise FeatureError(
            f"the rod is {show(rod_wide, units)} wide, and the channel {show(wide, units)}",
            f"make the channel {show_at_least(rod_wide, units)} wide or more, or leave `width` out",
            "width",
        )
    if deep < rod_deep - _SAME:
        where = " at its ends" if RODS[rod.kind].rise else ""
        raise FeatureError(
            f"the rod is {show(rod_deep, units)} deep{where}, and the channel {show(deep, units)}: it would stand "
            "above the glue face",
            f"make the channel {show_at_least(rod_deep, units)} deep or more, or leave `{floor_key}` out",
            floor_key,
        )
    if long is not None and long < rod.length - _SAME:
        raise FeatureError(
            f"the rod is {show(rod.length, units)} long, and the channel with its pocket {show(long, units)}",
            f"let it reach {show_at_least(rod.length - long, units)} further, or leave `to` out",
            "to",
        )


def refuse_bars(bars: Bars, slot: tuple[float, float, float], units: Units) -> None:
    """Raises FeatureError where slots do not hold their bars. `slot`: width, depth, and length over its round ends."""
    wide, deep, long = slot
    if wide < bars.width - _SAME:
        raise FeatureError(
            f"the bars are {show(bars.width, units)} wide, and the slots {show(wide, units)}",
            f"make them {show_at_least(bars.width, units)} wide or more, or leave `width` out",
            "width",
        )
    if deep < bars.depth - _SAME:
        raise FeatureError(
            f"the bars are {show(bars.depth, units)} deep, and the slots {show(deep, units)}: they would stand above "
            "the glue face",
            f"make the slots {show_at_least(bars.depth, units)} deep or more, or leave `depth` out",
            "depth",
        )
    if long - wide < bars.length - _SAME:
        raise FeatureError(
            f"the bars are {show(bars.length, units)} long, and the slots {show(long - wide, units)} between their "
            "round ends",
            f"let them reach {show_at_least(bars.length + wide - long, units)} further, or leave `to` out",
            "to",
        )
