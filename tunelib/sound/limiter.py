"""One limiter, through which everything that is rendered passes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from tunelib.pitch import FloatArray

SAMPLE_RATE = 48_000
"""Samples a second, unless another rate is asked for."""
LOOK_AHEAD_SECONDS = 0.05
_SAMPLES_AT_A_TIME = 1 << 18


def limit(samples: FloatArray, ceiling: float, sample_rate: int = SAMPLE_RATE) -> FloatArray:
    """Turn down, smoothly and no more than needed, what would pass a ceiling.

    The gain that each sample needs is taken at its lowest over 50 ms before and after, then averaged twice over 50 ms:
    the result is at or under what every sample needs, is 1 wherever no loud sample is within 100 ms, and bends
    nowhere. Nothing is clipped, and nothing is turned up. The same array comes back where no sample passes.

    Parameters
    ----------
    samples : array, shape (samples,)
    ceiling : float
        The largest magnitude that may leave, above 0 and at most 1.
    sample_rate : int
        In hertz.
    """
    _check_ceiling(ceiling)
    if max(samples.max(initial=0.0), -samples.min(initial=0.0)) <= ceiling:
        return samples
    parts = (samples[first : first + _SAMPLES_AT_A_TIME] for first in range(0, samples.size, _SAMPLES_AT_A_TIME))
    return np.concatenate(list(limited(parts, ceiling, sample_rate)))


def limited(blocks: Iterable[FloatArray], ceiling: float, sample_rate: int = SAMPLE_RATE) -> Iterator[FloatArray]:
    """Samples that come in blocks, limited as `limit` does it, in blocks again.

    A block leaves as soon as the 100 ms after it are known: the lengths are not those of the blocks that came.
    """
    _check_ceiling(ceiling)
    half = max(1, round(LOOK_AHEAD_SECONDS * sample_rate))
    reach = 2 * half  # how far on either side a sample's gain depends on others
    held = np.zeros(reach)  # silence before the first sample, and then what still counts
    for block in blocks:
        held = np.concatenate((held, block))
        if held.size > 2 * reach:
            yield _turned_down(held, ceiling, half)
            held = held[held.size - 2 * reach :].copy()
    held = np.concatenate((held, np.zeros(reach)))
    if held.size > 2 * reach:
        yield _turned_down(held, ceiling, half)


def _check_ceiling(ceiling: float) -> None:
    if not 0 < ceiling <= 1:
        raise ValueError(f"a ceiling must be above 0 and at most 1, not {ceiling}")


def _turned_down(samples: FloatArray, ceiling: float, half: int) -> FloatArray:
    """Samples, limited, without the first and the last two times `half`, which are there for their neighbours' sake."""
    middle = samples[2 * half : samples.size - 2 * half]
    magnitudes = np.abs(samples)
    if magnitudes.max() <= ceiling:
        return middle
    # A hair under the ceiling, since the running sums below round.
    needed = np.minimum(1.0, ceiling * (1 - 1e-9) / np.maximum(magnitudes, ceiling * 1e-3))
    lowest = _running_minimum(needed, half)
    return np.asarray(middle * _running_mean(_running_mean(lowest, half), half))


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
