"""A retuned tune as a score for the band: its melody, its chords as held and as struck, and its bass.

Melody, held chords and bass are written; the chords as they are struck are played and not written. Under a note that
was moved, or is between two keys, is the nearest of twelve equal steps and how many cents the note is from it,
so that it can be played on what is at hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from tunelib.arrange.comping import bass_beats, struck
from tunelib.harmony import RetunedChord, RetunedTune
from tunelib.pitch import Note, SpelledInterval, Tuning, equal, nearest_note, signed, spell_near
from tunelib.score import Score, ScoreNote

MELODY, CHORDS, COMP, BASS = "melody", "chords", "comp", "bass"
"""The voices of a tune's score: "chords" hold, and "comp" are the same chords as they are struck."""

_TWELVE = equal(12)
_UNISON, _FIFTH = SpelledInterval.parse("P1"), SpelledInterval.parse("P5")
_LEVELS = {MELODY: 0.8, CHORDS: 0.22, COMP: 0.4, BASS: 0.7}
_MOST_HALF_SHARPS = 4  # that there are accidentals for


def tune_score(tune: RetunedTune, division: int | None = None) -> Score:
    """A retuned tune as it is played.

    Parameters
    ----------
    tune : RetunedTune
    division : int, optional
        The tune's own, which it is in unless another is given, or 12 for the tune as it is written on a keyboard: its
        plain chords, in the layout that they have in its own division, in the same rhythm. A note of the lead sheet
        that is between two keys goes to the nearer.

    Returns a score with the voices "melody" (if there is one), "chords", "comp" and "bass". A4 is 440 Hz in both.
    Raises ValueError for another division.
    """
    own = len(tune.tuning)
    if division not in (None, own, 12):
        raise ValueError(f"this tune is played in {own} or in 12, not in {division!r}")
    sheet = tune.sheet
    retuned = division in (None, own)
    tuning = tune.tuning if retuned else _TWELVE
    melody = tune.melody if retuned else sheet.melody
    home = sheet.key.lowest_fifth + 1
    notes = [
        _voiced(MELODY, sung.note, written.note, sung.onset, sung.duration, tuning, home, retuned)
        for sung, written in zip(melody, sheet.melody, strict=True)
    ]
    for chord in tune.chords:
        notes += _played(tune, chord, tuning, retuned)
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def as_written(chord: RetunedChord, tuning: Tuning) -> tuple[Note, ...]:
    """The notes of a retuned chord where the lead sheet has them: the same letters, in the same octaves."""
    written = chord.written.chord
    places = zip(chord.chord.notes_in(tuning), _by_number(chord.chord.notes, written.notes), strict=True)
    unmoved = {note.step(tuning) % len(tuning): half_sharps for note, half_sharps in places}
    bass, *upper = chord.notes
    notes = [Note(bass.letter, (written.bass or written.root).half_sharps, bass.octave)]
    notes += [Note(note.letter, unmoved[note.step(tuning) % len(tuning)], note.octave) for note in upper]
    return tuple(notes)


def _by_number(retuned: Sequence[Note], written: Sequence[Note]) -> list[int]:
    """For each note of a retuned chord the half-sharps of the written one of the same number, which stays as it is."""
    in_order = sorted(range(len(retuned)), key=lambda place: _number(retuned, place))
    as_written = sorted(range(len(written)), key=lambda place: _number(written, place))
    found = dict(zip(in_order, as_written, strict=True))
    return [written[found[place]].half_sharps for place in range(len(retuned))]


def _number(notes: Sequence[Note], place: int) -> int:
    return notes[place].diatonic - notes[0].diatonic


def _writable(note: Note, tuning: Tuning) -> Note:
    """A note under a name that there is an accidental for."""
    return note if abs(note.half_sharps) <= _MOST_HALF_SHARPS else spell_near(note.step(tuning), tuning)


def _voiced(
    voice: str,
    note: Note,
    written: Note,
    onset: Fraction,
    duration: Fraction,
    tuning: Tuning,
    home: float,
    retuned: bool,
) -> ScoreNote:
    """A note of a voice, with the nearest key under it if it was moved or is between two keys."""
    sounding = note if retuned else replace(note, steps=0).within(tuning)
    hertz = sounding.hz(tuning)
    if voice == COMP:  # the chords are written as they hold
        return ScoreNote(onset, duration, hertz, None, voice, level=_LEVELS[voice])
    label = ""
    if retuned and (note != written or note.half_sharps % 2):
        key, cents = nearest_note(hertz, home=home)
        label = f"{key.name} {signed(cents)}"
    return ScoreNote(onset, duration, hertz, _writable(sounding, tuning), voice, label, _LEVELS[voice])


def _played(tune: RetunedTune, chord: RetunedChord, tuning: Tuning, retuned: bool) -> list[ScoreNote]:
    """A chord as it holds and as it is struck, and its bass."""
    beats_per_bar, home = tune.sheet.beats_per_bar, tune.sheet.key.lowest_fifth + 1
    written = as_written(chord, tune.tuning)
    onset, end = chord.written.onset, chord.written.end
    sounding = chord.notes if retuned else written
    holding = [(onset, chord.written.duration)]
    notes = [
        _voiced(voice, note, unmoved, when, length, tuning, home, retuned)
        for voice, times_and_lengths in ((CHORDS, holding), (COMP, struck(onset, end, beats_per_bar)))
        for when, length in times_and_lengths
        for note, unmoved in zip(sounding[1:], written[1:], strict=True)
    ]
    root_and_fifth = chord.written.chord.bass is None and (5, 0) in chord.chord.degrees
    for turn, (when, length) in enumerate(bass_beats(onset, end, beats_per_bar)):
        up = _FIFTH if root_and_fifth and turn % 2 else _UNISON
        note, unmoved = (bass.transpose(up) for bass in (sounding[0], written[0]))
        notes.append(_voiced(BASS, note, unmoved, when, length, tuning, home, retuned))
    return notes
