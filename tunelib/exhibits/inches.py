"""Axes over the whole picture that count in inches, for pictures composed closely and for circles."""

from __future__ import annotations

from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import Look


def inch_axes(figure: Canvas, look: Look) -> Axes:
    """Axes without frame whose data are inches from the lower left corner of the picture."""
    width, height = look.inches
    axes = look.bare(figure, (0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(0, width), ylim=(0, height))
    return axes


def framed(look: Look) -> tuple[float, float, float, float]:
    """The sides of the place for the thing itself, in inches: left, right, bottom, top."""
    (left, bottom, width, height), (across, up) = look.frame, look.inches
    return left * across, (left + width) * across, bottom * up, (bottom + height) * up
