"""An exhibit laid out on a picture of its own, whose artists can be asked where they are."""

from __future__ import annotations

from typing import Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS, Look, find_theme


def laid_out(name: str, tall: bool = False, square: bool = False, theme: str = "dark") -> Any:
    """The scene of an exhibit, dark, and wide unless told; a square is tall as well."""
    look = Look(find_theme(theme), tall or square, square)
    figure = Figure(figsize=look.inches)
    FigureCanvasAgg(figure)
    return EXHIBITS[name].lay_out(figure, look)


def in_size(name: str, size: str) -> Any:
    """The same in the shape of a size of stills, light."""
    return laid_out(name, size == "vertical", size == "square", "light")
