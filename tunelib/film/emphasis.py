"""Emphasis: what points at a part is drawn over a finished picture, which recedes elsewhere if asked."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from matplotlib import patheffects
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyBboxPatch
from matplotlib.text import Text
from matplotlib.transforms import Bbox, IdentityTransform
from PIL import Image

from tunelib.exhibits import Exhibit, Look
from tunelib.film.blending import Pixels, image
from tunelib.film.free_room import find_room, layouts
from tunelib.film.pointing import Pointing, Strength, filled
from tunelib.pitch import FloatArray
from tunelib.show import Size

_RECEDES = 0.7  # how far towards the paper, where the rest is dimmed
_AROUND = 0.11  # inches from a part to the ring round it
_ROUND = 2.3  # times that, at most, is the radius of its corners: 3.4 would meet those of the part
_SOFT = 0.18  # inches over which the rest recedes
_COARSE = 4  # pixels to one of the mask of what recedes
_RING_POINTS, _LEADER_POINTS, _EDGE_POINTS = 3.0, 1.5, 1.5
_PADDING = 0.09  # inches between words and the edge of their ground
_SHORTEST_LEADER = 0.12  # inches
_CORNERS = 48  # points to a corner of a ring


@dataclass(frozen=True)
class Seen:
    """A picture, where in it the parts are that are pointed at, and where there are words; in pixels, upwards."""

    pixels: Pixels
    boxes: Mapping[str, Bbox]
    words: Callable[[], Sequence[Bbox]]

    def kept(self) -> Seen:
        """The same, for when the stage has another picture."""
        words = self.words()
        return Seen(self.pixels.copy(), self.boxes, lambda: words)


@dataclass(frozen=True)
class _Place:
    """Where words are set: their middle, on how many lines, and what other words there are."""

    x: float
    y: float
    lines: int
    words: Sequence[Bbox]


Samples: TypeAlias = Callable[[Pointing], Sequence[tuple[Seen, dict[str, Any]]]]


class Emphasis:
    """Draws what points at the parts of one exhibit.

    Parameters
    ----------
    exhibit : Exhibit
    look : Look
    size : Size
    """

    def __init__(self, exhibit: Exhibit, look: Look, size: Size) -> None:
        self._exhibit, self._look, self._size = exhibit, look, size
        self._figure = Figure(figsize=(size.width, size.height), dpi=size.dpi)
        self._canvas = FigureCanvasAgg(self._figure)
        self._places: dict[Pointing, _Place] = {}

    def over(
        self, seen: Seen, points: Sequence[tuple[Pointing, Strength]], values: dict[str, Any], samples: Samples
    ) -> Pixels:
        """A picture with all that points, each as much as it is there; `samples` are for finding room for words."""
        pixels = seen.pixels
        there = [(point, share, seen.boxes[point.part]) for point, share in points if seen.boxes[point.part].width >= 0]
        dimmed = [(box, share.all) for point, share, box in there if "dim" in point.how]
        if dimmed:
            pixels = self._receded(pixels, dimmed)
        renderer = self._canvas.get_renderer()
        out = np.asarray(self._canvas.buffer_rgba())
        out[...] = pixels
        for point, share, box in there:
            outline = self._outline(box)
            if "circle" in point.how:
                self._ring(outline, share).draw(renderer)
            if point.words:
                for artist in self._callout(point, share, outline, filled(point.words, self._exhibit, values), samples):
                    artist.draw(renderer)
        return out

    def _inches(self, inches: float) -> float:
        return inches * self._size.dpi

    def _receded(self, pixels: Pixels, dimmed: Sequence[tuple[Bbox, float]]) -> Pixels:
        """A picture that goes towards the paper, away from some boxes."""
        height, width, _ = pixels.shape
        x = (np.arange(0, width, _COARSE) + _COARSE / 2)[np.newaxis, :]
        y = height - (np.arange(0, height, _COARSE) + _COARSE / 2)[:, np.newaxis]
        near = np.zeros((y.size, x.size))
        for box, share in dimmed:
            across, up = (np.maximum(np.maximum(low - at, at - high), 0) for low, high, at in
                          ((box.x0, box.x1, x), (box.y0, box.y1, y)))  # fmt: skip
            away = np.hypot(across, up) - self._inches(_AROUND)
            near = np.maximum(near, share * np.clip(1 - away / self._inches(_SOFT), 0, 1))
        most = max(share for _, share in dimmed)
        recedes = Image.fromarray(np.round(255 * _RECEDES * (most - near)).astype(np.uint8))
        mask = recedes.resize((width, height), Image.Resampling.BILINEAR)
        if self._look.theme.paper is None:
            faded = pixels.copy()
            faded[..., 3] = np.round(pixels[..., 3] * (1 - np.asarray(mask) / 255))
            return faded
        red, green, blue = (round(255 * part) for part in to_rgb(self._look.theme.paper))
        receded = image(pixels).copy()
        receded.paste((red, green, blue, 255), mask=mask)
        return np.asarray(receded)

    def _outline(self, box: Bbox) -> FloatArray:
        """A ring round a box, as points from its upper right round to there again: round about what is small."""
        gap, edge = self._inches(_AROUND), self._inches(0.06)
        width, height = self._size.pixels
        x0, x1 = max(box.x0 - gap, edge), min(box.x1 + gap, width - edge)
        y0, y1 = max(box.y0 - gap, edge), min(box.y1 + gap, height - edge)
        round_by = max(min((x1 - x0) / 2, (y1 - y0) / 2, _ROUND * gap), 1.0)
        turns = math.pi / 4 + np.linspace(0, 2 * math.pi, 4 * _CORNERS + 1)
        across, up = np.cos(turns), np.sin(turns)
        middle_x = np.where(across >= 0, x1 - round_by, x0 + round_by)
        middle_y = np.where(up >= 0, y1 - round_by, y0 + round_by)
        corners = np.column_stack([middle_x + round_by * across, middle_y + round_by * up])
        lengths = _lengths(corners)
        evenly = np.linspace(0, lengths[-1], 8 * _CORNERS)
        return np.column_stack([np.interp(evenly, lengths, corners[:, axis]) for axis in (0, 1)])

    def _ring(self, outline: FloatArray, share: Strength) -> Line2D:
        """As much of a ring as is drawn by now; when it goes, it fades."""
        lengths = _lengths(outline)
        drawn = share.come * lengths[-1]
        kept = int(np.searchsorted(lengths, drawn, side="right"))
        last = [np.interp(drawn, lengths, outline[:, axis]) for axis in (0, 1)]
        return self._line(np.vstack([outline[:kept], last]), _RING_POINTS, share.left)

    def _line(self, points: FloatArray, width: float, alpha: float) -> Line2D:
        """A line of ink with an edge of paper, so that it is seen on anything."""
        theme = self._look.theme
        line = Line2D(
            points[:, 0], points[:, 1], color=theme.ink, linewidth=width, alpha=alpha, transform=IdentityTransform(),
            solid_capstyle="round", solid_joinstyle="round",
        )  # fmt: skip
        edge = patheffects.withStroke(linewidth=width + 2 * _EDGE_POINTS, foreground=theme.behind_text, alpha=alpha)
        line.set_path_effects([edge])
        line.set_figure(self._figure)
        return line

    def _callout(
        self, point: Pointing, share: Strength, outline: FloatArray, words: str, samples: Samples
    ) -> list[Line2D | FancyBboxPatch | Text]:
        """Words beside a part, on a ground of paper, with a line to it: they come when the ring is half drawn."""
        if point not in self._places:
            self._places[point] = self._place(point, samples(point))
        place = self._places[point]
        x, y, lines = place.x, place.y, place.lines
        alpha = max(2 * share.come - 1, 0.0) * share.left
        if alpha == 0:
            return []
        text = self._text(layouts(words)[lines - 1], x, y, alpha)
        around = text.get_window_extent(self._canvas.get_renderer()).padded(self._inches(_PADDING))
        ground = FancyBboxPatch(
            (around.x0, around.y0), around.width, around.height, boxstyle="round,pad=0,rounding_size=8",
            facecolor=self._look.theme.behind_text, edgecolor="none", alpha=0.92 * alpha, transform=IdentityTransform(),
        )  # fmt: skip
        ground.set_figure(self._figure)
        from_words = np.column_stack([np.clip(outline[:, 0], around.x0, around.x1),
                                      np.clip(outline[:, 1], around.y0, around.y1)])  # fmt: skip
        nearest = int(np.argmin(np.hypot(*(outline - from_words).T)))
        leader = np.vstack([from_words[nearest], outline[nearest]])
        length = float(np.hypot(*np.diff(leader, axis=0)[0]))
        inside = outline[:, 0].min() < x < outline[:, 0].max() and outline[:, 1].min() < y < outline[:, 1].max()
        seen = max(4 * share.come - 3, 0.0) * share.left  # it comes last, when all else is where it will be
        crosses = any(_crosses(leader, box) for box in place.words)
        if inside or crosses or seen == 0 or length < self._inches(_SHORTEST_LEADER):
            return [ground, text]
        return [self._line(leader, _LEADER_POINTS, seen), ground, text]

    def _text(self, words: str, x: float, y: float, alpha: float) -> Text:
        text = self._look.text(
            self._figure, x, y, words, "name", ha="center", va="center", linespacing=1.15, alpha=alpha,
            transform=IdentityTransform(),
        )  # fmt: skip
        text.remove()  # it is drawn on its own, not with the figure
        text.set_figure(self._figure)
        return text

    def _place(self, point: Pointing, samples: Sequence[tuple[Seen, dict[str, Any]]]) -> _Place:
        """Where words go, and on how many lines: where there is room for the longest, at every sample."""
        renderer = self._canvas.get_renderer()
        spoken = [filled(point.words, self._exhibit, values) for _, values in samples]
        sizes = []
        for lines in range(len(min((layouts(words) for words in spoken), key=len))):
            boxes = [self._text(layouts(words)[lines], 0, 0, 1.0).get_window_extent(renderer) for words in spoken]
            room = 2 * self._inches(_PADDING)
            sizes.append((max(box.width for box in boxes) + room, max(box.height for box in boxes) + room))
        outlines = [self._outline(seen.boxes[point.part]) for seen, _ in samples if seen.boxes[point.part].width >= 0]
        rings = [Bbox.from_extents(*outline.min(axis=0), *outline.max(axis=0)) for outline in outlines]
        pictures = [seen.pixels for seen, _ in samples]
        words = [box for seen, _ in samples for box in seen.words()]
        return _Place(*find_room(sizes, rings, pictures, words, self._size.dpi, "dim" in point.how), words)


def _crosses(line: FloatArray, box: Bbox) -> bool:
    """Whether a straight line goes through a box."""
    along = line[0] + np.linspace(0, 1, 100)[:, np.newaxis] * (line[1] - line[0])
    return bool(np.all((along > box.min) & (along < box.max), axis=1).any())


def _lengths(points: FloatArray) -> FloatArray:
    """How far along a line of points each of them is."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
