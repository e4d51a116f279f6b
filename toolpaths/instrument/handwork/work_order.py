"""What is left by hand, in the order in which a maker does it: groups with their words and tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.job import SAWN_FIRST, Job

BEFORE, AFTER = "Before and between the setups", "When it comes off the router"
_FILL, _SLOTS, _TOP, _EDGES, _FRETS = (
    "Markers and inlays",
    "The slots",
    "The top",
    "Edges and binding",
    "Frets",
)
_CHANNEL, _GLUE, _BACK, _HOLES = "Channel and bars", "Gluing", "The back", "Holes"

_OF_FEATURE = {
    "outline": AFTER,
    "plane": AFTER,
    "headstock_face": AFTER,
    "marker_pockets": _FILL,
    "pocket": _FILL,
    "engraving": _FILL,
    "inlay_pieces": _FILL,
    "side_dots": _FILL,
    "score_lines": _SLOTS,
    "fret_slots": _SLOTS,
    "radius": _TOP,
    "truss_rod_channel": _CHANNEL,
    "reinforcement_slots": _CHANNEL,
    "nut_slot": _CHANNEL,
    "tuner_bores": _HOLES,
    "bolt_bores": _HOLES,
    "pin_bores": _GLUE,
}
_OF_GROUP: dict[str, str] = {
    "top": _TOP,
    "edges": _EDGES,
    "frets": _FRETS,
    "glue": _GLUE,
    "back": _BACK,
    "holes": _HOLES,
}


@dataclass(frozen=True, slots=True)
class Group:
    """One stretch of the work."""

    title: str
    entries: tuple[Handwork, ...]


def groups_of(job: Job, work: Sequence[Handwork]) -> list[Group]:
    """The work in groups, in the order of a board or of a neck; none empty."""
    keys = {f.name: f.key for setup in job.setups for f in setup.features}
    if job.part == "neck":
        order = [BEFORE, AFTER, _FILL, _CHANNEL, _GLUE, _BACK, _HOLES]
    elif SAWN_FIRST in job.by_hand:
        order = [BEFORE, AFTER, _FILL, _SLOTS, _TOP, _EDGES, _FRETS]
    else:
        order = [BEFORE, AFTER, _FILL, _TOP, _SLOTS, _EDGES, _FRETS]
    place = _placing(keys, order)
    # Bars are glued in and levelled before anything else goes into the neck.
    work = sorted(work, key=lambda entry: keys.get(entry.feature) != "reinforcement_slots")
    return [
        Group(title, entries) for title in order if (entries := tuple(entry for entry in work if place(entry) == title))
    ]


def in_order(job: Job, work: Sequence[Handwork]) -> tuple[Handwork, ...]:
    """The same work, as it is done one after the other."""
    return tuple(entry for group in groups_of(job, work) for entry in group.entries)


def _placing(keys: dict[str, str], order: Sequence[str]) -> Callable[[Handwork], str]:
    def place(entry: Handwork) -> str:
        of_feature = _OF_FEATURE.get(keys.get(entry.feature, ""), AFTER)
        title = BEFORE if entry.when else _OF_GROUP.get(entry.group, of_feature)
        return title if title in order else AFTER

    return place
