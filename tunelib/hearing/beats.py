"""Beats: the swelling of two tones, or of two of their harmonics, that nearly coincide.

Two tones f and g together swell and fade |g - f| times a second. Of two rich tones near the ratio m:n, harmonic m of
the lower and harmonic n of the upper all but coincide, and they beat (Helmholtz, *On the Sensations of Tone*, 2nd
English edition 1885, Part II, chapter VIII).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tunelib.pitch.intervals import Interval, RatioLike, positive_hertz


def beat_rate(lower: Any, upper: Any, ratio: RatioLike = 1) -> Any:
    """Beats a second of two tones that are near a simple ratio: ``|n * upper - m * lower|`` for the ratio m:n.

    Parameters
    ----------
    lower, upper : float or array
        Fundamentals in hertz; they broadcast.
    ratio : exact ratio
        Which harmonics meet: 1 for the tones themselves, ``"3/2"`` for a fifth.

    Returns beats a second, 0 where the ratio is exact. Raises ValueError for frequencies of zero or less.

    >>> beat_rate(440, 443)
    3.0
    >>> beat_rate(220, 331, "3/2")
    2.0
    """
    exact = Interval.of(ratio).ratio
    low, high = positive_hertz(lower, "the lower tone"), positive_hertz(upper, "the upper tone")
    result = np.abs(exact.denominator * high - exact.numerator * low)
    return result if result.ndim else float(result)
