"""What turns in the collet: one file a shape."""

from __future__ import annotations

from toolpaths.bits.flat import Flat
from toolpaths.bits.vee import Vee
from toolpaths.core.bit import Bit

BITS: dict[str, type[Bit]] = {
    Flat.kind: Flat,
    Vee.kind: Vee,
}
"""Every shape of bit, by the word that a job or the rack uses for it."""
