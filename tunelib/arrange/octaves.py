"""A melody in the octave that suits its player: whole phrases moved, so that no contour is broken.

The whole melody goes to the octave in which most of its notes are in comfortable range, the nearest of several. A
phrase that does not fit there goes to one in which it does. What is out of range even so is told, not hidden; an octave
sign over a part of a figure would be no help (common practice of copyists).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from tunelib.pitch import Instrument
from tunelib.score import ScoreNote

_SHIFTS = (0, -1, 1, -2, 2, -3, 3)  # octaves, the nearest first
_REST = 1  # beat: a melody that rests as long as this has ended a phrase


@dataclass(frozen=True)
class Phrase:
    """Notes of a melody that belong together, in the octave that suits their player.

    `octaves` is how far they were moved, up or, negative, down; `out_of_range` are those that are still not in the
    comfortable range.
    """

    notes: tuple[ScoreNote, ...]
    octaves: int
    out_of_range: tuple[ScoreNote, ...]


def suited(melody: Sequence[ScoreNote], player: Instrument, sections: Collection[Fraction] = ()) -> tuple[Phrase, ...]:
    """The phrases of a melody, each in the octave that suits a player.

    A phrase ends where the melody rests for a beat or more, and where a section begins.

    Parameters
    ----------
    melody : sequence of ScoreNote
        In order, with names.
    player : Instrument
    sections : collection of Fraction
        The beats at which sections begin.

    >>> from tunelib.pitch import Note, instrument
    >>> low = ScoreNote(Fraction(0), 1, 130.8, Note.parse("C3"))
    >>> [(phrase.octaves, str(phrase.notes[0].name)) for phrase in suited([low], instrument("flute"))]
    [(1, 'C4')]
    """
    whole = _best(melody, player, 0)
    found = []
    for notes in _phrases(melody, sections):
        octaves = _best(notes, player, whole)
        moved = tuple(by_octaves(note, octaves) for note in notes)
        found.append(Phrase(moved, octaves, tuple(note for note in moved if not player.reaches(note.hertz))))
    return tuple(found)


def _best(notes: Sequence[ScoreNote], player: Instrument, near: int) -> int:
    """By how many octaves notes are to be moved so that the fewest are out of range; of several, the nearest to one."""
    hertz = np.array([note.hertz for note in notes])

    def beyond(octaves: int) -> int:
        return int(np.sum(~player.reaches(hertz * 2.0**octaves))) if notes else 0

    return min(sorted(_SHIFTS, key=lambda octaves: abs(octaves - near)), key=beyond)


def by_octaves(note: ScoreNote, octaves: int) -> ScoreNote:
    """A note some octaves higher or, negative, lower."""
    name = note.name and replace(note.name, octave=note.name.octave + octaves)
    return replace(note, hertz=note.hertz * 2.0**octaves, name=name)


def _phrases(melody: Sequence[ScoreNote], sections: Collection[Fraction]) -> list[list[ScoreNote]]:
    phrases: list[list[ScoreNote]] = [[*melody[:1]]] if melody else []
    for before, after in pairwise(melody):
        begins = any(before.onset < start <= after.onset for start in sections)
        if begins or after.onset - before.end >= _REST:
            phrases.append([])
        phrases[-1].append(after)
    return phrases
