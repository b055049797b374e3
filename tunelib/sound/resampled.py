"""Samples that were taken at one rate, as they would have been taken at another."""

from __future__ import annotations

import math

import numpy as np

from tunelib.pitch import FloatArray
from tunelib.sound.limiter import SAMPLE_RATE


def resampled(samples: FloatArray, sample_rate: float, to: float = SAMPLE_RATE) -> FloatArray:
    """A sound at another rate: all of it that is below half of both rates, by its spectrum.

    Parameters
    ----------
    samples : array, shape (samples,)
    sample_rate, to : float
        In hertz; whole numbers.

    Returns an array as long in seconds, to within half a sample; the same array where the rates are equal.

    >>> resampled(np.sin(np.arange(4410) / 10), 44_100).size
    4800
    """
    if sample_rate == to or not samples.size:
        return samples
    step = int(sample_rate) // math.gcd(int(sample_rate), int(to))
    padded = -(-samples.size // step) * step  # which lasts a whole number of samples at either rate
    ratio = to / sample_rate
    longer = np.fft.irfft(np.fft.rfft(samples, padded), round(padded * ratio)) * ratio
    return np.asarray(longer[: round(samples.size * ratio)])
