"""Places on a circle of notes, as several exhibits draw it."""

from __future__ import annotations

from typing import Any

import numpy as np


def clockwise(turns: Any) -> tuple[Any, Any]:
    """Points on the unit circle, a number of turns clockwise from the top."""
    angles = 2 * np.pi * np.asarray(turns)
    return np.sin(angles), np.cos(angles)
