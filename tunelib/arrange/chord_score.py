"""One chord by itself, held so that its tuning can be heard."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from tunelib.arrange.written_score import BASS, CHORDS
from tunelib.pitch import A4_HZ, Note, Tuning
from tunelib.score import Score, ScoreNote

_SECONDS = Fraction(5, 2)
_LEVELS = {BASS: 0.5, CHORDS: 0.3}


def chord_score(notes: Sequence[Note], tuning: Tuning, reference: float = A4_HZ) -> Score:
    """The bass and the upper voices of a chord, held together for two seconds and a half.

    Parameters
    ----------
    notes : sequence of Note
        The bass first, as a `RetunedChord` has them; one that falls between two steps of the tuning goes to the nearer.
    tuning : Tuning
    reference : float
        The frequency of A4 in hertz.

    Raises ValueError for no notes.
    """
    if not notes:
        raise ValueError("a chord has at least one note")
    sounding = [note.within(tuning) for note in notes]
    voices = [BASS, *[CHORDS] * (len(notes) - 1)]
    return Score(
        tuple(
            ScoreNote(Fraction(0), _SECONDS, note.hz(tuning, reference), note, voice, level=_LEVELS[voice])
            for note, voice in zip(sounding, voices, strict=True)
        )
    )
