"""Where frets stand, and how far off a misplaced one sounds: equal temperament of twelve steps an octave."""

from __future__ import annotations

import math

import numpy as np

from toolpaths.common.arrays import Array

STEPS = 12
"""Frets to the octave."""


def fret_distance(scale: float, fret: float) -> float:
    """Distance from the nut to the centre of a fret, mm, for a scale length in mm.

    d = L (1 - 2^(-n / 12)). Fret 0 is the nut; a fraction lies between two frets.
    Source: equal temperament with twelve equal steps an octave; see docs/sources.md.
    """
    return scale * (1.0 - math.pow(2.0, -fret / STEPS))


def fret_distances(scale: float, frets: int) -> Array:
    """Distances from the nut to frets 1 to `frets`, (N,) mm. Source: as `fret_distance`."""
    return np.array([fret_distance(scale, n) for n in range(1, frets + 1)], dtype=np.float64)


def spacing(scale: float, frets: int) -> Array:
    """Distances between neighbours, (N,) mm: nut to fret 1 first, then fret to fret."""
    return np.diff(fret_distances(scale, frets), prepend=0.0)


def cents_between(f1: float, f2: float) -> float:
    """Cents from one frequency to another, positive where the second is higher.

    1200 log2(f2 / f1). Source: the definition of the cent.
    """
    return 1200.0 * math.log2(f2 / f1)


def cents_off(scale: float, fret: float, error: float) -> float:
    """Cents by which a fret that stands `error` mm from its place sounds off.

    `error` and `scale` in mm; positive is towards the bridge, which sounds sharp.
    A string's frequency goes inversely with its sounding length (Mersenne's law), so this is
    1200 log2(l / (l - error)) with l the length from the fret's right place to the bridge.
    String stretch and saddle compensation are left out: they are set up by hand afterwards.
    Raises ValueError where the fret would stand at the bridge or beyond it.
    """
    sounding = scale - fret_distance(scale, fret)
    if error >= sounding:
        raise ValueError("the fret would be at the bridge or beyond it")
    return cents_between(sounding - error, sounding)
