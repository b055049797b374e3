"""Where in a picture there is room for a few words beside something."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.transforms import Bbox

from tunelib.film.blending import Pixels
from tunelib.pitch import FloatArray

_STEP = 0.04  # inches from one place that is tried to the next
_POINT = 0.02  # inches from one point that is looked at for ink to the next
_CLEAR, _FROM_TITLE = 0.03, 0.3  # inches at least to other words, and to the title beside them
_APART = 0.25  # inches to words beside them, with which they are not to be read in one line
_MARGIN, _EDGE = 0.2, 0.04  # inches to the edge of the picture, and at least
_DIFFERS = 24  # of 255, from the paper
_SHORTEST_LINE = 8  # characters, of words on several lines
_MOST_LINES = 6
_ALIKE = 0.12  # inches: places so near to one that will not do are not tried
# How bad it is for words to be where all is ink, or all is ink that has receded, on what they are beside, across its
# outline, close beside other words, in the title's line or in the margin; to be an inch away from what they are beside,
# where two inches are more than twice as bad; to have a second line, where a third is worse; not to be seen to belong
# to it; and, worse than all of these together, to cover other words.
_INK, _QUIET, _ON_IT, _ACROSS, _IN_LINE, _TITLE, _AT_EDGE = 16.0, 1.0, 3.0, 4.0, 1.0, 2.5, 2.0
_FAR, _LINES = 0.6, 0.1
_LOOSE, _COVERS = 6.0, 1000.0


def layouts(words: str) -> list[str]:
    """Words on one line, on two, and so on, as far as they can be parted.

    >>> layouts("31 cents too low")
    ['31 cents too low', '31 cents\\ntoo low']
    """
    found = [words]
    for lines in range(2, _MOST_LINES + 1):
        width = max(_SHORTEST_LINE, -(-len(words) // lines))
        while len(parts := textwrap.wrap(words, width, break_long_words=False)) > lines:
            width += 1
        if len(parts) < lines:
            break
        found.append("\n".join(parts))
    return found


@dataclass(frozen=True)
class Taken:
    """What takes room while words are seen, in pixels upwards.

    Parameters
    ----------
    pictures : sequence of pictures
        All that is seen. The commonest colour is the paper.
    beside : sequence of Bbox
        What the words are to be beside, wherever it moves.
    words : sequence of Bbox
        Where other words are.
    title : sequence of Bbox
        Where the title is, which has its line for itself if there is room elsewhere.
    """

    pictures: Sequence[Pixels]
    beside: Sequence[Bbox]
    words: Sequence[Bbox]
    title: Sequence[Bbox]


def find_room(
    sizes: Sequence[tuple[float, float]],
    taken: Taken,
    dpi: float,
    belongs: Callable[[Bbox], bool],
    quiet: bool = False,
) -> tuple[Bbox, int]:
    """The best place for words: where it is, in pixels upwards, and the number of lines.

    They cover no others as long as there is any place, on any number of lines, where they do not; and then as few as
    can be.

    Parameters
    ----------
    sizes : sequence of (float, float)
        Width and height of the words on one line, on two, and so on.
    taken : Taken
    dpi : float
        Pixels to the inch.
    belongs : function
        Whether it is seen of words in a box what they are beside.
    quiet : bool
        Whether all but what they are beside has receded: words may then be set over it.
    """
    search = _Search(taken, dpi, quiet)
    found = [search.places(*size) for size in sizes]
    lines = np.repeat(np.arange(len(found)), [len(bad) for _, bad in found])
    boxes, bad = np.concatenate([boxes for boxes, _ in found]), np.concatenate([bad for _, bad in found])
    best = _best(boxes, bad + _LINES * lines**2, belongs, _ALIKE * dpi)
    return Bbox.from_extents(*boxes[best]), int(lines[best]) + 1


def _best(boxes: FloatArray, bad: FloatArray, belongs: Callable[[Bbox], bool], alike: float) -> int:
    """Which of some boxes is best, if it is worse where it is not seen what the words in it belong to."""
    tried = np.flatnonzero(bad < bad.min() + _LOOSE)
    tried = tried[np.argsort(bad[tried], kind="stable")]
    best = int(tried[0])
    while tried.size:
        if belongs(Bbox.from_extents(*boxes[tried[0]])):
            return int(tried[0])
        tried = tried[np.abs(boxes[tried] - boxes[tried[0]]).max(axis=1) > alike]
    return best


class _Search:
    """All places in a picture, and how bad they are for words."""

    def __init__(self, taken: Taken, dpi: float, quiet: bool) -> None:
        self._taken, self._dpi = taken, dpi
        self._height, self._width, _ = taken.pictures[0].shape
        ink = np.max([_inked(picture, _POINT * dpi) for picture in taken.pictures], axis=0)
        self._ink = np.pad(ink.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))  # below, and on the left
        self._inked = _QUIET if quiet else _INK

    def places(self, across: float, down: float) -> tuple[FloatArray, FloatArray]:
        """Boxes of a width and height, shape (places, 4), and how bad each is."""
        x, y = self._along(self._width, across), self._along(self._height, down)
        bad = self._inked * self._share_of_ink(x, y) + self._at_edge(x, y) + self._from_what_they_are_beside(x, y)
        bad += _COVERS * (_met(x, y, self._padded(_CLEAR)) + _met(x, y, self._padded(_FROM_TITLE, title=True)))
        bad += _IN_LINE * (_met(x, y, self._padded(_APART)) > 0)
        lines = [Bbox.from_extents(0, box.y0, self._width, self._height) for box in self._taken.title]
        bad += _TITLE * (_met(x, y, lines) > 0)
        boxes = np.empty((len(y), len(x), 4))
        boxes[..., 0::2], boxes[..., 1::2] = x[np.newaxis], y[:, np.newaxis]
        return boxes.reshape(-1, 4), bad.ravel()

    def _padded(self, beside: float, title: bool = False) -> list[Bbox]:
        """Other words, or the title, with so many inches on both sides and a little above and below."""
        boxes = self._taken.title if title else self._taken.words
        return [box.padded(beside * self._dpi, _CLEAR * self._dpi) for box in boxes]

    def _along(self, whole: float, side: float) -> FloatArray:
        """Where a side can begin and end, shape (places, 2); in the middle, if it is too long."""
        edge = _EDGE * self._dpi
        begins = np.arange(edge, whole - edge - side, _STEP * self._dpi)
        begins = begins if begins.size else np.array([(whole - side) / 2])
        return np.column_stack([begins, begins + side])

    def _share_of_ink(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """How much of each box is inked."""
        point = _POINT * self._dpi
        up, across = (
            np.clip(np.round(ends / point), 0, most - 1).astype(int)
            for ends, most in zip((y, x), self._ink.shape, strict=True)
        )
        upper, lower = self._ink[up[:, 1]], self._ink[up[:, 0]]
        inked = (upper - lower)[:, across[:, 1]] - (upper - lower)[:, across[:, 0]]
        points = np.multiply.outer(np.diff(up)[:, 0], np.diff(across)[:, 0])
        return np.asarray(inked / np.maximum(points, 1))

    def _at_edge(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """How bad it is that boxes are in the margin."""
        margin = _MARGIN * self._dpi
        within = [
            np.minimum(ends[:, 0], whole - ends[:, 1]) >= margin
            for ends, whole in ((x, self._width), (y, self._height))
        ]
        return np.asarray(_AT_EDGE * (1 - np.multiply.outer(within[1], within[0])))

    def _from_what_they_are_beside(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """How bad it is that boxes are on something, across its outline, or away from it, where it is worst."""
        found = np.zeros((len(y), len(x)))
        for box in self._taken.beside:
            (across, out_x), (up, out_y) = _shared(x, box.x0, box.x1), _shared(y, box.y0, box.y1)
            on_it = np.multiply.outer(up, across) / (np.ptp(x[0]) * np.ptp(y[0]))
            over = (on_it > 0) & (on_it < 1 - 1e-9)
            away = np.hypot(out_y[:, np.newaxis], out_x[np.newaxis]) / self._dpi
            found = np.maximum(found, _ON_IT * on_it + _ACROSS * over + _FAR * away * (1 + away / 4))
        return found


def _inked(picture: Pixels, every: float) -> FloatArray:
    """Where ink is, as 1, and where paper, as 0, at points so far apart, from the lower left corner."""
    height, width, _ = picture.shape
    rows, columns = (np.arange(every / 2, side, every).astype(int) for side in (height, width))
    few = np.ascontiguousarray(picture[height - 1 - rows][:, columns])
    colours, counts = np.unique(few.view(np.uint32), return_counts=True)
    paper = colours[[int(np.argmax(counts))]].view(np.uint8)
    return np.asarray(np.abs(few.astype(np.int16) - paper).max(axis=2) > _DIFFERS, float)


def _met(x: FloatArray, y: FloatArray, others: Sequence[Bbox]) -> FloatArray:
    """How many of some boxes each place meets."""
    if not others:
        return np.zeros((len(y), len(x)))
    ends = np.array([box.extents for box in others])
    across = (x[:, :1] < ends[:, 2]) & (x[:, 1:] > ends[:, 0])
    up = (y[:, :1] < ends[:, 3]) & (y[:, 1:] > ends[:, 1])
    return np.asarray(up.astype(np.float32) @ across.astype(np.float32).T)


def _shared(ends: FloatArray, low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """How long each stretch is within another, and how far outside of it."""
    within = np.minimum(ends[:, 1], high) - np.maximum(ends[:, 0], low)
    return np.maximum(within, 0), np.maximum(-within, 0)
