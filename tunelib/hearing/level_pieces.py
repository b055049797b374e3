"""What it costs to take a piece of a pitch curve for one note: level, or level with a vibrato about it.

A piece is y = m + A cos wt + B sin wt + error, in cents: m its level, w one of the rates of a vibrato, or no swing at
all. A and B have a normal prior, so that a short piece cannot bend at will. The cost is minus the logarithm of how
likely the piece is so (A and B integrated out), after P. Fearnhead, "Exact and efficient Bayesian inference for
multiple changepoint problems", Stat. Comput. 16, 2006.

The windows of neighbouring frames overlap, so that their errors are not independent: a few frames count as one.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

_ERROR, _ERR_AS_ONE = 8.0, 0.040  # cents by which a frame errs; seconds of frames that err together
_SWING = 60.0  # cents: standard deviation of A and of B
_RATES = np.arange(4.5, 8.1, 0.25)  # hertz; at 4 Hz and below, quick notes would pass for a swing
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
        self._hop = hop
        self._error = _ERROR**2 * max(1.0, _ERR_AS_ONE / hop)

    def costs(self, end: int, starts: npt.NDArray[np.intp]) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The pieces from each of some frames up to, not including, the frame `end`.

        Returns the cost of each in nats, its level in cents, and the variance of that level in cents squared.
        """
        frames, first, second = self._plain[:, [end]] - self._plain[:, starts]
        frames = np.maximum(frames, 1e-3)
        mean = first / frames
        rest = second - first * mean
        cost, level, variance = rest / (2 * self._error), mean, self._error / frames
        swung = np.flatnonzero(frames * self._hop * _RATES[-1] > _LEAST_CYCLE)
        if swung.size:
            at, count, middle, left = starts[swung], frames[swung], mean[swung], rest[swung]
            ridge = self._error / _SWING**2
            c, s, cc, cs, ss, yc, ys = self._waves[:, :, [end]] - self._waves[:, :, at]
            c, s = c / count, s / count
            cc, ss, cs = cc - count * c * c + ridge, ss - count * s * s + ridge, cs - count * c * s
            yc, ys = yc - count * middle * c, ys - count * middle * s
            det = cc * ss - cs * cs
            a, b = (ss * yc - cs * ys) / det, (cc * ys - cs * yc) / det
            swings = (left - a * yc - b * ys) / (2 * self._error) + 0.5 * np.log(det / ridge**2) + _SWING_PRICE
            swings[count * self._hop * _RATES[:, np.newaxis] <= _LEAST_CYCLE] = np.inf
            best, column = swings.argmin(axis=0), np.arange(swung.size)
            better = np.flatnonzero(swings[best, column] < cost[swung])
            best, column, which = best[better], column[better], swung[better]
            c, s, cc, cs, ss, a, b, det = (part[best, column] for part in (c, s, cc, cs, ss, a, b, det))
            cost[which] = swings[best, column]
            level = level.copy()
            level[which] -= c * a + s * b
            variance[which] += self._error * (ss * c * c - 2 * cs * c * s + cc * s * s) / det
        return cost, level + self._middle, variance


def _sums(values: FloatArray) -> FloatArray:
    """Sums over the last axis up to each place, the first of them 0."""
    return np.concatenate((np.zeros((*values.shape[:-1], 1)), np.cumsum(values, axis=-1)), axis=-1)
