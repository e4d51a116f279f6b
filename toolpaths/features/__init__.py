"""What a job may ask for. The one table of features: key to kind."""

from __future__ import annotations

from toolpaths.core.feature import Feature
from toolpaths.features.bed_bores import BedBores
from toolpaths.features.bolt_bores import BoltBores
from toolpaths.features.engraving import Engraving
from toolpaths.features.fret_slots import FretSlots
from toolpaths.features.headstock_face import HeadstockFace
from toolpaths.features.inlay_pieces import InlayPieces
from toolpaths.features.marker_pockets import MarkerPockets
from toolpaths.features.nut_slot import NutSlot
from toolpaths.features.outline import Outline
from toolpaths.features.pin_bores import PinBores
from toolpaths.features.plane import Plane
from toolpaths.features.pocket import Pocket
from toolpaths.features.radius import Radius
from toolpaths.features.reinforcement_slots import ReinforcementSlots
from toolpaths.features.score_lines import ScoreLines
from toolpaths.features.side_dots import SideDots
from toolpaths.features.truss_rod_channel import TrussRodChannel
from toolpaths.features.tuner_bores import TunerBores
from toolpaths.features.witness_ring import WitnessRing

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
    "bed_bores": BedBores,
    "witness_ring": WitnessRing,
    "headstock_face": HeadstockFace,
    "tuner_bores": TunerBores,
    "bolt_bores": BoltBores,
    "truss_rod_channel": TrussRodChannel,
    "reinforcement_slots": ReinforcementSlots,
    "nut_slot": NutSlot,
    "pocket": Pocket,
    "engraving": Engraving,
}
