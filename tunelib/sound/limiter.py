"""One limiter, through which everything that is rendered passes."""

from __future__ import annotations

import numpy as np

from tunelib.pitch import FloatArray

SAMPLE_RATE = 48_000
"""Samples a second, unless another rate is asked for."""
LOOK_AHEAD_SECONDS = 0.05


def limit(samples: FloatArray, ceiling: float, sample_rate: int = SAMPLE_RATE) -> FloatArray:
    """Turn down, smoothly and no more than needed, what would pass a ceiling.

    The gain that each sample needs is taken at its lowest over 50 ms before and after, then averaged twice over 50 ms:
    the result lies at or under what every sample needs, is 1 wherever no loud sample lies within 100 ms, and bends
    nowhere. Nothing is clipped, and nothing is turned up. The same array comes back where no sample passes.

    Parameters
    ----------
    samples : array, shape (samples,)
    ceiling : float
        The largest magnitude that may leave, above 0 and at most 1.
    sample_rate : int
        In hertz.
    """
    if not 0 < ceiling <= 1:
        raise ValueError(f"a ceiling lies above 0 and at 1 at most, not at {ceiling}")
    peak = np.abs(samples).max(initial=0.0)
    if peak <= ceiling:
        return samples
    half = max(1, round(LOOK_AHEAD_SECONDS * sample_rate))
    # A hair under the ceiling, since the running sums below round.
    needed = np.minimum(1.0, ceiling * (1 - 1e-9) / np.maximum(np.abs(samples), ceiling * 1e-3))
    lowest = _running_minimum(np.pad(needed, 2 * half, constant_values=1.0), half)
    gain = _running_mean(_running_mean(lowest, half), half)
    return samples * gain


def _running_minimum(values: FloatArray, half: int) -> FloatArray:
    """Minimum over `half` values on either side; the ends, where that is not known, are left off.

    After van Herk 1992: within blocks as long as the window, one pass forwards and one backwards.
    """
    window = 2 * half + 1
    padded = np.pad(values, (0, -values.size % window), constant_values=np.inf)
    blocks = padded.reshape(-1, window)
    forwards = np.minimum.accumulate(blocks, axis=1).ravel()
    backwards = np.minimum.accumulate(blocks[:, ::-1], axis=1)[:, ::-1].ravel()
    count = values.size - window + 1
    return np.asarray(np.minimum(backwards[:count], forwards[window - 1 : window - 1 + count]))


def _running_mean(values: FloatArray, length: int) -> FloatArray:
    """Mean of every `length + 1` neighbours."""
    total = np.cumsum(np.concatenate(([0.0], values)))
    return np.asarray((total[length + 1 :] - total[: -length - 1]) / (length + 1))
