"""What was played on the keys, and as a score."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from tunelib.live.key_notes import KeyNotes
from tunelib.pitch import ratio_from_cents
from tunelib.score import Score, ScoreNote

SHORTEST = 0.02  # seconds: a note of a score lasts at least so long


class Played(NamedTuple):
    """A note that was played.

    Attributes
    ----------
    seconds : float
        When it began, from the first note since the keys were cleared.
    step : int
        Of the tuning; C4 is 0.
    velocity : float
        How hard it was struck, 0 to 1.
    duration : float or None
        In seconds; None while it is held.
    cents : float
        How far above its step it began: 0 unless it was bent, or came from a controller that goes between the steps.
    """

    seconds: float
    step: int
    velocity: float
    duration: float | None
    cents: float = 0.0


def played_score(
    played: Sequence[Played], notes: KeyNotes, tempo: float, grid: Fraction | float = 0, title: str = ""
) -> Score:
    """What was played as a score; a note that is still held lasts to the end of all others.

    Times are moved to the nearest whole multiple of `grid` beats, and no note is shorter than that; they stay as they
    are if it is 0. Raises ValueError for a tempo that is not above 0, or a grid below 0.
    """
    if not 0 < tempo < math.inf:
        raise ValueError(f"a tempo is above 0 beats a minute, not {tempo!r}")
    if not 0 <= grid < math.inf:
        raise ValueError(f"a grid is a part of a beat such as Fraction(1, 4), or 0 for none, not {grid!r}")
    end = max((note.seconds + (note.duration or SHORTEST) for note in played), default=0.0)

    def beats(seconds: float) -> Fraction | float:
        exact = seconds * tempo / 60
        return round(exact / grid) * grid if grid else exact

    timed = []
    for note in played:
        onset = beats(note.seconds)
        lasts = max(note.duration or end - note.seconds, SHORTEST)
        duration = max(beats(note.seconds + lasts) - onset, grid) if grid else beats(lasts)
        hertz = notes.hz(note.step) * float(ratio_from_cents(note.cents))
        name = notes.note(note.step)
        timed.append(ScoreNote(onset, duration, hertz, name=name, voice="keys", level=note.velocity**2))
    return Score(tuple(timed), tempo=tempo, title=title)
