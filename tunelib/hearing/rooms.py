"""How long a room rings: told from how slowly the level falls after notes that were held.

The time is that in which the level would fall by 60 dB (ISO 3382-1), drawn on from what can be seen of the fall before
the next note begins. As there, the first 5 dB are left out, in which what comes straight from the player stops; so
it takes notes with a pause after them. What is plucked falls from its beginning, and tells nothing of the room.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tunelib.hearing.heard_notes import HeardNote
from tunelib.pitch import FloatArray

_WHOLE_FALL = 60.0  # decibels
_FALLEN, _LEAST_FALL, _MOST_FALL = 5.0, 12.0, 25.0  # decibels under the note: from where on, to where at least and most
_EVEN = 4.0  # decibels, between the first fifth of a note and the second
_SHORTEST_NOTE = 0.3  # seconds
_FEWEST, _SHARE = 2, 0.25  # falls that can be measured, and their share of the notes


def ringing(notes: Sequence[HeardNote], times: FloatArray, level_db: FloatArray) -> float:
    """In how many seconds the level falls by 60 dB after the notes; 0 where that cannot be told.

    Parameters
    ----------
    notes : sequence of HeardNote
    times, level_db : array
        Seconds and decibels of the frames in which the take was measured.
    """
    if not notes:
        return 0.0
    ends = [note.onset for note in notes[1:]] + [float(times[-1])]
    found = [
        _fall(times[part], level_db[part])
        for note, end in zip(notes, ends, strict=True)
        if end - note.onset > _SHORTEST_NOTE
        for part in [slice(*np.searchsorted(times, (note.onset, min(end, note.offset + 1.0))).tolist())]
    ]
    falls = [seconds for seconds in found if seconds > 0]
    return float(np.median(falls)) if len(falls) >= max(_FEWEST, _SHARE * len(notes)) else 0.0


def _fall(times: FloatArray, level: FloatArray) -> float:
    """The seconds of a whole fall after one note, or 0."""
    fifth = level.size // 5
    if fifth == 0 or abs(np.median(level[:fifth]) - np.median(level[fifth : 2 * fifth])) > _EVEN:
        return 0.0
    held = np.median(level[: 2 * fifth])
    begin = int(np.flatnonzero(level >= held - _FALLEN)[-1])
    low = np.flatnonzero(level[begin:] < held - _MOST_FALL)
    end = begin + 1 + int(low[0] if low.size else np.argmin(level[begin:]))
    if level[end - 1] > held - _LEAST_FALL or end - begin < 3:
        return 0.0
    return -_WHOLE_FALL / min(float(np.polyfit(times[begin:end], level[begin:end], 1)[0]), -1e-9)
