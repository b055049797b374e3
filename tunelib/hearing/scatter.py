"""How far values are scattered, told by their median, which a few stray ones do not move."""

from __future__ import annotations

import numpy as np

from tunelib.pitch import FloatArray

_NORMAL = 1.4826  # from the median deviation to the standard deviation of a normal distribution


def scatter(away: FloatArray) -> float:
    """The standard deviation of values that are so far from their middle, as of a normal distribution."""
    return _NORMAL * float(np.median(np.abs(away)))
