"""A stretch of pitch as a row of notes and passages: the cheapest of all rows.

Each piece of the stretch is a note, at the cost of its pitch (`level_pieces`) and the price of a note, less what its
attack is worth; or a passage, which is no note: a slide, a scoop, stray frames, at so much a second. The cheapest row
is found by dynamic programming over where pieces begin and end (P. Fearnhead, "Exact and efficient Bayesian inference
for multiple changepoint problems", Stat. Comput. 16, 2006). That is exact among the frames where something changes
(`places`), of which there is one every 0.1 s at least.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.attacks import SURE_ATTACK
from tunelib.hearing.level_pieces import NOTE_PRICE, PASSAGE_PRICE, LevelPieces, brief_price, pieces_between
from tunelib.hearing.piece_ends import SHORTEST_PIECE, held, places
from tunelib.pitch import FloatArray

LATE = 3  # frames by which a note may begin after its attack, when its pitch has settled

PASSAGE_RATE = 80.0  # nats a second
STRUCK_PASSAGE = 20.0  # nats: what is struck, and struck again, is a note
_LONGEST_PASSAGE = 0.2  # seconds


class Stretch(NamedTuple):
    """A stretch of sound without a pause, frame by frame.

    Parameters
    ----------
    cents : array
        Pitch above 1 Hz; NaN where it is not known for a moment.
    worth : array
        What an attack there is worth, in nats.
    level_db : array
        Level in decibels.
    hop : float
        Seconds from frame to frame.
    """

    cents: FloatArray
    worth: FloatArray
    level_db: FloatArray
    hop: float


def cheapest_row(part: Stretch) -> list[tuple[int, int]]:
    """The notes of a stretch: first frame, and the frame after the last."""
    size, hop = part.cents.size, part.hop
    known = np.isfinite(part.cents)
    cents = np.interp(np.arange(size), np.flatnonzero(known), part.cents[known])
    pieces = LevelPieces(cents, hop, (held(cents, hop) & known).astype(float))
    at = _places(cents, part.worth, hop)
    near = np.pad(part.worth, (LATE, 1))  # a note begins with its attack, a frame before it, or a little after it
    price = NOTE_PRICE - sliding_window_view(near, LATE + 2).max(axis=1)
    struck = np.append(sliding_window_view(np.pad(part.worth, 2), 5).max(axis=1) >= SURE_ATTACK, True)
    best = np.full(at.size, np.inf)
    best[0] = 0.0
    came, passage = np.zeros(at.size, dtype=np.intp), np.zeros(at.size, dtype=bool)
    for place, (low, fit, _, _) in enumerate(pieces_between(pieces, at), 1):
        end = int(at[place])
        starts = at[low:place]
        seconds = np.asarray((end - starts) * hop, dtype=float)
        cost = fit + price[starts] + brief_price(seconds) * (part.worth[starts] < SURE_ATTACK)
        trial = np.where(seconds < SHORTEST_PIECE - hop / 2, np.inf, best[low:place] + cost)
        pick = int(trial.argmin())
        best[place], came[place] = trial[pick], low + pick
        passing = best[low:place] + PASSAGE_PRICE + PASSAGE_RATE * seconds
        passing += STRUCK_PASSAGE * (struck[starts] & struck[end] & (seconds > 1.5 * SHORTEST_PIECE))
        passing[passage[low:place] | (seconds > _LONGEST_PASSAGE)] = np.inf
        pick = int(passing.argmin())
        if passing[pick] < best[place]:
            best[place], came[place], passage[place] = passing[pick], low + pick, True
    notes: list[tuple[int, int]] = []
    now = at.size - 1
    while now > 0:
        if not passage[now]:
            notes.append((int(at[came[now]]), int(at[now])))
        now = int(came[now])
    return notes[::-1]


def _places(cents: FloatArray, worth: FloatArray, hop: float) -> npt.NDArray[np.intp]:
    """Where pieces may begin or end: where something changes, and just after each attack."""
    after = np.flatnonzero(worth > 0)[:, np.newaxis] + np.arange(LATE + 1)
    return np.union1d(places(cents, worth, hop), after[after < cents.size])
