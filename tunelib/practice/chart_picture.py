"""The staff of a chart as a picture, for a reader without a kernel."""

from __future__ import annotations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from PIL import Image

from tunelib.exhibits import LONG_SIDE, Look, find_theme
from tunelib.export import line_drawings
from tunelib.show import lightened

_DPI = 100
_MARGIN = 0.02  # of the breadth, on each side
_MOST_LINES = 12  # of staves; a picture of a longer tune has the first ones


def chart_picture(svg: str) -> bytes:
    """A chart that `chart_staff` has engraved, as a PNG: its first lines, if there are very many."""
    look = Look(find_theme("light"))
    lines = line_drawings(svg)[:_MOST_LINES]
    outlines = [outline for line in lines for outline in line.outlines]
    breadth, lowest = lines[0].width, max(np.asarray(outline.vertices)[:, 1].max() for outline in outlines)
    margin = _MARGIN * breadth
    height = LONG_SIDE * (lowest + 2 * margin) / (breadth + 2 * margin)
    figure = Figure(figsize=(LONG_SIDE, height), dpi=_DPI, facecolor=look.theme.paper or "none")
    axes = look.bare(figure, (0, 0, 1, 1))
    axes.set(xlim=(-margin, breadth + margin), ylim=(lowest + margin, -margin))
    for outline in outlines:
        axes.add_patch(PathPatch(outline, facecolor=look.theme.ink, linewidth=0))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return lightened(Image.fromarray(np.asarray(canvas.buffer_rgba())))
