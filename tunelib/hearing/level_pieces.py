"""What it costs to take a piece of a pitch curve for one note: level, or level with a vibrato about it.

A piece is y = m + A cos wt + B sin wt + error, in cents: m its level, w one of the rates of a vibrato, or no swing at
all. A and B have a normal prior, so that a short piece cannot bend at will. The cost is minus the logarithm of how
likely the piece is so (A and B integrated out), after P. Fearnhead, "Exact and efficient Bayesian inference for
multiple changepoint problems", Stat. Comput. 16, 2006.

The windows of neighbouring frames overlap, so that their errors are not independent: a few frames count as one.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tunelib.hearing.piece_ends import SHORTEST_PIECE
from tunelib.pitch import FloatArray

# Prices in nats that hold whether or not it is known what was to be played.
NOTE_PRICE = 9.0  # of a note of any pitch
PASSAGE_PRICE = 3.0  # of a passage, however long
BRIEF_PRICE = 8.0  # more, of a note as short as can be

_ERROR, _ERR_AS_ONE = 8.0, 0.040  # cents by which a frame errs; seconds of frames that err together
_SWING = 60.0  # cents: standard deviation of A and of B
_RATES = np.arange(4.5, 8.1, 0.25)  # hertz; at 4 Hz and below, quick notes would pass for a swing
_LONGEST = 3.0  # seconds; a longer note is made of several pieces
_ENDS_AT_A_TIME = 32
_SWING_PRICE, _LEAST_CYCLE = 1.5, 0.8  # nats; of a swing, in a piece that may have one


class LevelPieces:
    """The pieces of one stretch of pitch.

    Parameters
    ----------
    cents : array, shape (frames,)
        Pitch above any origin, without gaps.
    hop : float
        Seconds from one frame to the next.
    weights : array, shape (frames,), optional
        How much each frame counts, from 0 to 1; otherwise all count alike. A piece in which no frame counts costs 0.
    """

    def __init__(self, cents: FloatArray, hop: float, weights: FloatArray | None = None) -> None:
        self._middle = float(cents.mean())
        y = cents - self._middle
        w = np.ones(y.size) if weights is None else weights
        turns = 2 * np.pi * _RATES[:, np.newaxis] * hop * np.arange(y.size)
        c, s = np.cos(turns), np.sin(turns)
        self._plain = _sums(w * np.stack((np.ones(y.size), y, y * y)))
        self._waves = _sums(w * np.stack((c, s, c * c, c * s, s * s, y * c, y * s)))  # shape (7, rates, frames + 1)
        self.hop = hop
        self._error = _ERROR**2 * max(1.0, _ERR_AS_ONE / hop)

    def costs(
        self, ends: int | npt.NDArray[np.intp], starts: npt.NDArray[np.intp]
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The pieces from each of some frames up to, not including, the frame `ends`, or one of as many.

        Returns the cost of each in nats, its level in cents, and the variance of that level in cents squared.
        """
        ends = np.broadcast_to(ends, starts.shape)
        frames, first, second = self._plain[:, ends] - self._plain[:, starts]
        frames = np.maximum(frames, 1e-3)
        mean = first / frames
        rest = second - first * mean
        cost, level, variance = rest / (2 * self._error), mean, self._error / frames
        swung = np.flatnonzero(frames * self.hop * _RATES[-1] > _LEAST_CYCLE)
        if swung.size:
            count, middle, left = frames[swung], mean[swung], rest[swung]
            ridge = self._error / _SWING**2
            c, s, cc, cs, ss, yc, ys = self._waves[:, :, ends[swung]] - self._waves[:, :, starts[swung]]
            c, s = c / count, s / count
            cc, ss, cs = cc - count * c * c + ridge, ss - count * s * s + ridge, cs - count * c * s
            yc, ys = yc - count * middle * c, ys - count * middle * s
            det = cc * ss - cs * cs
            a, b = (ss * yc - cs * ys) / det, (cc * ys - cs * yc) / det
            swings = (left - a * yc - b * ys) / (2 * self._error) + 0.5 * np.log(det / ridge**2) + _SWING_PRICE
            swings[count * self.hop * _RATES[:, np.newaxis] <= _LEAST_CYCLE] = np.inf
            best, column = swings.argmin(axis=0), np.arange(swung.size)
            better = np.flatnonzero(swings[best, column] < cost[swung])
            best, column, which = best[better], column[better], swung[better]
            c, s, cc, cs, ss, a, b, det = (part[best, column] for part in (c, s, cc, cs, ss, a, b, det))
            cost[which] = swings[best, column]
            level = level.copy()
            level[which] -= c * a + s * b
            variance[which] += self._error * (ss * c * c - 2 * cs * c * s + cc * s * s) / det
        return cost, level + self._middle, variance


def pieces_between(
    pieces: LevelPieces, at: npt.NDArray[np.intp]
) -> Iterator[tuple[int, FloatArray, FloatArray, FloatArray]]:
    """The pieces that end at each of some frames but the first, from those up to 3 s before it.

    Parameters
    ----------
    pieces : LevelPieces
    at : array
        Frames, rising.

    Yields, for each end, the place in `at` of the earliest start, and what `LevelPieces.costs` gives for the pieces
    from there on. Many ends are weighed together.
    """
    reach = np.searchsorted(at, at - round(_LONGEST / pieces.hop))
    for first in range(1, at.size, _ENDS_AT_A_TIME):
        places = np.arange(first, min(first + _ENDS_AT_A_TIME, at.size))
        counts = places - reach[places]
        cuts = np.cumsum(counts)
        starts = np.arange(cuts[-1]) + np.repeat(reach[places] - (cuts - counts), counts)
        found = pieces.costs(np.repeat(at[places], counts), at[starts])
        parts = (np.split(values, cuts[:-1]) for values in found)
        yield from zip(reach[places].tolist(), *parts, strict=True)


def brief_price(seconds: FloatArray) -> FloatArray:
    """What notes of so many seconds cost more because they are brief, in nats: nothing from a tenth of a second on."""
    return BRIEF_PRICE * np.clip((2 * SHORTEST_PIECE - seconds) / SHORTEST_PIECE, 0, 1)


def _sums(values: FloatArray) -> FloatArray:
    """Sums over the last axis up to each place, the first of them 0."""
    return np.concatenate((np.zeros((*values.shape[:-1], 1)), np.cumsum(values, axis=-1)), axis=-1)
