"""An exhibit laid out on a picture of its own, whose artists can be asked where they are."""

from __future__ import annotations

from typing import Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS, Look, find_theme


def laid_out(name: str, tall: bool = False) -> Any:
    """The scene of an exhibit, dark, and wide unless told."""
    look = Look(find_theme("dark"), tall)
    figure = Figure(figsize=look.inches)
    FigureCanvasAgg(figure)
    return EXHIBITS[name].lay_out(figure, look)
