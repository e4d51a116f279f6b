"""What only a neck's job may ask for: key to kind. `kinds` joins them to its table."""

from __future__ import annotations

from toolpaths.features.feature import Feature
from toolpaths.features.neck_kinds.bolt_bores import BoltBores
from toolpaths.features.neck_kinds.depth_kerfs import DepthKerfs
from toolpaths.features.neck_kinds.facets import Facets
from toolpaths.features.neck_kinds.headstock_back import HeadstockBack
from toolpaths.features.neck_kinds.headstock_face import HeadstockFace
from toolpaths.features.neck_kinds.heel_face import HeelFace
from toolpaths.features.neck_kinds.reinforcement_slots import ReinforcementSlots
from toolpaths.features.neck_kinds.rough_back import RoughBack
from toolpaths.features.neck_kinds.truss_rod_channel import TrussRodChannel
from toolpaths.features.neck_kinds.tuner_bores import TunerBores

NECK_FEATURES: dict[str, type[Feature]] = {
    "headstock_face": HeadstockFace,
    "headstock_back": HeadstockBack,
    "heel_face": HeelFace,
    "tuner_bores": TunerBores,
    "bolt_bores": BoltBores,
    "truss_rod_channel": TrussRodChannel,
    "reinforcement_slots": ReinforcementSlots,
    "rough_back": RoughBack,
    "facets": Facets,
    "depth_kerfs": DepthKerfs,
}
