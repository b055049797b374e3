"""The likeliest story of how a pitch curve came from notes that were to be played.

A story goes through the curve piece by piece. A piece is the note that was next, at its pitch or at a wrong one; a note
that was added; the same note going on; or a passage, such as a scoop, a slide or a squeak. Notes may be left out, the
last one struck again, and the player may go back or on to any other place, begin anywhere and end anywhere. Tempo is
free: a piece of a note is as long as it fits.

Every one of these has a price, which is minus the natural logarithm of how often it happens: 3 for what happens once
in twenty notes, 4 for once in fifty. Alignment at such prices by dynamic programming is after R. B. Dannenberg, "An
on-line algorithm for real-time accompaniment", Proc. ICMC, 1984, and B. Pardo and W. Birmingham, "Modeling form for
on-line following of musical performances", Proc. AAAI, 2005, who let the player jump; that a jump to anywhere costs no
more time, since it starts from the cheapest place, is as in E. Nakamura and others, "Outer-product hidden Markov model
and polyphonic MIDI score following", J. New Music Res. 43, 2014. They align notes that have been heard before; here
pieces of pitch are weighed by `LevelPieces`, and where they begin and end is found in the same search, which is
semi-Markov. A note's level has a normal prior about what it should be.

The search is exact, among pieces that begin and end at the places it is given: `places` gives the frames where the
pitch changes fastest, where a note may be struck and a little later, and others between, so that no frame is more than
50 ms away. What it leaves aside loses nothing: to jump from the cheapest story costs a fixed price, so that a story
that is dearer by more than that cannot become the cheapest.
"""

from __future__ import annotations

from copy import copy
from typing import Literal, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.level_pieces import NOTE_PRICE, PASSAGE_PRICE, LevelPieces, brief_price, pieces_between
from tunelib.hearing.piece_ends import SHORTEST_PIECE, held, places
from tunelib.pitch import FloatArray

# Prices in nats, beside those of `level_pieces`; the head of this file says what they stand for.
LEFT_OUT, AGAIN, ADDED, WRONG, JUMP = 3.0, 3.0, 3.0, 4.0, 4.0
KNOWN_NOTE = 6.0  # of a note whose pitch is expected; one that may have any costs `NOTE_PRICE`
GOES_ON = 8.0  # of the same note, in another piece
UNHEARD = 6.0  # more, of a note that comes again without a sure attack, and so can hardly be told from one that goes on
PASSAGE_FRAME = 2.0  # for each frame that counts
SPREAD = 20.0  # cents: standard deviation of a player's notes about what they should be

_DOUBTFUL, _SURE = 4.0, 7.0  # nats: what does not count of an attack, and the most that the rest is worth
_HEARD = 4.0  # nats of the rest, from which a note is taken to be struck
_SOON = 0.040  # seconds after an attack, in which a note may still begin; half as many before it
_NEVER = 1e9  # nats

Kind: TypeAlias = Literal["played", "goes on", "added", "wrong", "passage"]
_KINDS: tuple[Kind, ...] = ("played", "goes on", "added", "wrong", "passage")
_PLAYED, _GOES_ON, _ADDED, _WRONG, _PASSAGE = range(5)


class Step(NamedTuple):
    """One piece of a story.

    Parameters
    ----------
    kind : str
    note : int
        Which of the intended notes it is; for what is added or a passage, the one that would be next.
    first, end : int
        Frames of the track, `end` not included.
    level : float
        Its level in cents.
    """

    kind: Kind
    note: int
    first: int
    end: int
    level: float


class WeighedStretch:
    """A stretch of pitch without gaps, and what each of its pieces costs.

    Parameters
    ----------
    first : int
        Its first frame in the track.
    cents : array, shape (frames,)
    worth : array, shape (frames,)
        What speaks for an attack at each frame, in nats.
    hop : float
        In seconds.
    at : array of int, optional
        Frames of the stretch where a piece may begin or end, from 0 to the number of frames; otherwise as `places`.
    weights : array, shape (frames,), optional
        1 for a frame that counts, 0 for one that does not; otherwise those count that are `held`.
    """

    def __init__(
        self,
        first: int,
        cents: FloatArray,
        worth: FloatArray,
        hop: float,
        at: npt.NDArray[np.intp] | None = None,
        weights: FloatArray | None = None,
    ) -> None:
        self.first = first
        self.at = places(cents, worth, hop) if at is None else at
        before, after = round(_SOON / hop), round(_SOON / 2 / hop)
        worth = np.concatenate(
            (np.zeros(before), [_SURE], np.clip(worth[1:] - _DOUBTFUL, 0.0, _SURE), np.zeros(after + 1))
        )
        self.worth = sliding_window_view(worth, before + after + 1).max(axis=1)[self.at]
        weights = held(cents, hop).astype(float) if weights is None else weights
        counted = np.concatenate(([0.0], np.cumsum(weights)))[self.at]
        pieces = LevelPieces(cents, hop, weights)
        least = max(2, round(SHORTEST_PIECE / hop))
        self.fits: list[_Fits] = []
        for end, (low, cost, level, variance) in enumerate(pieces_between(pieces, self.at), 1):
            frames = self.at[end] - self.at[low:end]
            passage = PASSAGE_PRICE + PASSAGE_FRAME * (counted[end] - counted[low:end])
            cost = cost + brief_price(frames * hop)
            cost[frames < least] = _NEVER
            self.fits.append(_Fits(low, cost, level, variance + SPREAD**2, passage))

    def head(self, frames: int) -> WeighedStretch:
        """Its beginning, up to the first place after so many frames."""
        part = copy(self)
        count = int(np.searchsorted(self.at, frames)) + 1
        part.at, part.worth, part.fits = self.at[:count], self.worth[:count], self.fits[: count - 1]
        return part


class _Fits(NamedTuple):
    """The pieces up to one place, from all places on from `low`."""

    low: int
    cost: FloatArray
    level: FloatArray
    variance: FloatArray
    passage: FloatArray


class _Told(NamedTuple):
    """The cheapest ways through one stretch, for the way back: of each place, and each count of notes passed."""

    start: npt.NDArray[np.int32]
    passed: npt.NDArray[np.int32]
    kind: npt.NDArray[np.int8]


def best_story(stretches: list[WeighedStretch], targets: FloatArray) -> tuple[float, list[Step]]:
    """The cheapest story, and its cost in nats.

    Parameters
    ----------
    stretches : list of WeighedStretch
        In the order of time.
    targets : array, shape (notes,)
        What was to be played, in the cents of the stretches.
    """
    passed = np.arange(targets.size + 1)
    costs = np.minimum(LEFT_OUT * passed, JUMP)
    told = []
    for stretch in stretches:
        costs, ways = _through(stretch, targets, costs)
        told.append(ways)
    ends = costs + np.minimum(LEFT_OUT * passed[::-1], JUMP)
    now = int(ends.argmin())
    return float(ends[now]), _read_back(stretches, told, now)


def _through(stretch: WeighedStretch, targets: FloatArray, before: FloatArray) -> tuple[FloatArray, _Told]:
    """Tell one stretch, from the costs of the stories before it to those after it."""
    count, notes = stretch.at.size, targets.size
    told = _Told(
        np.zeros((count, notes + 1), np.int32), np.zeros((count, notes + 1), np.int32),
        np.zeros((count, notes + 1), np.int8),
    )  # fmt: skip
    costs, into = np.empty((count, notes + 1)), np.empty((count, notes))
    came, how = np.empty((count, notes), np.int32), np.empty((count, notes), np.int8)
    least, leader = np.empty(count), np.empty(count, int)
    every, column = np.arange(notes + 1), np.arange(notes)
    same = np.append(False, np.diff(targets) == 0)
    costs[0] = before
    for place in range(count):
        if place:
            low, cost, level, variance, passage = stretch.fits[place - 1]
            here = slice(low, place)
            struck = cost - stretch.worth[here]
            other = np.minimum(struck + ADDED + NOTE_PRICE, passage)
            kept = _kept(stretch.fits[place - 1], stretch.worth[here], other, least[here], leader[here], targets)
            rows = low + kept
            trial = costs[rows] + other[kept, np.newaxis]
            pick = trial.argmin(axis=0)
            now = trial[pick, every]
            told.start[place], told.passed[place] = rows[pick], every
            told.kind[place] = np.where(other < struck + ADDED + NOTE_PRICE, _PASSAGE, _ADDED)[kept][pick]
            tries = (
                (costs[rows, :-1] + (struck + WRONG + NOTE_PRICE)[kept, np.newaxis]),
                (
                    into[rows]
                    + cost[kept, np.newaxis]
                    + 0.5 * (level[kept, np.newaxis] - targets) ** 2 / variance[kept, np.newaxis]
                ),
            )
            for kind, trial in zip((_WRONG, _PLAYED), tries, strict=True):
                pick = trial.argmin(axis=0)
                value = trial[pick, column]
                better = np.flatnonzero(value < now[1:])
                start = rows[pick[better]]
                now[1 + better] = value[better]
                told.start[place, 1 + better] = start
                told.passed[place, 1 + better] = better if kind == _WRONG else came[start, better]
                told.kind[place, 1 + better] = kind if kind == _WRONG else how[start, better]
            costs[place] = now
        leader[place] = costs[place].argmin()
        least[place] = costs[place, leader[place]]
        into[place], came[place], how[place] = _entered(
            costs[place], float(stretch.worth[place]), int(leader[place]), same
        )
    return costs[-1], told


def _kept(
    fits: _Fits,
    worth: FloatArray,
    other: FloatArray,
    least: FloatArray,
    leader: npt.NDArray[np.intp],
    targets: FloatArray,
) -> npt.NDArray[np.intp]:
    """Which pieces up to a place may be the last of a story that is worth telling on.

    Each lasts from a place where an attack is worth `worth`, and where the cheapest story, of `leader` notes, costs
    `least`; `other` is what the piece costs if it is no intended note. Of a story that is dearer by a jump than another
    that ends there, nothing can come that does not come cheaper of the other.
    """
    ahead, done = targets[np.minimum(leader, targets.size - 1)], leader == targets.size
    as_next = fits.cost - worth + KNOWN_NOTE + AGAIN * done + 0.5 * (fits.level - ahead) ** 2 / fits.variance
    reached = float(np.min(least + np.minimum(other, as_next)))
    lowest = least + np.minimum(other, fits.cost + np.minimum(GOES_ON, KNOWN_NOTE - worth))
    return np.flatnonzero(lowest <= reached + JUMP)


def _entered(
    costs: FloatArray, worth: float, leader: int, same: npt.NDArray[np.bool_]
) -> tuple[FloatArray, npt.NDArray[np.intp], npt.NDArray[np.int8]]:
    """Of each intended note, what it costs to come to it at a place, from how many passed, and whether it goes on."""
    column = np.arange(costs.size - 1)
    ways = np.full((5, column.size), costs[leader] + JUMP + KNOWN_NOTE - worth)
    unheard = UNHEARD if worth < _HEARD else 0.0
    ways[0] = costs[:-1] + KNOWN_NOTE - worth + unheard * same
    ways[1, :1], ways[1, 1:] = np.inf, costs[:-2] + LEFT_OUT + KNOWN_NOTE - worth
    ways[2] = costs[1:] + AGAIN + KNOWN_NOTE - worth + unheard
    ways[3] = costs[1:] + GOES_ON
    pick = ways.argmin(axis=0)
    came = np.stack((column, column - 1, column + 1, column + 1, np.full(column.size, leader)))
    return ways[pick, column], came[pick, column], np.where(pick == 3, _GOES_ON, _PLAYED).astype(np.int8)


def _read_back(stretches: list[WeighedStretch], told: list[_Told], passed: int) -> list[Step]:
    steps = []
    for stretch, ways in zip(reversed(stretches), reversed(told), strict=True):
        place = stretch.at.size - 1
        while place:
            start, kind = int(ways.start[place, passed]), _KINDS[ways.kind[place, passed]]
            low, _, level, *_ = stretch.fits[place - 1]
            note = passed if kind in ("added", "passage") else passed - 1
            first, end = (stretch.first + int(stretch.at[at]) for at in (start, place))
            steps.append(Step(kind, note, first, end, float(level[start - low])))
            place, passed = start, int(ways.passed[place, passed])
    return steps[::-1]
