"""Places on a circle of notes, as several exhibits draw it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.transforms import Transform


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
