"""Critical bands: how close two tones must be for the ear to hear them through one filter.

The ear sorts sound into bands. Two tones in one band beat and rasp; in bands of their own they leave each other alone.
There are two measures of the width, from two ways of finding it, and neither is the other in a new unit:

* the *critical bandwidth* of E. Zwicker, "Subdivision of the audible frequency range into critical bands", J. Acoust.
  Soc. Am. 33, 1961: 24 bands set end to end, numbered in Bark;
* the *equivalent rectangular bandwidth* (ERB) of B. R. Glasberg and B. C. J. Moore, "Derivation of auditory filter
  shapes from notched-noise data", Hearing Research 47, 1990: narrower, above all at low frequencies.

The formulas are fits to what listeners did at moderate loudness. Other fits are in use, and differ by several per cent.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tunelib.pitch import positive_hertz

_ERB_AT_ZERO, _ERB_PER_KILOHERTZ = 24.7, 4.37
_BARK_SPAN, _BARK_HALFWAY, _BARK_OFFSET = 26.81, 1960.0, 0.53
_BARK_LOW, _BARK_HIGH = 2.0, 20.1


def critical_bandwidth(hertz: Any) -> Any:
    """Width in hertz of the critical band centred on a frequency: ``25 + 75 (1 + 1.4 F^2)^0.69``, F in kilohertz.

    A fit to Zwicker's table, within a tenth of it at every centre (E. Zwicker and E. Terhardt, "Analytical expressions
    for critical-band rate and critical bandwidth as a function of frequency", J. Acoust. Soc. Am. 68, 1980).

    `hertz` is a number or an array. Raises ValueError for a frequency of zero or less.

    >>> round(critical_bandwidth(1000), 1)
    162.2
    """
    values = positive_hertz(hertz)
    return _as_given(25 + 75 * (1 + 1.4 * (values / 1000) ** 2) ** 0.69)


def erb(hertz: Any) -> Any:
    """Equivalent rectangular bandwidth in hertz at a frequency: ``24.7 (4.37 F + 1)``, F in kilohertz.

    Glasberg and Moore 1990, for young ears, moderate loudness and 100 Hz to 10 kHz. `hertz` is a number or an array.
    Raises ValueError for a frequency of zero or less.

    >>> round(erb(1000), 1)
    132.6
    """
    values = positive_hertz(hertz)
    return _as_given(_ERB_AT_ZERO * (_ERB_PER_KILOHERTZ * values / 1000 + 1))


def bark(hertz: Any) -> Any:
    """How many of Zwicker's critical bands there are below a frequency, in Bark.

    H. Traunmüller, "Analytical expressions for the tonotopic sensory scale", J. Acoust. Soc. Am. 88, 1990:
    ``z = 26.81 / (1 + 1960 / f) - 0.53``, then 0.15 (2 - z) more where z is below 2, and 0.22 (z - 20.1) more where it
    is above 20.1. `hertz` is a number or an array. Raises ValueError for a frequency of zero or less.

    >>> round(bark(1000), 2)
    8.53
    """
    values = positive_hertz(hertz)
    rate = _BARK_SPAN / (1 + _BARK_HALFWAY / values) - _BARK_OFFSET
    rate = rate + 0.15 * np.maximum(_BARK_LOW - rate, 0) + 0.22 * np.maximum(rate - _BARK_HIGH, 0)
    return _as_given(rate)


def _as_given(values: Any) -> Any:
    """An array of no dimensions as a plain float, any other as it is."""
    return values if np.ndim(values) else float(values)
