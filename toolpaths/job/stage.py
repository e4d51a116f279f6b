"""The stages of the work by hand, in working order."""

from __future__ import annotations

from enum import Enum


class Stage(Enum):
    """When something is done by hand: its place in the list, and the list's heading."""

    before = (0, "Before and between the setups")
    off_router = (1, "When it comes off the router")
    fill = (2, "Markers and inlays")
    bars = (3, "Channel and bars")
    channel = (4, "Channel and bars")
    slots = (5, "The slots")
    top = (6, "The top")
    edges = (7, "Edges and binding")
    frets = (8, "Frets")
    glue = (9, "Gluing")
    trim = (10, "Gluing")
    back = (11, "The back")
    holes = (12, "Holes")

    @property
    def title(self) -> str:
        """The heading under which it stands."""
        return self.value[1]
