"""Rows of values between their samples: what they are there, and where they have a maximum."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

ROUGH_TAPS, FINE_TAPS = np.arange(-8, 9), np.arange(-16, 17)
"""The neighbours that a value between two is made of: where single precision does, and for the best that there is."""


def maximum_near(values: FloatArray, near: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where rows of values have their maximum near these places, and how high it is, by ever narrower parabolas."""
    whole = np.rint(near).astype(np.intp)
    picked = _taken(values, whole, FINE_TAPS)
    offset = near - whole
    for width in (0.5, 0.2, 0.05):
        spots = offset[:, np.newaxis] + width * np.array([-1.0, 0.0, 1.0])
        left, here, right = np.einsum("ft,fst->sf", picked, _weights(spots, FINE_TAPS))
        bend = left - 2 * here + right
        move = np.where(bend < 0, 0.5 * (left - right) / np.minimum(bend, -1e-12), np.sign(right - left))
        offset = np.clip(offset + width * np.clip(move, -2, 2), -1.5, 1.5)
    return whole + offset, np.einsum("ft,ft->f", picked, _weights(offset, FINE_TAPS))


def between(values: npt.NDArray[Any], places: FloatArray, taps: npt.NDArray[np.intp]) -> FloatArray:
    """Rows of values between their columns, at places of shape (rows, any)."""
    whole = np.rint(places).astype(np.intp)
    return np.asarray(np.einsum("fkt,fkt->fk", _taken(values, whole, taps), _weights(places - whole, taps)))


def _taken(values: npt.NDArray[Any], whole: npt.NDArray[np.intp], taps: npt.NDArray[np.intp]) -> npt.NDArray[Any]:
    """Values at columns about `whole`; rows are even about column 0, and their last value goes on."""
    columns = np.minimum(np.abs(whole[..., np.newaxis] + taps), values.shape[1] - 1)
    rows = np.arange(len(values)).reshape(-1, *[1] * (columns.ndim - 1))
    return np.asarray(values[rows, columns])


def _weights(offset: FloatArray, taps: npt.NDArray[np.intp]) -> FloatArray:
    """Weights of neighbouring values for the value at an offset from the middle one: a sinc under a Gaussian.

    The Gaussian falls to ``exp(-12.5)`` at the last tap, so what is at 0.75 of half the sample rate or below comes
    out within a few millionths.
    """
    offset = offset + 1e-12  # off the taps, where the sinc is 0 / 0
    distance = offset[..., np.newaxis] - taps
    spread = 0.1 * taps.size
    sinc = np.sin(np.pi * offset)[..., np.newaxis] * (1 - 2 * (taps % 2)) / distance
    weights = sinc * np.exp(-0.5 * (distance / spread) ** 2)
    return np.asarray(weights / weights.sum(axis=-1, keepdims=True))
