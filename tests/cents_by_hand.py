"""Cents as they are defined, without the library."""

from __future__ import annotations

import math


def cents_of(ratio: float) -> float:
    """How wide a ratio is, in cents (Ellis 1885)."""
    return 1200 * math.log2(ratio)
