"""Lines at one depth along any path."""

from __future__ import annotations

from toolpaths.core.bit import Bit
from toolpaths.core.finding import Refusal
from toolpaths.core.operation import Engrave
from toolpaths.core.toolpath import Pen, Section


def engrave(operation: Engrave, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a piece."""
    raise Refusal("this is not built yet")
