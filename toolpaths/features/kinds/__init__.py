"""What a job may ask for. The one table of features: key to kind."""

from __future__ import annotations

from toolpaths.features.feature import Feature
from toolpaths.features.jig_kinds import JIG_FEATURES
from toolpaths.features.kinds.bed_bores import BedBores
from toolpaths.features.kinds.bores import Bores
from toolpaths.features.kinds.engraving import Engraving
from toolpaths.features.kinds.fret_slots import FretSlots
from toolpaths.features.kinds.inlay_pieces import InlayPieces
from toolpaths.features.kinds.locating_pins import LocatingPins
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.nut_slot import NutSlot
from toolpaths.features.kinds.outline import Outline
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.pocket import Pocket
from toolpaths.features.kinds.radius import Radius
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.features.kinds.screw_holes import ScrewHoles
from toolpaths.features.kinds.side_dots import SideDots
from toolpaths.features.kinds.witness_ring import WitnessRing
from toolpaths.features.neck_kinds import NECK_FEATURES
from toolpaths.job.feature_keys import KINDS

FEATURES: dict[str, type[Feature]] = {
    "plane": Plane,
    "score_lines": ScoreLines,
    "fret_slots": FretSlots,
    "radius": Radius,
    "marker_pockets": MarkerPockets,
    "inlay_pieces": InlayPieces,
    "side_dots": SideDots,
    "outline": Outline,
    "pin_bores": PinBores,
    "locating_pins": LocatingPins,
    "bed_bores": BedBores,
    "screw_holes": ScrewHoles,
    "witness_ring": WitnessRing,
    **NECK_FEATURES,
    "bores": Bores,
    "nut_slot": NutSlot,
    "pocket": Pocket,
    "engraving": Engraving,
    **JIG_FEATURES,
}
KINDS.update(FEATURES)
