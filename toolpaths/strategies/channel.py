"""Slots of constant width: exact to the walls, floor level or curved."""

from __future__ import annotations

from toolpaths.core.bit import Bit
from toolpaths.core.finding import Refusal
from toolpaths.core.operation import Channel
from toolpaths.core.toolpath import Pen, Section


def channel(operation: Channel, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a piece."""
    raise Refusal("this is not built yet")
