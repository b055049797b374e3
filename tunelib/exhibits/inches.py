"""Axes that cover a whole picture and count in inches, for what is composed to measure in each shape."""

from __future__ import annotations

from typing import NamedTuple

from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import MARGIN, Look


class Room(NamedTuple):
    """What is free inside the margins and below the title, in inches from the lower left corner of the picture."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top."""
        return self.top - self.bottom


def inch_axes(figure: Canvas, look: Look) -> Axes:
    """Bare axes over the whole picture, whose units are inches from its lower left corner."""
    axes = look.bare(figure, (0, 0, 1, 1))
    width, height = look.inches
    axes.set(xlim=(0, width), ylim=(0, height))
    return axes


def room(look: Look) -> Room:
    """The room for the thing itself."""
    width, height = look.inches
    _, _, _, share = look.frame
    return Room(MARGIN, MARGIN, width - MARGIN, MARGIN + share * height)
