"""Beats: the swelling of two tones, or of two of their harmonics, that nearly coincide.

Two tones f and g together swell and fade |g - f| times a second. Of two rich tones near the ratio m:n, harmonic m of
the lower and harmonic n of the upper all but coincide, and they beat (Helmholtz, *On the Sensations of Tone*, 2nd
English edition 1885, Part II, chapters VIII and X).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tunelib.hearing.critical_bands import critical_bandwidth
from tunelib.pitch import Interval, RatioLike, finite, positive_hertz


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


def beating_partials(
    lower: Any, upper: Any, lower_amplitudes: Any = 1.0, upper_amplitudes: Any = 1.0, ratio: RatioLike | None = None
) -> np.recarray[Any, Any]:
    """Which partials of one tone beat with which of another: all pairs that share a critical band.

    Parameters
    ----------
    lower, upper : arrays, shapes (m,) and (n,)
        The partials of the two tones in hertz, each tone's numbered from 1 in the order given.
    lower_amplitudes, upper_amplitudes : arrays of those shapes, or one number for all
        0 or more, on a linear scale.
    ratio : exact ratio or None
        Only the pairs that coincide where the tones are in exactly this ratio: for ``"3/2"`` partials 3 and 2, 6 and
        4, and so on.

    Returns a record array, a row a pair, in order of the lower tone's partials, with the fields

    * ``lower``, ``upper``: the numbers of the two partials;
    * ``hertz``: the frequency midway between them;
    * ``rate``: beats a second, 0 where they coincide;
    * ``strength``: the smaller amplitude, by which the pair swells above and sinks below the larger.

    A pair counts while it is within `critical_bandwidth` of its middle. Slow pairs are heard to beat, the fastest
    only to rasp. Raises ValueError for frequencies of zero or less, amplitudes below 0, or shapes that do not fit.

    >>> fifth = beating_partials([220, 440, 660], [331, 662], ratio="3/2")
    >>> fifth.lower.tolist(), fifth.upper.tolist(), fifth.rate.tolist()
    ([3], [2], [2.0])
    """
    tones = [positive_hertz(tone, "a partial") for tone in (lower, upper)]
    strengths = [finite(each, "an amplitude") for each in (lower_amplitudes, upper_amplitudes)]
    for which, tone, strength in zip(("lower", "upper"), tones, strengths, strict=True):
        if tone.ndim != 1 or strength.shape not in ((), tone.shape):
            raise ValueError(
                f"the {which} tone's partials are given in one row, with an amplitude each or one for all, "
                f"not in shapes {tone.shape} and {strength.shape}"
            )
        if np.any(strength < 0):
            raise ValueError(f"an amplitude of the {which} tone is below 0: {strength[strength < 0].flat[0]:g}")
    numbers = np.indices((tones[0].size, tones[1].size)) + 1
    apart = np.abs(tones[1] - tones[0][:, np.newaxis])
    middle = (tones[1] + tones[0][:, np.newaxis]) / 2
    paired = apart <= critical_bandwidth(middle)
    if ratio is not None:
        exact = Interval.of(ratio).ratio
        paired &= numbers[0] * exact.denominator == numbers[1] * exact.numerator
    weaker = np.minimum.outer(*(np.broadcast_to(each, tone.shape) for each, tone in zip(strengths, tones, strict=True)))
    table = np.recarray(
        int(paired.sum()),
        dtype=[("lower", int), ("upper", int), ("hertz", float), ("rate", float), ("strength", float)],
    )
    table["lower"], table["upper"] = numbers[0][paired], numbers[1][paired]
    table["hertz"], table["rate"], table["strength"] = middle[paired], apart[paired], weaker[paired]
    return table
