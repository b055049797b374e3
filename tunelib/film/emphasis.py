"""Emphasis: what points at a part is drawn over a finished picture, which recedes elsewhere if asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
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
from tunelib.film.free_room import Taken, find_room, layouts
from tunelib.film.leader import belongs, find_leader
from tunelib.film.pointing import Pointing, Strength, filled
from tunelib.film.ring import Ring, find_ring, lengths_along, without
from tunelib.pitch import FloatArray
from tunelib.show import Size

_RECEDES = 0.7  # how far towards the paper, where the rest is dimmed
_BRIGHT, _SOFT = 0.11, 0.18  # inches round a part that stay as they are, and over which the rest then recedes
_COARSE = 4  # pixels to one of the mask of what recedes
_RING_POINTS, _LEADER_POINTS, _EDGE_POINTS = 3.0, 1.5, 1.5
_PADDING = 0.075  # inches between words and the edge of their ground


@dataclass(frozen=True)
class Seen:
    """A picture, and where in it are parts that are pointed at, words, and the title; in pixels, upwards."""

    pixels: Pixels
    boxes: Mapping[str, Bbox]
    words: Sequence[Bbox]
    title: Sequence[Bbox]

    def kept(self) -> Seen:
        """The same, for when the stage has another picture."""
        return replace(self, pixels=self.pixels.copy())


@dataclass(frozen=True)
class _Place:
    """Where words are set: on what ground, on how many lines, and what other words there are."""

    ground: Bbox
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
        self._rings: dict[Pointing, Ring] = {}
        self._places: dict[Pointing, _Place] = {}

    def over(
        self, seen: Seen, points: Sequence[tuple[Pointing, Strength]], values: dict[str, Any], samples: Samples
    ) -> Pixels:
        """A picture with all that points, each as much as it is there; `samples` are for finding room for it."""
        if fresh := [point for point, _ in points if point not in self._rings]:
            seen = seen.kept()  # samples are drawn on the same stage
            for point in sorted(fresh, key=lambda point: point.at):
                self._find_room(point, samples(point), self._said_beside(point, points))
        pixels = seen.pixels
        there = [(point, share, seen.boxes[point.part]) for point, share in points if seen.boxes[point.part].width >= 0]
        dimmed = [
            (self._rings[point].taken_in(box, self._size.dpi), share.all)
            for point, share, box in there
            if "dim" in point.how
        ]
        if dimmed:
            pixels = self._receded(pixels, dimmed)
        renderer = self._canvas.get_renderer()
        out = np.asarray(self._canvas.buffer_rgba())
        out[...] = pixels
        for point, share, box in there:
            outline = self._rings[point].outline(box, self._size.pixels, self._size.dpi)
            words = [*seen.words, *self._said_beside(point, points)]
            if "circle" in point.how:
                self._ring(outline, share, words).draw(renderer)
            if point.words:
                said = filled(point.words, self._exhibit, values)
                for artist in self._callout(point, share, outline, said, words):
                    artist.draw(renderer)
        return out

    def _said_beside(self, point: Pointing, points: Sequence[tuple[Pointing, Strength]]) -> list[Bbox]:
        """Where words are that are said of others at the same time, as far as they have been placed."""
        return [self._places[other].ground for other, _ in points if other != point and other in self._places]

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
            away = np.hypot(across, up) - self._inches(_BRIGHT)
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

    def _ring(self, outline: FloatArray, share: Strength, words: Sequence[Bbox]) -> Line2D:
        """As much of a ring as is drawn by now, but for where words are; when it goes, it fades."""
        lengths = lengths_along(outline)
        drawn = share.come * lengths[-1]
        kept = int(np.searchsorted(lengths, drawn, side="right"))
        last = [np.interp(drawn, lengths, outline[:, axis]) for axis in (0, 1)]
        drawn_by_now = without(np.vstack([outline[:kept], last]), words, self._size.dpi)
        return self._line(drawn_by_now, _RING_POINTS, share.left)

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
        self, point: Pointing, share: Strength, outline: FloatArray, words: str, others: Sequence[Bbox]
    ) -> list[Line2D | FancyBboxPatch | Text]:
        """Words beside a part, on a ground of paper, with a line to it: they come when the ring is half drawn."""
        place = self._places[point]
        alpha = max(2 * share.come - 1, 0.0) * share.left
        if alpha == 0:
            return []
        x, y = (place.ground.x0 + place.ground.x1) / 2, (place.ground.y0 + place.ground.y1) / 2
        text = self._text(layouts(words)[: place.lines][-1], x, y, alpha)
        around = text.get_window_extent(self._canvas.get_renderer()).padded(self._inches(_PADDING))
        ground = FancyBboxPatch(
            (around.x0, around.y0), around.width, around.height, boxstyle="round,pad=0,rounding_size=8",
            facecolor=self._look.theme.behind_text, edgecolor="none", alpha=0.92 * alpha, transform=IdentityTransform(),
        )  # fmt: skip
        ground.set_figure(self._figure)
        seen = max(4 * share.come - 3, 0.0) * share.left  # it comes last, when all else is where it will be
        leader = find_leader(outline, around, [*place.words, *others], self._size.dpi) if seen > 0 else None
        return [*([] if leader is None else [self._line(leader, _LEADER_POINTS, seen)]), ground, text]

    def _text(self, words: str, x: float, y: float, alpha: float) -> Text:
        text = self._look.text(
            self._figure, x, y, words, "name", ha="center", va="center", linespacing=1.15, alpha=alpha,
            transform=IdentityTransform(),
        )  # fmt: skip
        text.remove()  # it is drawn on its own, not with the figure
        text.set_figure(self._figure)
        return text

    def _find_room(self, point: Pointing, samples: Sequence[tuple[Seen, dict[str, Any]]], said: Sequence[Bbox]) -> None:
        """Room for what points at a part, and for what is said of it; there are words `said` of others already."""
        there = [(seen.boxes[point.part], [*seen.words, *said]) for seen, _ in samples]
        circled = "circle" in point.how
        self._rings[point] = find_ring(there, self._size.pixels, self._size.dpi) if circled else Ring()
        if point.words:
            words = {box.bounds: box for _, boxes in there for box in boxes}
            self._places[point] = self._place(point, samples, list(words.values()))

    def _place(self, point: Pointing, samples: Sequence[tuple[Seen, dict[str, Any]]], words: Sequence[Bbox]) -> _Place:
        """Where words go, and on how many lines: where there is room for the longest, at every sample."""
        boxes = [box for seen, _ in samples if (box := seen.boxes[point.part]).width >= 0]
        outlines = [self._rings[point].outline(box, self._size.pixels, self._size.dpi) for box in boxes]
        rings = [Bbox.from_extents(*outline.min(axis=0), *outline.max(axis=0)) for outline in outlines]
        titles = [box for seen, _ in samples for box in seen.title]
        taken = Taken([seen.pixels for seen, _ in samples], rings, words, titles)

        def belongs_to_it(around: Bbox) -> bool:
            return all(belongs(outline, around, words, self._size.dpi) for outline in outlines)

        spoken = [filled(point.words, self._exhibit, values) for _, values in samples]
        sizes = self._sizes([layouts(words) for words in spoken])
        return _Place(*find_room(sizes, taken, self._size.dpi, belongs_to_it, "dim" in point.how), words)

    def _sizes(self, spoken: Sequence[Sequence[str]]) -> list[tuple[float, float]]:
        """Width and height of the ground of words on one line, on two, and so on: room for the longest of them."""
        renderer, room = self._canvas.get_renderer(), 2 * self._inches(_PADDING)
        found = []
        for alike in zip(*spoken, strict=False):
            boxes = [self._text(words, 0, 0, 1.0).get_window_extent(renderer) for words in alike]
            found.append((max(box.width for box in boxes) + room, max(box.height for box in boxes) + room))
        return found
