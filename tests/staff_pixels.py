"""The outlines of an engraved staff filled on a canvas, to be compared with what another renderer makes of the SVG."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_rgba
from matplotlib.path import Path as Outline
from matplotlib.transforms import Affine2D

from tunelib.export.outlines import staff_drawing


def staff_pixels(svg: str, width: int, colour: str, background: str | None = None) -> npt.NDArray[np.uint8]:
    """Draw an engraved page, as `engrave_svg` makes it, `width` pixels wide.

    Parameters
    ----------
    svg : str
    width : int
        In pixels, at least 1; the height follows.
    colour : str
        Colour of all ink, as matplotlib names colours.
    background : str, optional
        Colour of the paper; transparent if not given.

    Returns an array of uint8 of shape (height, width, 4): red, green, blue and alpha, not premultiplied.
    """
    drawing = staff_drawing(svg)
    scale = width / drawing.width
    height = max(1, round(scale * drawing.height))
    canvas: Any = RendererAgg(width, height, 72)
    pen = canvas.new_gc()
    pen.set_linewidth(0)
    pen.set_snap(False)  # thin lines would be rounded to nothing
    place = Affine2D().scale(scale, -scale).translate(0, height)  # matplotlib's y goes up
    ink = to_rgba(colour)
    if background is not None:
        paper = Outline([(0, 0), (width, 0), (width, height), (0, height), (0, 0)], closed=True)
        canvas.draw_path(pen, paper, Affine2D(), to_rgba(background))
    for outline in drawing.outlines:
        canvas.draw_path(pen, outline, place, ink)
    return np.array(canvas.buffer_rgba())
