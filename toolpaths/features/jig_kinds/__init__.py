"""What a jig's job may ask for beside `plane`, `bores` and drawings: key to kind. `kinds` joins them to its table."""

from __future__ import annotations

from toolpaths.features.feature import Feature
from toolpaths.features.jig_kinds.guide_lines import GuideLines
from toolpaths.features.jig_kinds.jig_pins import JigPins
from toolpaths.features.jig_kinds.names import Names
from toolpaths.features.jig_kinds.pilot_holes import PilotHoles
from toolpaths.features.jig_kinds.seat import Seat
from toolpaths.features.jig_kinds.stop_pins import StopPins

JIG_FEATURES: dict[str, type[Feature]] = {
    "seat": Seat,
    "jig_pins": JigPins,
    "pilot_holes": PilotHoles,
    "stop_pins": StopPins,
    "guide_lines": GuideLines,
    "names": Names,
}
