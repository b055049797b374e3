"""Axes for something long, such as a string or a slide: level in a wide picture, upright in a tall one."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tunelib.exhibits.look import Look


class Along:
    """Axes for something long: level in a wide picture, upright in a tall one.

    Places are given as (along, across): along from 0 at the near end, across from 0 upward, or to the right where the
    picture is tall. Both in numbers of the subject's own.
    """

    def __init__(self, axes: Axes, look: Look, along: tuple[float, float], across: tuple[float, float]) -> None:
        self.axes, self._look = axes, look
        if look.tall:
            axes.set(xlim=across, ylim=along[::-1])
        else:
            axes.set(xlim=along, ylim=across)

    def point(self, along: Any, across: Any) -> tuple[Any, Any]:
        """A place, or arrays of places, as the axes count them."""
        return (across, along) if self._look.tall else (along, across)

    def lines(self, along: Any, low: float, high: float, **style: Any) -> Any:
        """Strokes across at some places, all of one line."""
        return self.axes.plot(*self.strokes(along, low, high), **style)[0]

    def strokes(self, along: Any, low: float, high: float) -> tuple[Any, Any]:
        """The places of such strokes, for a line that moves."""
        places = np.atleast_1d(along)
        return self.point(np.repeat(places, 3), np.tile([low, high, np.nan], places.size))

    def text(self, along: float, across: float, words: str = "", **style: Any) -> Any:
        """Words at a place, centred on it unless said otherwise."""
        return self._look.text(
            self.axes, *self.point(along, across), words, **({"ha": "center", "va": "center"} | style)
        )

    def box(self, along: tuple[float, float], across: tuple[float, float], **style: Any) -> Rectangle:
        """A rectangle between places."""
        patch = Rectangle((0, 0), 0, 0, **style)
        self.axes.add_patch(patch)
        self.stretch(patch, along, across)
        return patch

    def stretch(self, patch: Rectangle, along: tuple[float, float], across: tuple[float, float]) -> None:
        """Lay a rectangle between other places."""
        (x0, x1), (y0, y1) = self.point(along, across)
        patch.set_bounds(x0, y0, x1 - x0, y1 - y0)
