"""One chord by itself, held so that its tuning can be heard."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from tunelib.arrange.tune_score import BASS, CHORDS
from tunelib.pitch import Note, Tuning
from tunelib.score import Score, ScoreNote

_SECONDS = Fraction(5, 2)
_LEVELS = {BASS: 0.5, CHORDS: 0.3}


def chord_score(notes: Sequence[Note], tuning: Tuning, factor: float = 1.0) -> Score:
    """The bass and the upper voices of a chord, held together for two seconds and a half.

    Parameters
    ----------
    notes : sequence of Note
        The bass first, as a `RetunedChord` has them; one that falls between two steps of the tuning goes to the nearer.
    tuning : Tuning
    factor : float
        By which all frequencies are multiplied, so that two tunings can share another note than A4.

    Raises ValueError for no notes.
    """
    if not notes:
        raise ValueError("a chord has at least one note")
    sounding = [note.within(tuning) for note in notes]
    voices = [BASS, *[CHORDS] * (len(notes) - 1)]
    return Score(
        tuple(
            ScoreNote(Fraction(0), _SECONDS, factor * note.hz(tuning), note, voice, level=_LEVELS[voice])
            for note, voice in zip(sounding, voices, strict=True)
        )
    )
