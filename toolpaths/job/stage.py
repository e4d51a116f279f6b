"""The stages of the work by hand, in working order."""

from __future__ import annotations

from enum import Enum, unique


@unique
class Heading(Enum):
    """The headings of the list of handwork; neighbouring stages may share one."""

    before = "Before and between the setups"
    off_router = "When it comes off the router"
    inlays = "Markers and inlays"
    channel = "Channel and bars"
    slots = "The slots"
    top = "The top"
    edges = "Edges and binding"
    frets = "Frets"
    glue = "Gluing"
    back = "The back"
    holes = "Holes"


class Stage(Enum):
    """When something is done by hand: its place in the list, and the heading it is listed under."""

    before = (0, Heading.before)
    off_router = (1, Heading.off_router)
    fill = (2, Heading.inlays)
    bars = (3, Heading.channel)
    channel = (4, Heading.channel)
    slots = (5, Heading.slots)
    top = (6, Heading.top)
    edges = (7, Heading.edges)
    frets = (8, Heading.frets)
    glue = (9, Heading.glue)
    trim = (10, Heading.glue)
    back = (11, Heading.back)
    holes = (12, Heading.holes)

    @property
    def rank(self) -> int:
        """Its place in the list."""
        return self.value[0]

    @property
    def heading(self) -> Heading:
        """The heading under which it is listed."""
        return self.value[1]
