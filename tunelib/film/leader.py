"""The line from words to what they are said of: the shortest that goes through no other words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.transforms import Bbox

from tunelib.pitch import FloatArray

_SHORTEST = 0.12  # inches: nearer words need no line
_NEAR = 0.25  # inches at which it is plain without a line what words belong to
_CLEAR = 0.05  # inches from a line to other words
_EVERY = 6  # points of an outline to one that is tried from every corner


def find_leader(outline: FloatArray, around: Bbox, words: Sequence[Bbox], dpi: float) -> FloatArray | None:
    """A short straight line from a box to an outline that meets no words and does not go across what it reaches.

    Its two ends are given, shape (2, 2), that at the box first; None where there is no such line, nor any need of one,
    since the box is inside or as good as touches it.

    Parameters
    ----------
    outline : array, shape (n, 2)
        Points of a closed convex line that turns left, in pixels upwards.
    around : Bbox
        The box in which the words are that it comes from.
    words : sequence of Bbox
        Where other words are.
    dpi : float
        Pixels to the inch.
    """
    if _distance(outline, around) < _SHORTEST * dpi or is_inside(around, outline):
        return None
    boxes = np.array([word.extents for word in words]).reshape(-1, 4) + np.array([-1, -1, 1, 1]) * _CLEAR * dpi
    for lines in _tried(outline, around):
        clear = lines[~_crossed(lines, boxes)]
        if len(clear):
            return np.asarray(clear[np.argmin(np.hypot(*(clear[:, 1] - clear[:, 0]).T))])
    return None


def belongs(outline: FloatArray, around: Bbox, words: Sequence[Bbox], dpi: float) -> bool:
    """Whether it is seen what words in a box belong to: inside its outline, next to it, or with a line to it."""
    near = _distance(outline, around) < _NEAR * dpi or is_inside(around, outline)
    return near or find_leader(outline, around, words, dpi) is not None


def is_inside(around: Bbox, outline: FloatArray) -> bool:
    """Whether a box is inside of an outline."""
    return bool((outline.min(axis=0) < around.min).all() and (outline.max(axis=0) > around.max).all())


def _distance(outline: FloatArray, around: Bbox) -> float:
    """From a box to the nearest point of an outline, in pixels."""
    return float(np.hypot(*(outline - np.clip(outline, around.min, around.max)).T).min())


def _tried(outline: FloatArray, around: Bbox) -> Iterator[FloatArray]:
    """Lines from a box to an outline, shape (lines, 2, 2): the shortest, then the shortest to each point of the
    outline, then those from the corners and the middles of the sides."""
    nearest = np.stack([np.clip(outline, around.min, around.max), outline], axis=1)
    yield nearest[[np.argmin(np.hypot(*(nearest[:, 1] - nearest[:, 0]).T))]]
    along = np.roll(outline, -1, axis=0) - np.roll(outline, 1, axis=0)
    yield nearest[_faces(nearest, along)]
    x, y = ((low, (low + high) / 2, high) for low, high in zip(around.min, around.max, strict=True))
    corners = np.array(np.meshgrid(x, y)).reshape(2, -1).T
    ends, along = np.tile(outline[::_EVERY], (len(corners), 1)), np.tile(along[::_EVERY], (len(corners), 1))
    across = np.stack([np.repeat(corners, len(outline[::_EVERY]), axis=0), ends], axis=1)
    yield across[_faces(across, along)]


def _faces(lines: FloatArray, along: FloatArray) -> npt.NDArray[np.bool_]:
    """Which lines reach an outline from outside, if it goes `along` where they end."""
    back = lines[:, 0] - lines[:, 1]
    return np.asarray(back[:, 0] * along[:, 1] > back[:, 1] * along[:, 0])


def _crossed(lines: FloatArray, boxes: FloatArray) -> npt.NDArray[np.bool_]:
    """Which straight lines go through any box."""
    begins, way = lines[:, :1], lines[:, 1:] - lines[:, :1]
    way = np.where(way == 0, 1e-9, way)
    one, other = (boxes[:, :2] - begins) / way, (boxes[:, 2:] - begins) / way
    enters, leaves = np.minimum(one, other).max(axis=2), np.maximum(one, other).min(axis=2)
    return np.asarray((np.maximum(enters, 0) < np.minimum(leaves, 1)).any(axis=1))
