"""A circle of notes: axes for it, and places on it, as several exhibits draw it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import Look

# As wide as it is high in each shape of picture.
_PLACES = (0.02, 0.04, 0.4669, 0.83), (0.1, 0.45, 0.8, 0.45), (0.275, 0.415, 0.45, 0.45)


def circle_axes(figure: Canvas, look: Look) -> Axes:
    """Square axes for a circle of radius 1 with room for names around it."""
    axes = look.bare(figure, *_PLACES)
    axes.set(xlim=(-1.28, 1.28), ylim=(-1.28, 1.28))
    return axes


def clockwise(turns: Any) -> tuple[Any, Any]:
    """Points on the unit circle, a number of turns clockwise from the top."""
    angles = 2 * np.pi * np.asarray(turns)
    return np.sin(angles), np.cos(angles)
