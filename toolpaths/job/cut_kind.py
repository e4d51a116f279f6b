"""The kinds of cuts: a closed list by which checks, drawings and lists decide. Names are text.

A new kind is added here; mypy then shows every place that must know it (`assert_never`).
"""

from __future__ import annotations

from enum import Enum, unique


@unique
class CutKind(Enum):
    """What is cut."""

    face = "face"
    """A whole side of the blank, planed."""
    top = "top"
    """The radiused top of a board."""
    step = "step"
    """A lowered headstock's face."""
    head_back = "headstock's back"
    """Cut level from the back."""
    heel_seat = "heel's seat"
    """The level face of the heel that lies on the body."""
    depth_kerf = "depth kerf"
    """Across the shaft's back, to guide the carver."""
    rough_back = "rough back"
    """The shaft's back near its finished shape, in facets or round."""
    outline = "outline"
    """The kerf around the part."""
    waste = "waste"
    """Beside a kerf: may be cut, need not."""
    tab = "tab"
    """Wood left standing in the outline's kerf."""
    line = "line"
    """A scored line for the saw."""
    line_in_waste = "line in waste"
    """The same line where it runs on beside the part, to the blank's edge."""
    fret_slot = "fret slot"
    marker = "marker"
    side_dot = "side dot"
    pocket = "pocket"
    engraving = "engraving"
    inlay_piece = "inlay piece"
    """The kerf around a piece cut from a sheet."""
    rod_channel = "rod channel"
    adjuster_pocket = "adjuster pocket"
    bar_slot = "bar slot"
    nut_slot = "nut slot"
    tuner_hole = "tuner hole"
    bolt_hole = "bolt hole"
    counterbore = "counterbore"
    pin_hole = "pin hole"
    bed_hole = "bed hole"
    """In the machine's bed, for pins."""
    screw_hole = "screw hole"
    """In waste, for the screws that hold the blank."""
    jig_pin = "jig pin"
    """In a jig, for a pin that stands in the work's own bore."""
    pilot_hole = "pilot hole"
    """In a jig, for the thread of a screw that holds the work."""
    stop_pin = "stop pin"
    """In a jig, for a dowel that the work lies against."""
    seat = "seat"
    """Of a jig: the level floor that blanks lie on."""
    hole = "hole"
    """Any other round hole."""
    ring = "ring"
    """A shallow ring around a bore, to be measured."""
    trial = "trial"
    """A piece of a coupon or a gauge, in scrap, or the face of the waste board."""


HOLES = frozenset({CutKind.tuner_hole, CutKind.bolt_hole, CutKind.counterbore, CutKind.pin_hole, CutKind.hole})
"""Round holes in the work."""
ROD_AND_BARS = frozenset({CutKind.rod_channel, CutKind.adjuster_pocket, CutKind.bar_slot})
"""What lies under the board in a neck, and must have wood around it wherever it runs."""
ON_THE_SURFACE = frozenset(
    {CutKind.line, CutKind.fret_slot, CutKind.marker, CutKind.engraving, CutKind.side_dot, CutKind.ring}
)
"""Shallow work that may come near an edge: the wall under it counts, not the one beside it."""
BACK_SURFACES = frozenset({CutKind.head_back, CutKind.heel_seat, CutKind.depth_kerf, CutKind.rough_back})
"""What takes wood off a neck's back towards the finished neck: nothing that is cut into it."""
FREES = frozenset(
    {
        CutKind.outline,
        CutKind.waste,
        CutKind.tab,
        CutKind.line_in_waste,
        CutKind.inlay_piece,
        CutKind.trial,
        CutKind.bed_hole,
        CutKind.screw_hole,
        CutKind.jig_pin,
        CutKind.pilot_hole,
        CutKind.stop_pin,
        CutKind.seat,
    }
)
"""What frees a part, or lies in no part: no wood of the part need stay beside it."""
