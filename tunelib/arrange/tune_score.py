"""A retuned tune as a score for the band: its melody, its chords as they hold and as they are struck, and its bass.

Melody, held chords and bass are written; the chords as they are struck are played and not written. Under a note that
was moved, or is between two keys, is the nearest of twelve equal steps and the cents by which the note is away from it,
so that it can be played on what is at hand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from tunelib.arrange.comping import bass_beats, struck
from tunelib.harmony import Chord, RetunedChord, RetunedTune
from tunelib.pitch import Note, SpelledInterval, Tuning, equal, nearest_note, signed, spellings
from tunelib.score import Score, ScoreNote

MELODY, CHORDS, COMP, BASS = "melody", "chords", "comp", "bass"
"""The voices of a tune's score: "chords" hold, and "comp" are the same chords as they are struck."""

_TWELVE, _THIRTY_ONE = equal(12), equal(31)
_UNISON, _FIFTH = SpelledInterval.parse("P1"), SpelledInterval.parse("P5")
_LEVELS = {MELODY: 0.8, CHORDS: 0.22, COMP: 0.4, BASS: 0.7}
_MOST_HALF_SHARPS = 4  # that there are accidentals for


def tune_score(tune: RetunedTune, division: int = 31) -> Score:
    """A retuned tune as it is played.

    Parameters
    ----------
    tune : RetunedTune
    division : int
        31, or 12 for the tune as it is written on a keyboard: its plain chords, in the layout that they have in
        thirty-one, in the same rhythm. A note of the lead sheet that lies between two keys goes to the nearer.

    Returns a score with the voices "melody" (if there is one), "chords", "comp" and "bass". A4 is 440 Hz in both.
    Raises ValueError for another division.
    """
    if division not in (12, 31):
        raise ValueError(f"a tune is played in 31 or in 12, not in {division!r}")
    tuning, sheet = equal(division), tune.sheet
    melody = tune.melody if division == 31 else sheet.melody
    home = sheet.key.lowest_fifth + 1
    notes = [
        _voiced(MELODY, sung.note, written.note, sung.onset, sung.duration, tuning, home)
        for sung, written in zip(melody, sheet.melody, strict=True)
    ]
    for chord in tune.chords:
        notes += _played(chord, sheet.beats_per_bar, tuning, home)
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def as_written(chord: RetunedChord) -> tuple[Note, ...]:
    """The notes of a retuned chord where the lead sheet has them: the same letters, in the same octaves."""
    written = chord.written.chord
    unmoved = dict(zip(_by_number(chord.chord), _by_number(written), strict=True))
    bass, *upper = chord.notes
    notes = [Note(bass.letter, (written.bass or written.root).half_sharps, bass.octave)]
    notes += [replace(note, half_sharps=unmoved[note.letter, note.half_sharps][1]) for note in upper]
    return tuple(notes)


def _by_number(chord: Chord) -> list[tuple[str, int]]:
    """Letters and accidentals of a chord's notes, by the numbers that they have in it, which retuning leaves alone."""
    placed = sorted(zip(chord.intervals, chord.notes, strict=True), key=lambda pair: pair[0].letters)
    return [(note.letter, note.half_sharps) for _, note in placed]


def _on_a_key(note: Note) -> Note:
    """A note between two keys of twelve, as the one of the two that lies nearer to it in thirty-one."""
    if note.half_sharps % 2 == 0:
        return note
    below, above = (Note(note.letter, note.half_sharps + side, note.octave) for side in (-1, 1))
    hertz = note.hz(_THIRTY_ONE)
    return below if hertz / below.hz(_TWELVE) < above.hz(_TWELVE) / hertz else above


def _writable(note: Note, tuning: Tuning) -> Note:
    """A note under a name that there is an accidental for."""
    return note if abs(note.half_sharps) <= _MOST_HALF_SHARPS else spellings(note.step(tuning), tuning)[0]


def _voiced(
    voice: str, note: Note, written: Note, onset: Fraction, duration: Fraction, tuning: Tuning, home: float
) -> ScoreNote:
    """A note of a voice, with the nearest key under it if it was moved or lies between two keys."""
    sounding = note if len(tuning) == 31 else _on_a_key(note)
    hertz = sounding.hz(tuning)
    if voice == COMP:  # the chords are written as they hold
        return ScoreNote(onset, duration, hertz, None, voice, level=_LEVELS[voice])
    label = ""
    if len(tuning) == 31 and (note != written or note.half_sharps % 2):
        key, cents = nearest_note(hertz, home=home)
        label = f"{key.name} {signed(cents)}"
    return ScoreNote(onset, duration, hertz, _writable(sounding, tuning), voice, label, _LEVELS[voice])


def _played(chord: RetunedChord, beats_per_bar: int, tuning: Tuning, home: float) -> list[ScoreNote]:
    """A chord as it holds and as it is struck, and its bass."""
    written = as_written(chord)
    onset, end = chord.written.onset, chord.written.end
    sounding = chord.notes if len(tuning) == 31 else written
    holding = [(onset, chord.written.duration)]
    notes = [
        _voiced(voice, note, unmoved, when, length, tuning, home)
        for voice, times_and_lengths in ((CHORDS, holding), (COMP, struck(onset, end, beats_per_bar)))
        for when, length in times_and_lengths
        for note, unmoved in zip(sounding[1:], written[1:], strict=True)
    ]
    root_and_fifth = chord.written.chord.bass is None and (5, 0) in chord.chord.degrees
    for turn, (when, length) in enumerate(bass_beats(onset, end, beats_per_bar)):
        up = _FIFTH if root_and_fifth and turn % 2 else _UNISON
        note, unmoved = (bass.transpose(up) for bass in (sounding[0], written[0]))
        notes.append(_voiced(BASS, note, unmoved, when, length, tuning, home))
    return notes
