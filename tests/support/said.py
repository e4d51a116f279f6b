"""A refusal as its reader sees it."""

from __future__ import annotations

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, in_units


def said(error: FeatureError, units: Units = "mm") -> str:
    """What is wrong, lengths in the reader's units."""
    return in_units(error.problem, units)
