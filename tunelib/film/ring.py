"""A ring round a part of a picture, near to it, which goes round the picture's words or stops at them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from matplotlib.transforms import Bbox

from tunelib.pitch import FloatArray

_AROUND = 0.11  # inches from a part, and from words that are taken in with it, to the middle of the line
_NEAREST = 0.08  # the same where words beside the part leave no more room
_CLEAR = 0.055  # inches from there to words that it goes past
_BREAK = 0.05  # inches from there to words at which it stops
_EDGE = 0.06  # inches from there to the edge of the picture
_ROUND = 2.3  # times its distance is the radius of its corners, at most: 3.4 would meet those of the part
_ROUND_WORDS = 1.2  # the same round words, which need more room
_WORD = 1.2  # inches that a ring goes out of its way, over all sides, so as not to be broken at a word
_MOST_TRIED = 9  # distances on each side
_CORNERS = 48  # points to a corner


@dataclass(frozen=True)
class Ring:
    """How far a ring is from a part, in inches: on the left, below, on the right and above.

    `corner` is the radius of its corners, also in inches, at most.
    """

    left: float = _AROUND
    below: float = _AROUND
    right: float = _AROUND
    above: float = _AROUND
    corner: float = _ROUND * _AROUND

    def taken_in(self, box: Bbox, dpi: float) -> Bbox:
        """What a ring round a box holds: the box, and the words that it is drawn round as well."""
        left, below, right, above = ((side - _AROUND) * dpi for side in (self.left, self.below, self.right, self.above))
        return Bbox.from_extents(box.x0 - left, box.y0 - below, box.x1 + right, box.y1 + above)

    def outline(self, box: Bbox, pixels: tuple[int, int], dpi: float) -> FloatArray:
        """It as points from its upper right round to there again: round about what is small, and within the picture."""
        sides = np.array([[self.left, self.below, self.right, self.above]])
        x0, y0, x1, y1 = _drawn(box, sides, pixels, dpi)[0]
        round_by = max(min((x1 - x0) / 2, (y1 - y0) / 2, self.corner * dpi), 1.0)
        turns = math.pi / 4 + np.linspace(0, 2 * math.pi, 4 * _CORNERS + 1)
        across, up = np.cos(turns), np.sin(turns)
        middle_x = np.where(across >= 0, x1 - round_by, x0 + round_by)
        middle_y = np.where(up >= 0, y1 - round_by, y0 + round_by)
        corners = np.column_stack([middle_x + round_by * across, middle_y + round_by * up])
        lengths = lengths_along(corners)
        evenly = np.linspace(0, lengths[-1], 8 * _CORNERS)
        return np.column_stack([np.interp(evenly, lengths, corners[:, axis]) for axis in (0, 1)])


def without(outline: FloatArray, words: Sequence[Bbox], dpi: float) -> FloatArray:
    """A line of points that is broken wherever words are: NaN there."""
    left = outline.copy()
    for word in words:
        near = word.padded(_BREAK * dpi)
        left[((outline > near.min) & (outline < near.max)).all(axis=1)] = np.nan
    return left


def lengths_along(points: FloatArray) -> FloatArray:
    """How far along a line of points each of them is."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def find_ring(samples: Sequence[tuple[Bbox, Sequence[Bbox]]], pixels: tuple[int, int], dpi: float) -> Ring:
    """The ring that meets no words, or few where that would take it far out of its way.

    Parameters
    ----------
    samples : sequence of (Bbox, sequence of Bbox)
        Where the part is at some moments, and where the picture's words are, in pixels upwards.
    pixels : (int, int)
        Width and height of the picture.
    dpi : float
        Pixels to the inch.
    """
    samples = [(box, words) for box, words in samples if box.width >= 0 and words]
    if not samples:
        return Ring()
    tried = np.array(list(product(*(_distances(side, samples, dpi) for side in range(4)))))
    met = np.zeros(len(tried))
    corners = _ROUND * np.minimum(tried.min(axis=1), _AROUND)
    for box, words in samples:
        boxes = np.array([word.extents for word in words])
        outer = _drawn(box, tried, pixels, dpi)
        apart, inside = _apart(outer, boxes) / dpi, _inside(outer, boxes) / dpi
        met += ((apart < _CLEAR) & (inside < _NEAREST - 1e-6)).sum(axis=1)
        corners = np.minimum(corners, np.where(inside < _NEAREST - 1e-6, np.inf, _ROUND_WORDS * inside).min(axis=1))
    best = int(np.argmin(np.abs(tried - _AROUND).sum(axis=1) + _WORD * met / len(samples)))
    left, below, right, above = (float(side) for side in tried[best])
    return Ring(left, below, right, above, float(corners[best]))


def _distances(side: int, samples: Sequence[tuple[Bbox, Sequence[Bbox]]], dpi: float) -> list[float]:
    """Distances in inches that are worth trying on a side: the even one, the nearest, and each word's ends."""
    found = {_AROUND, _NEAREST}
    for box, words in samples:
        for word in words:
            near, far = _from(side, box, word, dpi)
            found |= {round(far + _AROUND, 3), round(far + _NEAREST, 3), round(near - _CLEAR - 0.001, 3)}
    return sorted((each for each in found if each >= _NEAREST), key=lambda each: abs(each - _AROUND))[:_MOST_TRIED]


def _from(side: int, box: Bbox, word: Bbox, dpi: float) -> tuple[float, float]:
    """From a side of a box outwards to where a word begins and to where it ends, in inches."""
    edge = box.extents[side]
    ends = [(word.extents[side % 2] - edge) / dpi, (word.extents[side % 2 + 2] - edge) / dpi]
    return (ends[0], ends[1]) if side >= 2 else (-ends[1], -ends[0])


def _drawn(box: Bbox, sides: FloatArray, pixels: tuple[int, int], dpi: float) -> FloatArray:
    """Where rings at these distances from a box are: left, lower, right and upper ends within the picture, (n, 4)."""
    edge = _EDGE * dpi
    ends = box.extents + sides * dpi * np.array([-1, -1, 1, 1])
    return np.asarray(np.clip(ends, edge, np.array([*pixels, *pixels]) - edge))


def _apart(rings: FloatArray, words: FloatArray) -> FloatArray:
    """How far words are outside of rings, in the direction in which they are farthest: shape (rings, words)."""
    ring, word = rings[:, np.newaxis], words[np.newaxis]
    return np.asarray(np.maximum(ring[..., :2] - word[..., 2:], word[..., :2] - ring[..., 2:]).max(axis=2))


def _inside(rings: FloatArray, words: FloatArray) -> FloatArray:
    """How far words are inside of rings, where they are nearest to them; negative if they are not inside."""
    ring, word = rings[:, np.newaxis], words[np.newaxis]
    return np.asarray(np.minimum(word[..., :2] - ring[..., :2], ring[..., 2:] - word[..., 2:]).min(axis=2))
