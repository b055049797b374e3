"""The best path through what the pitch may be, frame by frame, by dynamic programming (see `pitch_track`)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

_LEAP_COST, _VOICING_COST = 0.35, 0.14  # of an octave, and of a beginning or an end, in frames 10 ms apart
_ROWS_AT_A_TIME = 1 << 12


def best_path(
    columns: Callable[[int, int], tuple[FloatArray, FloatArray]], count: int, seconds: float
) -> npt.NDArray[np.intp]:
    """The column of each of `count` rows through which the best path goes, for rows that are `seconds` apart.

    `columns` gives the scores and the octaves of the rows from one to before another. Column 0 is "no pitch". Stretches
    of rows are searched one after another, each beginning with the row at which the last ended.
    """
    scores, _ = columns(0, 1)
    total = scores[0]
    stretches = []
    for first in range(0, count - 1, _ROWS_AT_A_TIME):
        scores, octaves = columns(first, min(first + _ROWS_AT_A_TIME, count - 1) + 1)
        best, joints = _best_ways(scores, octaves, seconds)
        reached = total[:, np.newaxis] + best
        stretches.append((reached.argmax(axis=0), joints))
        total = reached.max(axis=0)
    end = int(total.argmax())
    parts = [np.array([end])]
    for came_from, joints in reversed(stretches):
        way = _read_back(int(came_from[end]), end, joints)
        parts.append(way[:-1])
        end = int(way[0])
    return np.concatenate(parts[::-1])


_Joints = list[tuple[npt.NDArray[np.int8], int]]


def _best_ways(scores: FloatArray, octaves: FloatArray, seconds: float) -> tuple[FloatArray, _Joints]:
    """The score of the best way from any column of the first row to any of the last, and where these ways go through.

    Pairs of neighbouring stretches, at first from one row to the next, are joined until one is left.
    """
    best = _moves(octaves, seconds) + scores[1:, np.newaxis, :]
    joints = []
    while len(best) > 1:
        even = len(best) // 2 * 2
        first, second = best[0:even:2], best[1:even:2]
        joined = np.full(first.shape, -np.inf)
        through = np.zeros(first.shape, dtype=np.int8)
        for column in range(scores.shape[1]):
            trial = first[:, :, column, np.newaxis] + second[:, np.newaxis, column, :]
            better = trial > joined
            joined[better] = trial[better]
            through[better] = column
        joints.append((through, len(best) + 1))
        best = np.concatenate((joined, best[even:]))
    return best[0], joints


def _read_back(start: int, end: int, joints: _Joints) -> npt.NDArray[np.intp]:
    """The columns of the best way from one column of the first row of a stretch to one of the last."""
    path = np.array([start, end])
    for through, length in reversed(joints):
        pairs = len(through)
        longer = np.empty(length, dtype=np.intp)
        longer[0 : 2 * pairs + 1 : 2] = path[: pairs + 1]
        longer[1 : 2 * pairs : 2] = through[np.arange(pairs), path[:pairs], path[1 : pairs + 1]]
        longer[-1] = path[-1]
        path = longer
    return path


def _moves(octaves: FloatArray, seconds: float) -> FloatArray:
    """What a move from any column of a row to any of the next costs, shape (rows - 1, columns, columns)."""
    before, after = octaves[:-1, :, np.newaxis], octaves[1:, np.newaxis, :]
    begins_or_ends = np.isnan(before) != np.isnan(after)
    leap = np.nan_to_num(np.abs(after - before))
    return np.asarray(-(_LEAP_COST * leap + _VOICING_COST * begins_or_ends) * (0.010 / seconds))
