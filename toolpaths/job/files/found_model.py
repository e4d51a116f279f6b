"""Model of the file of measured values beside a job."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Depth, length, units_of


def _mark(value: str) -> str:
    if re.fullmatch(r"M[1-9][0-9]{0,2}", value) is None:
        raise ValueError("write a mark of the sheet, such as M3")
    return value


MarkName = Annotated[str, AfterValidator(_mark)]


class FoundValue(InputModel):
    """One measured value, mm. `cut`: how many programs were cut when it was written down, where more than usual."""

    value: Depth = Field(description="The value as it was measured.")
    cut: int = Field(
        default=0, ge=0, le=999, description="How many programs were cut by then. Only later ones follow the value."
    )


def _found_value(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, Mapping):
        return value
    return {"value": f"{length(value, units_of(info))!r} mm"}


class Found(InputModel):
    """What was measured on one job's wood. Bare numbers are in the job's units."""

    job: str = Field(pattern=r"^[0-9a-f]{12}$", description="Mark of the job, as its sheet gives it.")
    found: dict[MarkName, Annotated[FoundValue, BeforeValidator(_found_value)]] = Field(
        default_factory=dict, description="Values by the marks of the sheet."
    )
