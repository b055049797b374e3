"""Cents and keys as they are defined, without the library."""

from __future__ import annotations

import math


def cents_of(ratio: float) -> float:
    """How wide a ratio is, in cents (Ellis 1885)."""
    return 1200 * math.log2(ratio)


def key_of(hertz: float) -> float:
    """The number of the MIDI key at a frequency, with a fraction between two: A4 = 440 Hz is 69."""
    return 69 + 12 * math.log2(hertz / 440)
