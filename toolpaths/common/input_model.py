"""Base of all input models: frozen, and no unknown keys."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from toolpaths.common.units import decimal_comma


class InputModel(BaseModel):
    """Base of all models of a job or machine file."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class FaultAt(ValueError):
    """Why values do not fit together, and which key below the model is at fault: its path, a step each."""

    def __init__(self, words: str, *at: str) -> None:
        super().__init__(words)
        self.at = at


@dataclass(frozen=True, slots=True)
class Meanings:
    """What each value of a key means, in words for people: beside the type of its field."""

    of: tuple[tuple[str, str], ...]


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError((decimal_comma(value) if isinstance(value, str) else "") or "write a number")
    return float(value)


Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
"""A plain number, whole or not."""
Positive = Annotated[float, BeforeValidator(_number), Field(gt=0, allow_inf_nan=False)]
"""A plain number above 0."""


def _tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


AsTuple = BeforeValidator(_tuple)
"""Lets a YAML list stand for a tuple in strict mode."""
