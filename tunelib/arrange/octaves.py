"""A melody in the octave that suits its player: whole phrases moved, so that no contour is broken.

The whole melody goes to the octave in which most of its notes are in comfortable range, the nearest of several. A
phrase that does not fit there goes to one in which it does. What is out of range even so is told, not hidden; an octave
sign over a part of a figure would be no help (common practice of copyists).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import compress, pairwise

import numpy as np
import numpy.typing as npt

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
    whole = min(_SHIFTS, key=lambda octaves: _out_of_range(melody, player, octaves).sum())
    near = sorted(_SHIFTS, key=lambda octaves: abs(octaves - whole))
    found = []
    for notes in _phrases(melody, sections):
        missed = {octaves: _out_of_range(notes, player, octaves) for octaves in near}
        octaves = min(near, key=lambda octaves: missed[octaves].sum())
        moved = tuple(by_octaves(note, octaves) for note in notes)
        found.append(Phrase(moved, octaves, tuple(compress(moved, missed[octaves]))))
    return tuple(found)


def _out_of_range(notes: Sequence[ScoreNote], player: Instrument, octaves: int) -> npt.NDArray[np.bool_]:
    """Which notes a player does not reach when they are moved by octaves."""
    return ~np.asarray(player.reaches(np.array([note.hertz for note in notes]) * 2.0**octaves), dtype=bool)


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
