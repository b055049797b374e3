"""What was played on the keys, and as a score."""

from __future__ import annotations

from collections.abc import Sequence
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
        How far above its step it sounded: 0 unless it was bent, or came from a controller that goes between the steps.
    """

    seconds: float
    step: int
    velocity: float
    duration: float | None
    cents: float = 0.0


def played_score(played: Sequence[Played], notes: KeyNotes, tempo: float, title: str = "") -> Score:
    """What was played as a score; a note that is still held lasts to the end of all others.

    Raises ValueError for a tempo that is not above 0.
    """
    end = max((note.seconds + (note.duration or SHORTEST) for note in played), default=0.0)
    timed = []
    for note in played:
        seconds = max(note.duration or end - note.seconds, SHORTEST)
        hertz = notes.hz(note.step) * float(ratio_from_cents(note.cents))
        name = notes.note(note.step)
        timed.append(ScoreNote(
            note.seconds * tempo / 60, seconds * tempo / 60, hertz, name=name, voice="keys", level=note.velocity,
        ))  # fmt: skip
    return Score(tuple(timed), tempo=tempo, title=title)
