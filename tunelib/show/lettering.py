"""Quick lettering: text that changes with every move, set from glyphs that were drawn once.

Matplotlib shapes and rasterises each text anew each time it is drawn, about a millisecond each; a ladder of sixteen
labels would take longer than a whole move is allowed to. Here each character of each size is drawn by matplotlib once
and kept, and a label is pasted together from the kept glyphs in a tenth of the time.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text

_Coverage: TypeAlias = npt.NDArray[np.uint8]  # (height, width): how much of each pixel is ink, 0 to 255
_MOST_LINES = 4096  # kept before the store is emptied
_MOST_GLYPHS = 8192  # kept, of all fonts and sizes
_MOST_PADS = 64


@dataclass(frozen=True)
class _Ink:
    """A glyph or a line of them: its coverage, and where it is from the pen on the baseline."""

    coverage: _Coverage
    left: int  # pixels from the pen to the left edge
    above: int  # pixels from the baseline up to the top edge
    advance: float  # pixels that the pen moves on


class Lettering:
    """Sets matplotlib texts on a canvas, at one resolution."""

    def __init__(self, dpi: float) -> None:
        self._dpi = dpi
        self._lines: dict[tuple[FontProperties, str], _Ink] = {}
        self._heights: dict[FontProperties, tuple[float, float]] = {}

    def suits(self, text: Text) -> bool:
        """Whether a text is plain enough: one level line, unadorned, without formulas."""
        adorned = text.get_rotation() or text.get_path_effects() or text.get_bbox_patch()
        return not (adorned or set("\n$") & set(text.get_text()))

    def set(self, text: Text, renderer: RendererAgg) -> None:
        """Draw a text over what is on the canvas, where matplotlib would."""
        font = text.get_fontproperties().copy()  # a key that stays as it is when the text turns bold
        line = self._line(font, text.get_text())
        if not line.coverage.size:
            return
        height, descent = self._height(font)
        x, y = text.get_transform().transform(text.get_unitless_position())
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[text.get_horizontalalignment()] * line.advance
        above = {"top": 0.0, "bottom": height, "center": height / 2, "baseline": height - descent}
        baseline = y + above[text.get_verticalalignment()] - (height - descent)
        sprite = np.empty((*line.coverage.shape, 4), np.uint8)
        sprite[..., :3] = np.round(np.array(to_rgb(text.get_color())) * 255)
        opacity = text.get_alpha()
        sprite[..., 3] = line.coverage if opacity is None else np.round(line.coverage * opacity)
        bottom = round(baseline) + line.above - line.coverage.shape[0]
        renderer.draw_image(renderer.new_gc(), round(left) + line.left, bottom, sprite[::-1])

    def _line(self, font: FontProperties, words: str) -> _Ink:
        key = (font, words)
        if key not in self._lines:
            if len(self._lines) >= _MOST_LINES:
                self._lines.clear()
            self._lines[key] = self._compose(font, words)
        return self._lines[key]

    def _compose(self, font: FontProperties, words: str) -> _Ink:
        glyphs = [_glyph(font, self._dpi, character) for character in words]
        pens = np.concatenate([[0.0], np.cumsum([g.advance for g in glyphs])])
        lefts = [round(pen) + g.left for pen, g in zip(pens[:-1].tolist(), glyphs, strict=True)]
        start = min(lefts, default=0)
        right = max((left + g.coverage.shape[1] for left, g in zip(lefts, glyphs, strict=True)), default=0)
        above = max((g.above for g in glyphs), default=0)
        below = max((g.coverage.shape[0] - g.above for g in glyphs), default=0)
        coverage = np.zeros((above + below, right - start), np.uint8)
        for left, g in zip(lefts, glyphs, strict=True):
            rows, columns = g.coverage.shape
            part = coverage[above - g.above : above - g.above + rows, left - start : left - start + columns]
            np.maximum(part, g.coverage, out=part)
        return _Ink(coverage, start, above, float(pens[-1]))

    def _height(self, font: FontProperties) -> tuple[float, float]:
        """Height and descent of a line, as matplotlib works them out."""
        if font not in self._heights:
            renderer = FigureCanvasAgg(Figure(dpi=self._dpi)).get_renderer()
            _, height, descent = renderer.get_text_width_height_descent("lp", font, False)
            self._heights[font] = (height, descent)
        return self._heights[font]


@lru_cache(maxsize=_MOST_GLYPHS)
def _glyph(font: FontProperties, dpi: float, character: str) -> _Ink:
    """Have matplotlib draw one character, black on white, and measure how far it moves the pen.

    Glyphs are shared by all pictures: the next one has most of its letters already.
    """
    em = int(np.ceil(font.get_size_in_points() * dpi / 72))
    side, pen = 4 * em, em
    figure, renderer = _pad(dpi, side)
    renderer.clear()
    figure.text(pen / side, pen / side, character, fontproperties=font, color="black", va="baseline", ha="left")
    figure.draw(renderer)
    figure.texts[-1].remove()
    coverage = 255 - np.asarray(renderer.buffer_rgba())[:, :, 0]
    advance = _width(renderer, font, f"|{character}|") - _width(renderer, font, "||")
    rows, columns = np.flatnonzero(coverage.any(axis=1)), np.flatnonzero(coverage.any(axis=0))
    if rows.size == 0:
        return _Ink(np.zeros((0, 0), np.uint8), 0, 0, advance)
    ink = coverage[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return _Ink(ink, int(columns[0]) - pen, side - pen - int(rows[0]), advance)


@lru_cache(maxsize=_MOST_PADS)
def _pad(dpi: float, side: int) -> tuple[Figure, RendererAgg]:
    """A white square of some pixels to draw glyphs on."""
    figure = Figure(figsize=(side / dpi, side / dpi), dpi=dpi, facecolor="white")
    return figure, FigureCanvasAgg(figure).get_renderer()


def _width(renderer: RendererAgg, font: FontProperties, words: str) -> float:
    return float(renderer.get_text_width_height_descent(words, font, False)[0])
