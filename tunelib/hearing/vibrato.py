"""The vibrato in short windows of a pitch curve: a swing about a line, by least squares, at the rate that fits best."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

_RATES = np.arange(3.5, 9.01, 0.1)  # hertz
_SHARE = 0.5  # of what moves beside the line, from which a swing is one
_WINDOWS_AT_A_TIME = 256


class Swings(NamedTuple):
    """The swing that fits each window best, in arrays of the shape (windows,).

    Parameters
    ----------
    level : array
        Where the line about which it swings is in the middle of the window, in cents.
    rise : array
        Of that line, in cents from one frame to the next.
    rate, width : array
        In hertz, and in cents from peak to peak.
    sure : array of bool
        Whether the swing tells more than half of what moves beside the line, at a rate within bounds.
    """

    level: FloatArray
    rise: FloatArray
    rate: FloatArray
    width: FloatArray
    sure: npt.NDArray[np.bool_]


def best_swings(windows: FloatArray, hop: float) -> Swings:
    """The best swing of each window, an array of the shape (windows, frames) in cents; `hop` is in seconds."""
    parts = [_best(windows[i : i + _WINDOWS_AT_A_TIME], hop) for i in range(0, len(windows), _WINDOWS_AT_A_TIME)]
    return Swings(*(np.concatenate(part) for part in zip(*parts, strict=True)))


def _best(windows: FloatArray, hop: float) -> Swings:
    length = windows.shape[1]
    plain, swings, solvers, leaks = _designs(length, hop)
    lines = windows @ plain
    rest = windows - lines @ plain.T
    total = np.maximum(np.sum(rest**2, axis=1), 1e-12)
    fits = rest @ solvers  # shape (rates, windows, 2)
    share = np.sum((fits @ swings) ** 2, axis=2) / total
    best = np.clip(share.argmax(axis=0), 1, len(_RATES) - 2)
    column = np.arange(best.size)
    low, top, high = (share[best + side, column] for side in (-1, 0, 1))
    bend = np.minimum(low - 2 * top + high, -1e-12)
    amplitudes = fits[best, column]
    lines -= np.einsum("wa,wal->wl", amplitudes, leaks[best])
    return Swings(
        level=lines @ plain.mean(axis=0),
        rise=lines @ (plain[-1] - plain[0]) / (length - 1),
        rate=_RATES[best] + np.clip(0.5 * (low - high) / bend, -0.5, 0.5) * (_RATES[1] - _RATES[0]),
        width=2 * np.hypot(*amplitudes.T),
        sure=(top >= low) & (top >= high) & (top > _SHARE),
    )


@lru_cache(maxsize=8)
def _designs(length: int, hop: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """What windows are fitted with: an orthonormal level and line, and per rate a cosine and sine freed of both.

    Shapes (length, 2), (rates, 2, length), (rates, length, 2) for the matrix that solves for their amplitudes, and
    (rates, 2, 2) for what level and line they were freed of.
    """
    seconds = (np.arange(length) - (length - 1) / 2) * hop
    plain = np.linalg.qr(np.stack((np.ones(length), seconds), axis=1))[0]
    turns = 2 * np.pi * _RATES[:, np.newaxis] * seconds
    swings = np.stack((np.cos(turns), np.sin(turns)), axis=1)
    leaks = swings @ plain
    swings -= leaks @ plain.T
    return plain, swings, np.linalg.pinv(swings), leaks
