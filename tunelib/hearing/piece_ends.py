"""Where pieces of a pitch curve may begin and end, and which of its frames count.

A search over all frames would be too slow, and needless: a note begins where pitch changes, where it is struck, or a
little later, when it has settled. Between such frames there are others, so that none is more than 50 ms from one.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.pitch import FloatArray

BRIDGED_GAP = 0.035  # seconds without a pitch that are no pause
SHORTEST_PIECE = 0.05  # seconds

_FASTEST = 4000.0  # cents a second
_SETTLING, _LEAP = (0.0, 0.03, 0.06), 40.0  # seconds after an attack or a leap; cents over some 20 ms
_APART, _STEEP = 0.100, 4.0  # seconds between places at most; cents over some 20 ms


def held(cents: FloatArray, hop: float) -> npt.NDArray[np.bool_]:
    """Frames in which the pitch moves no faster than in a vibrato; what moves faster belongs to no note."""
    if cents.size < 2:
        return np.ones(cents.size, dtype=bool)
    return np.asarray(np.abs(np.gradient(cents, hop)) <= _FASTEST)


def places(cents: FloatArray, worth: FloatArray, hop: float) -> npt.NDArray[np.intp]:
    """Frames of a stretch where a note may begin or end, its two ends among them."""
    reach = max(1, round(0.02 / hop))
    padded = np.pad(cents, reach, mode="edge")
    means = sliding_window_view(padded, reach).mean(axis=1)
    change = np.abs(means[reach : reach + cents.size] - means[: cents.size])
    ranked = np.pad(change + 1e-9 * np.arange(cents.size), reach)
    steep = (sliding_window_view(ranked, 2 * reach + 1).max(axis=1) == ranked[reach:-reach]) & (change >= _STEEP)
    struck = np.append(0, np.flatnonzero((worth > 0) | (steep & (change >= _LEAP))))
    settled = np.concatenate([struck + round(after / hop) for after in _SETTLING])
    found = np.unique(np.concatenate(([0, cents.size], np.flatnonzero(steep), settled[settled < cents.size])))
    between = np.ceil(np.diff(found) * hop / _APART - 1e-9).astype(int)
    spread = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(found, found[1:], between, strict=False)]
    return np.unique(np.append(np.rint(np.concatenate(spread)), cents.size).astype(np.intp))
