"""A row of piano keys beside a picture, each at its note of twelve."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from tunelib.exhibits.inches import level_strokes, strokes
from tunelib.exhibits.look import Look

_BLACK = (1, 3, 6, 8, 10)
_BEFORE_TWO_WHITE = (4, 11)  # notes after which comes a white key again, as after E and B
_BLACK_WIDTH, _BLACK_LENGTH = 0.68, 0.62  # of a key's place, and of its length


class KeyRow:
    """Keys from one note to another, in semitones from a note of reference, along an axis in inches.

    `at` says where along the axis so many cents are; `near` and `far` are where keys end across it, at the player and
    at the back. `upright` rows go up, with the player at the right.
    """

    def __init__(
        self, axes: Axes, look: Look, at: Callable[[Any], Any], ends: tuple[int, int], near: float, far: float, *,
        upright: bool = False,
    ) -> None:  # fmt: skip
        self._at, self._near, self._far, self._upright = at, near, far, upright
        self._semitones = np.arange(ends[0], ends[1] + 1)
        low, high = at(100 * ends[0] - 50), at(100 * ends[1] + 50)
        outline = [(low, near), (high, near), (high, far), (low, far)]
        body = np.array(outline)[:, ::-1] if upright else np.array(outline)
        self.body = axes.fill(*body.T, fc=look.theme.ground, ec=look.theme.line, lw=1.2)[0]
        width = 72 * float(at(100) - at(0)) * _BLACK_WIDTH
        (self.seams,) = axes.plot([], [], color=look.theme.line, lw=1.2, solid_capstyle="butt")
        (self.black,) = axes.plot([], [], color=look.theme.line, lw=width, solid_capstyle="butt")

    @property
    def artists(self) -> tuple[Artist, ...]:
        """All of it."""
        return self.body, self.seams, self.black

    def begin(self, pitch_class: int) -> None:
        """Say how many semitones above C the note of reference is."""
        classes = (self._semitones + pitch_class) % 12
        black, followed = np.isin(classes, _BLACK), np.isin(classes, _BEFORE_TWO_WHITE)
        followed[-1] = False
        tip = self._near + (self._far - self._near) * (1 - _BLACK_LENGTH)
        centre, after = self._at(100 * self._semitones), self._at(100 * self._semitones + 50)
        seam_at = np.where(black, centre, np.where(followed, after, np.nan))
        seam_end = np.where(black, tip, self._far)
        self._draw(self.seams, seam_at, self._near, seam_end)
        self._draw(self.black, np.where(black, centre, np.nan), tip, self._far)

    def _draw(self, line: Any, along: Any, start: Any, end: Any) -> None:
        across = level_strokes if self._upright else strokes
        line.set_data(*across(along, start, end))
