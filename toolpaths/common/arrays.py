"""Short names for the types of numpy arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Numbers of double precision; what a function takes or returns, its docstring says with shape and unit."""
Ints = NDArray[np.int64]
"""Whole numbers: counts, indices, numbers of moves and bits."""
Mask = NDArray[np.bool_]
"""True and false, element by element."""
