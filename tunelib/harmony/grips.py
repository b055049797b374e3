"""Grips: a chord as a guitarist holds it on a neck with ordinary frets, and how far each string would have to be bent.

A neck in thirty-one is another instrument (`tunelib.pitch.frets` says where its frets go). What comes to a rehearsal
has twelve frets to the octave, so a grip is made of the nearest notes of those, and says of each string how many cents
the chord's note is above what the fret gives. A string can be pushed sharp, about a quarter-tone without effort; it
cannot be pulled flat. Where the cents are negative the note is better left to somebody else.

The shapes are those of a rhythm player in a band (common practice): four strings, one of the inner ones muted at most,
within four frets, no open string, from G2 to E5, with the tones that say most about the chord. The bass of a slash
chord is left to the bass.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, product

from tunelib.harmony.chords import Chord
from tunelib.harmony.voicings import telling_tones
from tunelib.pitch import STRING_SETS, Note, Tuning, cents, equal

_TWELVE = equal(12)
_C4_HZ = Note.parse("C4").hz()
_STRINGS, _FEWEST = 4, 3  # that are played; the fewest for a triad
_POSITIONS = range(1, 10)  # of the first finger
_SPAN = 3  # frets from the lowest to the highest
_LOWEST, _HIGHEST = Note.parse("G2").step(_TWELVE), Note.parse("E5").step(_TWELVE)
_HOME = 5  # the fret around which a hand is at home

# What a grip costs: musical judgement, set here once.
_MISSING = 100.0  # the most telling tone, less for the others
_TWICE = 20.0  # a tone that two strings have
_MUTED = 4.0  # an inner string
_PER_FRET = 0.5  # away from home


@dataclass(frozen=True)
class GripString:
    """What one string of a grip does; one that is not played has no fret and no note.

    `cents` are how far the chord's note is above what the fret gives.
    """

    fret: int | None = None
    note: Note | None = None
    cents: float = 0.0


@dataclass(frozen=True)
class Grip:
    """A chord on a fretted neck, its strings from the lowest up."""

    chord: Chord
    strings: tuple[GripString, ...]

    @property
    def first_fret(self) -> int:
        """The lowest fret that is stopped."""
        return min(string.fret for string in self.strings if string.fret is not None)

    @property
    def frets(self) -> str:
        """The frets in a row: x for a string that is not played, brackets for two figures.

        >>> grip(Chord.parse("C7"), equal(31)).frets
        'xx5556'
        """
        words = ("x" if string.fret is None else str(string.fret) for string in self.strings)
        return "".join(word if len(word) == 1 else f"({word})" for word in words)


@dataclass(frozen=True)
class _Tone:
    """A tone of a chord: its place among the most telling, its note, the nearest key, and its cents above that."""

    place: int
    note: Note
    key: int
    cents: float

    def at(self, step: int) -> Note:
        """The note in the octave of a step of twelve."""
        octave = self.note.octave + (step - self.key) // len(_TWELVE)
        return Note(self.note.letter, self.note.half_sharps, octave, self.note.steps)


@lru_cache(maxsize=1024)
def grip(chord: Chord, tuning: Tuning, strings: tuple[Note, ...] = STRING_SETS["guitar"]) -> Grip:
    """The handiest grip of a chord.

    Parameters
    ----------
    chord : Chord
        As it is tuned.
    tuning : Tuning
        In which it sounds, A4 as on the guitar.
    strings : tuple of Note
        The open strings, lowest first, in twelve equal steps; a guitar's unless given.

    Raises ValueError where no grip of the chord fits these strings.
    """
    tones = _tones(chord, tuning)
    found = [
        (_cost(held, played, tones), played, held)
        for played in _string_choices(len(strings), min(_STRINGS, max(_FEWEST, len(tones))))
        for position in _POSITIONS
        for held in _held([strings[place] for place in played], position, tones)
    ]
    if not found:
        raise ValueError(f"{chord} has no grip on the strings {' '.join(map(str, strings))}")
    _, played, held = min(found, key=lambda one: one[:2])
    row = [GripString()] * len(strings)
    for place, string in zip(played, held, strict=True):
        row[place] = string
    return Grip(chord, tuple(row))


def _tones(chord: Chord, tuning: Tuning) -> dict[int, _Tone]:
    """The tones of a chord by their keys, 0 to 11 from C up; of two on one key the more telling."""
    notes = dict(zip(chord.intervals, chord.notes_in(tuning), strict=True))
    found: dict[int, _Tone] = {}
    for place, interval in enumerate(telling_tones(chord.over(None), len(notes))):
        key, error = _TWELVE.nearest(cents(notes[interval].hz(tuning) / _C4_HZ))
        found.setdefault(key % len(_TWELVE), _Tone(place, notes[interval], key, -error))
    return found


def _string_choices(strings: int, count: int) -> Iterator[tuple[int, ...]]:
    """Which strings are played: so many of them, with one muted between them at most."""
    for played in combinations(range(strings), count):
        if played[-1] - played[0] - (count - 1) <= 1:
            yield played


def _held(strings: Sequence[Note], position: int, tones: Mapping[int, _Tone]) -> Iterator[tuple[GripString, ...]]:
    """The ways of stopping these strings, from a fret up, with tones of a chord that rise and are in range."""
    choices = []
    for string in strings:
        at = ((fret, string.step(_TWELVE) + fret) for fret in range(position, position + _SPAN + 1))
        choices.append(
            [(fret, step) for fret, step in at if step % len(_TWELVE) in tones and _LOWEST <= step <= _HIGHEST]
        )
    for held in product(*choices):
        if all(low[1] < high[1] for low, high in pairwise(held)):
            stopped = [(fret, step, tones[step % len(_TWELVE)]) for fret, step in held]
            yield tuple(GripString(fret, tone.at(step), tone.cents) for fret, step, tone in stopped)


def _cost(held: Sequence[GripString], played: Sequence[int], tones: Mapping[int, _Tone]) -> float:
    names = [string.note.name for string in held if string.note]
    missing = sum(_MISSING / (1 + tone.place) for tone in tones.values() if tone.note.name not in names)
    muted = played[-1] - played[0] + 1 - len(played)
    away = sum(abs(string.fret - _HOME) for string in held if string.fret)
    return missing + _TWICE * (len(names) - len(set(names))) + _MUTED * muted + _PER_FRET * away
