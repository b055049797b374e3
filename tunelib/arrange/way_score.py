"""A way between two chords, to be heard by itself: each chord held until the next, its root below."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from tunelib.arrange.chord_score import chord_score
from tunelib.harmony import Way
from tunelib.pitch import A4_HZ, Note
from tunelib.score import Score, ScoreNote

_ENDS, _PASSING = Fraction(3, 2), Fraction(1)  # seconds of the two chords, and of each between them
_LOWEST_BASS = Note.parse("E1")


def way_score(way: Way, reference: float = A4_HZ) -> Score:
    """The chords of a way one after another, the passing ones a second each.

    Parameters
    ----------
    way : Way
    reference : float
        The frequency of A4 in hertz.
    """
    notes: list[ScoreNote] = []
    onset = Fraction(0)
    for place, (chord, upper) in enumerate(zip(way.chords, way.leading.notes(), strict=True)):
        lasting = _PASSING if 0 < place < len(way.chords) - 1 else _ENDS
        bass = chord.bass_in(way.tuning).above(_LOWEST_BASS, way.tuning)
        held = chord_score((bass, *upper), way.tuning, reference).notes
        notes += [replace(note, onset=onset, duration=lasting) for note in held]
        onset += lasting
    return Score(tuple(notes))
