"""Where in a picture there is room for a few words beside something."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.transforms import Bbox

from tunelib.film.blending import Pixels
from tunelib.pitch import FloatArray

_CELL = 12  # pixels of a picture to one place that is looked at
_MARGIN = 0.2  # inches to the edge of the picture
_DIFFERS = 24  # of 255, from the paper
_SHORTEST_LINE = 12  # characters, of words on several lines
_MOST_LINES = 3
# How bad it is for words to be where all is ink, or all is ink that has receded, or other words, or on what they are
# beside; to be two inches away from it; and each line.
_INK, _QUIET, _WORDS, _ON_IT, _FAR, _LINES = 8.0, 1.0, 60.0, 3.0, 1.2, 0.05


def layouts(words: str) -> list[str]:
    """Words on one line, on two and on three, as far as they can be parted.

    >>> layouts("31 cents too low")
    ['31 cents too low', '31 cents too\\nlow']
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


def find_room(
    sizes: Sequence[tuple[float, float]],
    beside: Sequence[Bbox],
    pictures: Sequence[Pixels],
    words: Sequence[Bbox],
    dpi: float,
    quiet: bool = False,
) -> tuple[float, float, int]:
    """The best place for words: its middle in pixels from the lower left corner, and the number of lines.

    Parameters
    ----------
    sizes : sequence of (float, float)
        Width and height of the words on one line, on two, and so on.
    beside : sequence of Bbox
        What they are to be beside, wherever it moves.
    pictures : sequence of pictures
        All that is seen while the words are there. The commonest colour is the paper.
    words : sequence of Bbox
        Where other words are.
    dpi : float
        Pixels to the inch.
    quiet : bool
        Whether all but what they are beside has receded: words may then be set over it.
    """
    height, width, _ = pictures[0].shape
    ink = np.max([_inked(picture) for picture in pictures], axis=0)
    lettered = _covered(words, ink.shape, height)
    aim = _covered(beside, ink.shape, height)
    best = (np.inf, width / 2, height / 2, 1)
    margin = round(_MARGIN * dpi / _CELL)
    for lines, size in enumerate(sizes, start=1):
        across, down = (min(-(-int(side) // _CELL) + 1, most) for side, most in zip(size, ink.shape[::-1], strict=True))
        bad = (
            (_QUIET if quiet else _INK) * _mean(ink, across, down)
            + _WORDS * _mean(lettered, across, down)
            + _ON_IT * _mean(aim, across, down)
        )
        rows, columns = (np.arange(length, dtype=float) for length in bad.shape)
        bad = bad + _FAR * _distance(rows, columns, across, down, beside, height) / (2 * dpi) + _LINES * lines
        free = np.zeros(bad.shape, bool)
        free[margin : bad.shape[0] - margin, margin : bad.shape[1] - margin] = True
        bad = np.where(free, bad, np.inf)
        row, column = np.unravel_index(int(np.argmin(bad)), bad.shape)
        if bad[row, column] < best[0]:
            x, down_to = (column + across / 2) * _CELL, (row + down / 2) * _CELL
            best = (float(bad[row, column]), float(x), float(height - down_to), lines)
    return best[1:]


def _inked(picture: Pixels) -> FloatArray:
    """How much of each cell is not paper."""
    height, width, _ = picture.shape
    few = np.ascontiguousarray(picture[2::4, 2::4])
    colours, counts = np.unique(few.view(np.uint32), return_counts=True)
    paper = colours[[int(np.argmax(counts))]].view(np.uint8)
    marked = np.abs(few.astype(np.int16) - paper).max(axis=2) > _DIFFERS
    cells = np.zeros((height // _CELL, width // _CELL))
    every = _CELL // 4
    cut = marked[: cells.shape[0] * every, : cells.shape[1] * every]
    return np.asarray(cut.reshape(cells.shape[0], every, cells.shape[1], every).mean(axis=(1, 3)))


def _covered(boxes: Sequence[Bbox], shape: tuple[int, ...], height: int) -> FloatArray:
    """Which cells boxes cover."""
    found = np.zeros(shape)
    for box in boxes:
        top, bottom = max(int((height - box.y1) / _CELL), 0), int(np.ceil((height - box.y0) / _CELL))
        found[top : max(bottom, 0), max(int(box.x0 / _CELL), 0) : max(int(np.ceil(box.x1 / _CELL)), 0)] = 1.0
    return found


def _mean(cells: FloatArray, across: int, down: int) -> FloatArray:
    """The mean over every field of so many cells."""
    sums = np.pad(cells.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    inside = sums[down:, across:] - sums[:-down, across:] - sums[down:, :-across] + sums[:-down, :-across]
    return np.asarray(inside / (across * down))


def _distance(
    rows: FloatArray, columns: FloatArray, across: int, down: int, beside: Sequence[Bbox], height: int
) -> FloatArray:
    """How far every field is from the furthest of some boxes, in pixels."""
    found = np.zeros((rows.size, columns.size))
    for box in beside:
        left, top = columns * _CELL, rows * _CELL
        right, bottom = left + across * _CELL, top + down * _CELL
        x = np.maximum(np.maximum(box.x0 - right, left - box.x1), 0)
        y = np.maximum(np.maximum(height - box.y1 - bottom, top - (height - box.y0)), 0)
        found = np.maximum(found, np.hypot(y[:, np.newaxis], x[np.newaxis, :]))
    return found
