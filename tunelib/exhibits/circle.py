"""A circle of notes: axes for it, and places on it, as several exhibits draw it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.transforms import Transform

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


class Around(Transform):
    """From places round a centre, as turns clockwise from the top and distances from it, to places on axes.

    What moves from one such place to another goes round the centre, and not straight through.
    """

    input_dims = output_dims = 2

    def __init__(self, centre: tuple[float, float]) -> None:
        super().__init__()
        self._centre = centre

    def transform_non_affine(self, values: Any) -> Any:
        """Rows of turns and distances as rows of places."""
        turns, far = np.asarray(values, dtype=float).T
        x, y = clockwise(turns)
        return np.column_stack([self._centre[0] + far * x, self._centre[1] + far * y])
