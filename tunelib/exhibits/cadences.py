"""Cadences in four voices over a bass: five fives that go home, with a minor seventh and with a harmonic one.

Progressions and voicings are common practice. All are in F, where the seventh that matters has a plain name either
way: the minor seventh of C is B flat, and the harmonic one is the step of A sharp. A harmonic seventh is an augmented
sixth in thirty-one (Huygens, *Lettre touchant le cycle harmonique*, 1691; second-hand), so a dominant a tritone away
shares third and seventh with the first one exactly if the kind of its seventh changes: C7 with G flat harm7, C harm7
with F sharp 7. G flat harm7 then opens outward to F, as an augmented sixth does, while G flat 7 slides down in
parallel: the difference that N. Biamonte finds between the two in practice ("Augmented-sixth chords vs. tritone
substitutes", *Music Theory Online* 14.2, 2008).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from tunelib.harmony import Chord, Leading
from tunelib.pitch import Note, Tuning, spell_near

_Place: TypeAlias = tuple[int, int]  # the number of a degree, and how many octaves above the root's own
_CLOSE: tuple[_Place, ...] = ((1, 0), (3, 0), (5, 0), (7, 0))
_BASS = 2  # octaves from the root's own down to the bass
_ONE_SIGN = 2  # half-sharps of a sharp or a flat
GUIDES = (1, 3)
"""Which voices, from the lowest, are the guide tones: thirds and sevenths, from chord to chord."""


@dataclass(frozen=True)
class Cadence:
    """A row of chords that ends at home, and the degrees that four voices sing of each.

    `minor` and `harmonic` are the symbols of its chords, with the minor seventh in the dominant and with the harmonic
    one. `dominants` are the places of those chords that have the tritone, in order; where there are two, the second
    is there in place of the first. `exact` says whether the two then share it.
    """

    minor: tuple[str, ...]
    harmonic: tuple[str, ...]
    voices: tuple[tuple[_Place, ...], ...]
    dominants: tuple[int, ...]
    exact: bool = True

    def symbols(self, harmonic: bool, tuning: Tuning) -> tuple[str, ...]:
        """The symbols of its chords; a tuning that has one step for both sevenths calls them all minor."""
        if Chord.parse("C7").steps(tuning) == Chord.parse("Charm7").steps(tuning):
            return tuple(symbol.replace("harm", "") for symbol in self.minor)
        return self.harmonic if harmonic else self.minor


_HOME: tuple[_Place, ...] = ((5, -1), (1, 0), (1, 0), (3, 0))
_HOME_7: tuple[_Place, ...] = ((5, -1), (7, -1), (1, 0), (3, 0))
_SWAPPED: tuple[_Place, ...] = ((5, -1), (7, -1), (1, 0), (3, 0))  # third and seventh change places

CADENCES: dict[str, Cadence] = {
    "V I": Cadence(("C7", "F"), ("Charm7", "F"), (_CLOSE, _HOME), (0,)),
    "ii V I": Cadence(
        ("Gm7", "C7", "Fmaj7"), ("Gm7", "Charm7", "Fmaj7"), (_CLOSE, ((5, 0), (7, 0), (1, 1), (3, 1)), _CLOSE), (1,)
    ),
    "minor ii V i": Cadence(
        ("Gm7b5", "C7b9", "Fmmaj7"),
        ("Gm7b5", "Charm7b9", "Fmmaj7"),
        (_CLOSE, ((5, 0), (7, 0), (9, 0), (3, 1)), _CLOSE),
        (1,),
    ),
    "true substitute": Cadence(("C7", "Gbharm7", "F"), ("Charm7", "F#7", "F"), (_CLOSE, _SWAPPED, _HOME), (0, 1)),
    "false substitute": Cadence(
        ("C7", "Gb7", "Fmaj7"), ("Charm7", "F#harm7", "Fmaj7"), (_CLOSE, _SWAPPED, _HOME_7), (0, 1), exact=False
    ),
}
"""All cadences, by name. Home is a triad where a voice rises to its root, and a major seventh where none does."""


@dataclass(frozen=True)
class Led:
    """A cadence in a tuning: its chords, how four voices go, the bass notes, and a readable name of every note."""

    chords: tuple[Chord, ...]
    leading: Leading
    bass: tuple[int, ...]
    names: tuple[tuple[str, ...], ...]
    spelled: tuple[tuple[str, ...], ...]

    def moves(self, voice: int) -> list[int]:
        """Steps by which a voice moves into each chord after the first."""
        return [int(move) for move in self.leading.motion[:, voice]]

    def tritone(self, chord: int) -> int:
        """Steps from the third of a dominant up to its seventh."""
        third, seventh = (_step(self.chords[chord], (number, 0), self.leading.tuning) for number in (3, 7))
        return seventh - third

    def renamed(self) -> dict[str, str]:
        """The names that are easier to read than what the chord spells, by that."""
        pairs = zip(sum(self.spelled, ()), sum(self.names, ()), strict=True)
        return {spelled: name for spelled, name in pairs if spelled != name}


@lru_cache(maxsize=64)
def led(name: str, harmonic: bool, tuning: Tuning) -> Led:
    """A cadence of `CADENCES` in a tuning whose notes have letters, with the minor or the harmonic seventh.

    Raises ValueError for a tuning without letters, KeyError for another name.

    >>> from tunelib.pitch import equal
    >>> [led("V I", harmonic, equal(31)).moves(3) for harmonic in (False, True)]
    [[-3], [-2]]
    """
    cadence = CADENCES[name]
    chords = tuple(Chord.parse(symbol) for symbol in cadence.symbols(harmonic, tuning))
    rows, spelled, names = [], [], []
    for places, chord in zip(cadence.voices, chords, strict=True):
        rows.append(tuple(_step(chord, place, tuning) for place in places))
        notes = [_note(chord, place) for place in places]
        spelled.append(tuple(note.name for note in notes))
        names.append(tuple(_readable(note, step, tuning) for note, step in zip(notes, rows[-1], strict=True)))
    bass = tuple(_step(chord, (1, 0), tuning) - _BASS * len(tuning) for chord in chords)
    return Led(chords, Leading(tuple(rows), tuning), bass, tuple(names), tuple(spelled))


def _index(chord: Chord, place: _Place) -> int:
    return next(k for k, interval in enumerate(chord.intervals) if interval.letters + 1 == place[0])


def _note(chord: Chord, place: _Place) -> Note:
    return chord.notes[_index(chord, place)]


def _step(chord: Chord, place: _Place, tuning: Tuning) -> int:
    above = chord.steps(tuning)[_index(chord, place)]
    return chord.root.within(tuning).step(tuning) + above + place[1] * len(tuning)


def _readable(note: Note, step: int, tuning: Tuning) -> str:
    """The name that a player would rather read: as it is spelled, but with one sign at the most."""
    return note.name if abs(note.half_sharps) <= _ONE_SIGN else spell_near(step, tuning).name


def frequencies(found: Led) -> list[list[float]]:
    """Hertz of the bass and the four voices of each chord, from the lowest."""
    steps = np.array([(low, *row) for low, row in zip(found.bass, found.leading.voices, strict=True)])
    return [[float(hertz) for hertz in row] for row in found.leading.tuning.hz(steps)]
