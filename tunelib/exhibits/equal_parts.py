"""Chords and scales of equal parts, as they lead to a key: diminished, augmented, of whole tones, and octatonic.

Which chord leads where is common practice; its steps in a tuning follow from its letters. A dominant is laid out so
that hardly anything moves when its gap is moved, and each of its notes goes to the nearest one of the tonic chord.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import remainder

from tunelib.harmony import Chord
from tunelib.pitch import THIRTY_ONE, Note, Tuning, equal, simplest_tonic, spellings

TUNINGS = {"12": equal(12), "31": THIRTY_ONE}
_OCTAVE = len(THIRTY_ONE)
_TONIC_COUNTS = 6  # times as much as any other note, where a chord is spelled with few signs


@dataclass(frozen=True)
class Form:
    """A kind of chord or scale, as it leads to one key.

    `notes` begin above the gap that differs; of them `dominant` sound together before the tonic, `leading` rises to it,
    `turn` is the interval from one key to the next of those with the same chord in twelve, `places` how many they are.
    """

    notes: tuple[str, ...]
    dominant: tuple[str, ...]
    leading: str
    tonic: str
    turn: str
    places: int


_DIMINISHED, _PURER = ("B3", "D4", "F4", "Ab4"), ("B3", "D4", "E#4", "Ab4")
FORMS = {
    "diminished seventh": Form(_DIMINISHED, _DIMINISHED, "B3", "C4", "-m3", 4),
    "purer diminished": Form(_PURER, _PURER, "B3", "C4", "-m3", 4),
    "augmented triad": Form(("C4", "E4", "G#4"), ("C4", "E4", "G#4"), "E4", "F4", "M3", 3),
    "whole-tone scale": Form(("C4", "D4", "E4", "F#4", "G#4", "A#4"), ("C4", "E4", "G#4", "A#4"), "E4", "F4", "M2", 6),
    "octatonic scale": Form(
        ("E4", "F#4", "G4", "A4", "Bb4", "C5", "Db5", "Eb5"), ("E4", "G4", "Bb4", "C5", "Db5"), "E4", "F4", "-m3", 4
    ),
}
MOST_NOTES = max(len(form.notes) for form in FORMS.values())
MOST_VOICES = max(len(form.dominant) for form in FORMS.values())


@dataclass(frozen=True)
class Unclosed:
    """A chord of equal parts that leads to a key: its notes from above the gap that differs, and where they go.

    `dominant` are those of its notes that sound before the tonic, each of which goes to its place in `resolved`.
    """

    tuning: Tuning
    notes: tuple[Note, ...]
    dominant: tuple[Note, ...]
    leading: Note
    tonic: Note
    resolved: tuple[Note, ...]

    @cached_property
    def steps(self) -> tuple[int, ...]:
        """The notes in steps above C4."""
        return tuple(note.step(self.tuning) for note in self.notes)

    @cached_property
    def gaps(self) -> tuple[int, ...]:
        """Steps from each note to the next, the last one back to the first."""
        size = len(self.tuning)
        return tuple(
            (high - low) % size for low, high in zip(self.steps, (*self.steps[1:], self.steps[0]), strict=True)
        )

    @property
    def past(self) -> int:
        """Steps by which equal parts end past the note where they began; below 0 if they end short of it."""
        parts = 2 if len(self.notes) == MOST_NOTES else 1  # a scale of tones and semitones by turns
        return self.gaps[(len(self.notes) - 1) % parts] - self.gaps[-1]

    @property
    def kinds(self) -> int:
        """How many such chords the tuning has, roots and inversions set aside."""
        size = len(self.tuning)
        return len({frozenset((step + up) % size for step in self.steps) for up in range(size)})

    @property
    def moves(self) -> tuple[int, ...]:
        """Steps by which each note of the dominant goes to the tonic chord."""
        pairs = zip(self.dominant, self.resolved, strict=True)
        return tuple(there.step(self.tuning) - here.step(self.tuning) for here, there in pairs)


@lru_cache(maxsize=256)
def turned_chord(form: str, moved: int, tuned: str) -> Unclosed:
    """A chord of equal parts whose gap has been moved from one pair of notes to the next, a number of times.

    `form` is one of `FORMS`, `moved` 0 or more, and `tuned` "12" or "31". Each voice stays as near as can be to where
    it is while nothing is moved. In thirty-one each move takes one voice or more a step away, and after as many as
    there are keys in twelve all voices are a step lower; in twelve the same notes get other names.

    >>> [[note.name for note in turned_chord("diminished seventh", moved, "31").notes] for moved in (0, 1)]
    [['B', 'D', 'F', 'A♭'], ['G♯', 'B', 'D', 'F']]
    >>> turned_chord("augmented triad", 0, "31").gaps, turned_chord("augmented triad", 0, "12").gaps
    ((10, 10, 11), (4, 4, 4))
    """
    kind, tuning = FORMS[form], TUNINGS[tuned]
    turned = moved if tuned == "31" else moved % kind.places

    def along(name: str) -> Note:
        note = Note.parse(name)
        for _ in range(turned):
            note = note.transpose(kind.turn)
        return note

    first, at_first = along(kind.notes[0]), [Note.parse(name).step(THIRTY_ONE) for name in kind.notes]
    ways = [first.interval_to(name) for name in spellings(first.step(tuning), tuning)]
    everything = [along(name) for name in (*kind.notes, *[kind.tonic] * _TONIC_COUNTS)]
    plainest = min(ways, key=lambda way: sum(abs(note.transpose(way).half_sharps) for note in everything))
    roles = [along(name).transpose(plainest) for name in kind.notes]
    steps, count = [note.step(THIRTY_ONE) for note in roles], len(roles)

    def shifts(turn: int) -> list[int]:
        """How far each role is from the voice that has it, octaves set aside."""
        return [int(remainder(step - at_first[(i + turn) % count], _OCTAVE)) for i, step in enumerate(steps)]

    turn = min(range(count), key=lambda turn: sum(map(abs, shifts(turn))))
    notes = tuple(
        replace(note, octave=note.octave + (at_first[(i + turn) % count] + shift - step) // _OCTAVE)
        for i, (note, step, shift) in enumerate(zip(roles, steps, shifts(turn), strict=True))
    )
    dominant = tuple(sorted((notes[kind.notes.index(name)] for name in kind.dominant), key=step_in_31))
    leading = notes[kind.notes.index(kind.leading)]
    tonic = leading.transpose(Note.parse(kind.leading).interval_to(Note.parse(kind.tonic)))
    triad = [replace(note, octave=octave) for note in Chord.parse("C").on(tonic).notes for octave in range(1, 8)]
    resolved = tuple(
        tonic
        if note == leading
        else min(triad, key=lambda there: (abs(step_in_31(there) - step_in_31(note)), step_in_31(there)))
        for note in dominant
    )
    return Unclosed(tuning, notes, dominant, leading, tonic, resolved)


def step_in_31(note: Note) -> int:
    """How many steps of thirty-one a note is above C4."""
    return note.step(THIRTY_ONE)


@lru_cache(maxsize=256)
def keys_with(form: str, moved: int, tuned: str) -> tuple[str, ...]:
    """The tonics of all keys in which the very same notes are such a chord, the one that is shown first."""

    def classes(moves: int) -> frozenset[int]:
        return frozenset(step % len(TUNINGS[tuned]) for step in turned_chord(form, moves, tuned).steps)

    same = [moved + k for k in range(FORMS[form].places) if classes(moved + k) == classes(moved)]
    first, *others = (turned_chord(form, moves, tuned).tonic for moves in same)
    plainly = (simplest_tonic(note.step(TUNINGS[tuned]), TUNINGS[tuned]) for note in others)
    return (first.name, *(note.name for note in plainly))


def have_moved(form: str, moved: int, tuned: str) -> str:
    """How many notes of a chord are not where they were before its gap was moved, in words."""
    pairs = zip(*(sorted(turned_chord(form, moves, tuned).steps) for moves in (0, moved)), strict=True)
    ways = [there - here for here, there in pairs]
    if not moved:
        return ""
    if set(ways) == {-1}:
        return "all notes a step lower: a diesis"
    there = sum(way != 0 for way in ways)
    return f"{there} of {len(ways)} notes have moved" if there else "no note has moved"
