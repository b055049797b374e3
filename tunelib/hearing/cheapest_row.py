"""A stretch of pitch as a row of notes and passages: the cheapest of all rows.

Each piece of the stretch is a note, at the cost of its pitch (`level_pieces`) and the price of a note, less what its
attack is worth; or a passage, which is no note: a slide, a scoop, stray frames, at so much a frame. The cheapest row is
found by dynamic programming over where pieces begin and end (P. Fearnhead, "Exact and efficient Bayesian inference for
multiple changepoint problems", Stat. Comput. 16, 2006).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.attacks import SURE_ATTACK
from tunelib.hearing.level_pieces import LONGEST_PIECE, piece_costs
from tunelib.pitch import FloatArray

SHORTEST_PIECE = 0.05  # seconds
LATE = 3  # frames by which a note may begin after its attack, when its pitch has settled

NOTE_PRICE, SHORT_PRICE = 9.0, 8.0  # nats; the second for a note of 50 ms, falling to 0 at 100 ms
PASSAGE_PRICE, PASSAGE_RATE = 3.0, 80.0  # nats, and nats a second
STRUCK_PASSAGE = 20.0  # nats: what is struck, and struck again, is a note
_LONGEST_PASSAGE = 0.2  # seconds
_AT_A_TIME = 1024


class Stretch(NamedTuple):
    """Pitch without gaps: cents, what an attack is worth in nats, and the level in decibels, frame by frame."""

    cents: FloatArray
    worth: FloatArray
    level_db: FloatArray
    hop: float


def _felt(worth: FloatArray) -> FloatArray:
    """What an attack is worth to a note that begins a frame before it, or a little after it."""
    return np.asarray(sliding_window_view(np.pad(worth, (LATE, 1)), LATE + 2).max(axis=1))


def cheapest_row(part: Stretch) -> list[tuple[int, int]]:
    """The notes of a stretch: first frame, and the frame after the last."""
    size, hop = part.cents.size, part.hop
    short, long = max(2, round(SHORTEST_PIECE / hop)), round(LONGEST_PIECE / hop)
    passing = min(round(_LONGEST_PASSAGE / hop), long)
    struck = np.append(sliding_window_view(np.pad(part.worth, 2), 5).max(axis=1) >= SURE_ATTACK, True)
    lengths = np.arange(long + 1)
    brief = SHORT_PRICE * np.clip((2 * SHORTEST_PIECE - lengths * hop) / SHORTEST_PIECE, 0, 1)
    price = NOTE_PRICE - _felt(part.worth)
    best = np.full(size + 1, np.inf)
    best[0] = 0.0
    came, passage = np.zeros(size + 1, dtype=np.intp), np.zeros(size + 1, dtype=bool)
    rows: FloatArray = np.zeros((0, long + 1))  # costs of the pieces that may still end, from frame `low` on
    low = 0
    along = np.arange(long, short - 1, -1)
    for end in range(1, size + 1):
        if end - 1 >= low + len(rows):
            more = range(low + len(rows), min(size, low + len(rows) + _AT_A_TIME))
            fresh = piece_costs(part.cents, hop, more, long)
            keep = max(0, len(rows) - long)
            rows, low = np.concatenate((rows[keep:], fresh)), low + keep
        length = along[max(0, long - end) :]
        if length.size:
            start = end - length
            trial = best[start] + rows[start - low, length] + price[start]
            trial += brief[length] * (part.worth[start] < SURE_ATTACK)
            pick = int(trial.argmin())
            best[end], came[end] = trial[pick], start[pick]
        start = np.arange(max(0, end - passing), end)
        trial = best[start] + PASSAGE_PRICE + PASSAGE_RATE * hop * (end - start)
        trial[passage[start]] = np.inf
        trial += STRUCK_PASSAGE * (struck[start] & struck[end] & (end - start > 2 * short - 3))
        pick = int(trial.argmin())
        if trial[pick] < best[end]:
            best[end], came[end], passage[end] = trial[pick], start[pick], True
    notes: list[tuple[int, int]] = []
    end = size
    while end > 0:
        if not passage[end]:
            notes.append((int(came[end]), end))
        end = int(came[end])
    return notes[::-1]
