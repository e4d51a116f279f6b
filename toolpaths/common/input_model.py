"""Base of all input models: frozen, and no unknown keys."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


class InputModel(BaseModel):
    """Base of all models of a job or machine file."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class FaultAt(ValueError):
    """Why values do not fit together, and which key below the model is at fault: its path, a step each."""

    def __init__(self, words: str, *at: str) -> None:
        super().__init__(words)
        self.at = at


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("write a number")
    return float(value)


Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
"""A plain number, whole or not."""
Positive = Annotated[float, BeforeValidator(_number), Field(gt=0, allow_inf_nan=False)]
"""A plain number above 0."""


def _tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


AsTuple = BeforeValidator(_tuple)
"""Lets a YAML list stand for a tuple in strict mode."""
