"""What a lead sheet means: its chords and its melody in one spelling.

A player who reads a D7♯9 under a melody that sings F plays one note for both, since on a keyboard they are one key. In
thirty-one E♯ and F are a diesis apart. So where a note of the melody is on the same key of twelve as an altered degree
of the chord that it sounds with, the chord is spelled as the melody is: that ♯9 is meant as a minor tenth, a ♯5 under
an A♭ of C7 as a ♭13, the seventh of a diminished chord as its sixth. A degree that is not altered stays, and the note
of the melody takes its name: a G♯ over Fm7 is the A♭ of the chord. Notes between the keys are meant as written.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step, interval_of
from tunelib.harmony.symbols import Degree
from tunelib.harmony.tune import LeadSheet, TimedNote
from tunelib.pitch import Note, Tuning

# What an altered degree may be meant as: the degrees on the same key of twelve.
_ALSO: dict[Degree, tuple[Degree, ...]] = {
    (5, -2): ((11, 2),),
    (5, 2): ((13, -2),),
    (7, -4): ((6, 0),),
    (9, 2): ((10, -2),),
    (11, 2): ((5, -2),),
    (13, -2): ((5, 2),),
}
_GIVES_WAY: dict[Degree, set[Degree]] = {(5, 2): {(5, 0)}, (5, -2): {(5, 0)}}  # to an altered fifth the plain one


def meant_chord(chord: Chord, heard: Iterable[Note], tuning: Tuning) -> Chord:
    """A chord spelled as the melody that sounds with it.

    Parameters
    ----------
    chord : Chord
    heard : iterable of Note
        The notes of the melody, the weightiest first: of two that disagree the first has its way.
    tuning : Tuning
        Where both spellings are one step, as in twelve, the chord stays as it is.

    >>> from tunelib.pitch import equal
    >>> meant_chord(Chord.parse("D7#9"), [Note.parse("F4")], equal(31)).symbol
    'D7b10'
    """
    names = list(dict.fromkeys(note.name for note in heard))
    degrees = set(chord.degrees)
    for degree in sorted(chord.degrees & _ALSO.keys()):
        if chord.root.transpose(interval_of(degree)).name in names:
            continue
        found = [
            other
            for other in _ALSO[degree]
            if degree_step(other, tuning) % len(tuning) != degree_step(degree, tuning) % len(tuning)
            and chord.root.transpose(interval_of(other)).name in names
        ]
        if found and not _numbered(degrees, found[0], tuning):
            degrees = (degrees - {degree} - _GIVES_WAY.get(found[0], set())) | {found[0]}
    if degrees == chord.degrees:
        return chord
    return Chord(chord.root, tuple(interval_of(degree) for degree in degrees), chord.bass)


def _numbered(degrees: Iterable[Degree], new: Degree, tuning: Tuning) -> bool:
    """Whether a step is in the chord already, an octave higher or lower."""
    step = degree_step(new, tuning) % len(tuning)
    return any(degree_step(degree, tuning) % len(tuning) == step for degree in degrees)


def meant_melody(sheet: LeadSheet, chords: Sequence[Chord], tuning: Tuning) -> tuple[TimedNote, ...]:
    """The melody as the tuning has it: each note in one spelling with the chord under its beginning, or as it is.

    A note that has the name of a note of the chord sounds with it, which in a tuning where the comma 81/80 is a step
    is not always where its letter and accidental are.
    """
    begin = [timed.onset for timed in sheet.chords]
    sung = []
    for note in sheet.melody:
        under = bisect_right(begin, note.onset) - 1
        found = note.note.within(tuning)
        if under >= 0 and sheet.chords[under].end > note.onset:
            found = _with_the_chord(note.note, found, chords[under], tuning)
        sung.append(note if found == note.note else replace(note, note=found))
    return tuple(sung)


def _with_the_chord(name: Note, found: Note, chord: Chord, tuning: Tuning) -> Note:
    """A note as the note of a chord that has its name, or else its key; as it was found if there is none."""
    pairs = list(zip(chord.notes, chord.notes_in(tuning), strict=True))
    for written, sounding in pairs:
        if (written.letter, written.half_sharps, written.steps) == (name.letter, name.half_sharps, name.steps):
            return replace(sounding, octave=name.octave + sounding.octave - written.octave)
    for written, sounding in pairs:
        meant_alike = (_on_a_key(name) or chord.root.half_sharps % 2) and not written.steps
        one_key = meant_alike and (written.quartertones - name.quartertones) % 24 == 0
        if one_key and (sounding.step(tuning) - found.step(tuning)) % len(tuning):
            octaves = (name.quartertones - written.quartertones) // 24
            return replace(sounding, octave=sounding.octave + octaves)
    return found


def _on_a_key(note: Note) -> bool:
    """Whether a note is spelled on one of twelve keys, and not between two."""
    return note.half_sharps % 2 == 0 and not note.steps
