"""A retuned tune as it is printed: its melody, its chords as they hold and its bass, in the rhythm of the lead sheet.

Under a note that was moved, or is between two keys, is the nearest of twelve equal steps and how many cents the note is
from it, so that it can be played on what is at hand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from tunelib.harmony import Chord, RetunedChord, RetunedTune
from tunelib.pitch import Note, SpelledInterval, Tuning, nearest_note, readable, signed
from tunelib.score import Score, ScoreNote

MELODY, CHORDS, COMP, BASS, COUNT = "melody", "chords", "comp", "bass", "count"
"""The voices of a tune's scores: "chords" hold, "comp" are the same chords as they are struck, "count" counts in."""

_UNISON, _FIFTH = SpelledInterval.parse("P1"), SpelledInterval.parse("P5")
_LEVELS = {MELODY: 0.8, CHORDS: 0.22, BASS: 0.7}
_QUARTERTONES_PER_OCTAVE = 24


def written_score(tune: RetunedTune) -> Score:
    """A retuned tune as it is printed.

    Returns a score with the voices "melody" (if there is one), "chords", each as long as it holds, and "bass", which
    plays the bass note as a chord begins and on every other beat after it, in uneven bars on the first; where no bass
    is written, the fifth in turn. A4 is 440 Hz.
    """
    sheet, tuning = tune.sheet, tune.tuning
    home = sheet.key.lowest_fifth + 1
    notes = [
        _printed(MELODY, sung.note, written.note, sung.onset, sung.duration, tuning, home)
        for sung, written in zip(tune.melody, sheet.melody, strict=True)
    ]
    for chord in tune.chords:
        bass, *upper = zip(chord.notes, as_written(chord, tuning), strict=True)
        onset, end = chord.written.onset, chord.written.end
        for note, unmoved in upper:
            notes.append(_printed(CHORDS, note, unmoved, onset, chord.written.duration, tuning, home))
        root_and_fifth = chord.written.chord.bass is None and (5, 0) in chord.chord.degrees
        for turn, (when, length) in enumerate(bass_beats(onset, end, sheet.beats_per_bar)):
            up = _FIFTH if root_and_fifth and turn % 2 else _UNISON
            note, unmoved = (one.transpose(up) for one in bass)
            notes.append(_printed(BASS, note, unmoved, when, length, tuning, home))
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def bass_beats(onset: Fraction, end: Fraction, beats_per_bar: int) -> list[tuple[Fraction, Fraction]]:
    """When the printed bass plays under a chord that holds between two beats, and for how long.

    >>> [(str(when), str(length)) for when, length in bass_beats(Fraction(0), Fraction(4), 4)]
    [('0', '2'), ('2', '2')]
    """
    every = beats_per_bar if beats_per_bar % 2 else 2
    first = every * (onset // every + 1)
    times = [onset, *(Fraction(beat) for beat in range(int(first), -int(-end // 1), every))]
    return [(time, after - time) for time, after in zip(times, [*times[1:], end], strict=True)]


def as_written(chord: RetunedChord, tuning: Tuning) -> tuple[Note, ...]:
    """The notes of a retuned chord as its writer means them, in the octaves in which they are played."""
    size, meant = len(tuning), chord.meant
    unmoved = {note.step(tuning) % size: before for note, before in by_number(chord.chord, meant, tuning)}
    bass, *upper = chord.notes
    names = [meant.bass or meant.root, *(unmoved[note.step(tuning) % size] for note in upper)]
    return tuple(beside(note, name) for note, name in zip((bass, *upper), names, strict=True))


@lru_cache(maxsize=1024)
def by_number(retuned: Chord, meant: Chord, tuning: Tuning) -> tuple[tuple[Note, Note], ...]:
    """The notes of a chord as they sound, each beside the one of the same number that is meant; octaves set aside."""

    def in_order(notes: tuple[Note, ...], named: tuple[Note, ...]) -> list[Note]:
        order = sorted(range(len(named)), key=lambda place: named[place].diatonic - named[0].diatonic)
        return [notes[place] for place in order]

    sounding, plain = retuned.notes, meant.notes
    return tuple(zip(in_order(retuned.notes_in(tuning), sounding), in_order(plain, plain), strict=True))


def beside(note: Note, name: Note) -> Note:
    """A name in the octave in which it is nearest to a note."""
    octaves = round((note.quartertones - name.quartertones) / _QUARTERTONES_PER_OCTAVE)
    return replace(name, octave=name.octave + octaves)


def _printed(
    voice: str, note: Note, written: Note, onset: Fraction, duration: Fraction, tuning: Tuning, home: float
) -> ScoreNote:
    """A note of a voice, with the nearest key under it if it was moved or is between two keys."""
    hertz = note.hz(tuning)
    label = ""
    if note != written or note.half_sharps % 2:
        key, cents = nearest_note(hertz, home=home)
        label = f"{key.name} {signed(cents)}"
    return ScoreNote(onset, duration, hertz, readable(note, tuning), voice, label, _LEVELS[voice])
