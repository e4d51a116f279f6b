"""What surfaces cut on a neck's back have in common: they are the instrument's, and stay off the finished back."""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show, show_fine
from toolpaths.instrument.headstocks import head_drop
from toolpaths.instrument.necks import back_depth, half_width_at
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Floor

SAME = 0.005
"""A thickness given by a feature is the instrument's within this, mm."""
_ACROSS = 21
_HAIR = 1e-6


def as_in_instrument(given: float | None, own: float, key: str, of: str, units: Units) -> float:
    """A thickness as a feature gives it, or the instrument's. Raises FeatureError where the two differ.

    `key`: the feature's; `of`: the instrument's key, in words.
    """
    if given is None:
        return own
    if abs(given - own) > SAME + _HAIR:
        raise FeatureError(
            f"{show(given, units, 3)} differs from the instrument's {show(own, units, 3)} ({of})",
            f"leave `{key}` out, give {show(own, units, 3)}, or change the instrument",
            key,
        )
    return given


def must_stay_above_the_back(context: SetupContext, x: Array, floor: Floor, remedy: str, key: str) -> None:
    """Refuse a floor that at any of the places x (N,) would cut below the finished back. Raises FeatureError.

    The setup is turned over: a height above its bed is a depth below the glue face.
    """
    instrument, units = context.job.instrument, context.job.units
    half = half_width_at(instrument, x)
    y = half[:, None] * np.linspace(0.0, 1.0, _ACROSS)
    places = np.broadcast_to(x[:, None], y.shape)
    back = back_depth(instrument, places.ravel(), y.ravel(), head_drop(context.job)).reshape(y.shape)
    below = back - floor.height(places.ravel(), y.ravel()).reshape(y.shape)
    i, j = np.unravel_index(int(np.argmax(below)), below.shape)
    # A thickness that is the instrument's but for a rounding is the instrument's.
    if below[i, j] > SAME + _HAIR:
        raise FeatureError(
            f"it would cut {show_fine(float(below[i, j]), units)} below the finished back at x "
            f"{show(float(x[i]), units)}",
            remedy,
            key,
        )
