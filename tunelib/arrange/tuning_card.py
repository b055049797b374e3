"""The tuning card of a tune: each of its notes once, with its cents from the keys of a piano, and what chords call for.

Cents are from the nearest key in twelve equal steps, A4 at 440 Hz in both tunings. A note whose nearest key has its own
name needs no other; one between two keys, such as B half-flat, is given with the key that it is counted from. For a
player whose instrument transposes, names change and cents do not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from tunelib.harmony import Chord, Degree, RetunedTune, interval_of
from tunelib.pitch import NATURAL_QUARTERTONES, Instrument, Note, Tuning, equal, nearest_note

_TWELVE = equal(12)
_HARMONIC_SEVENTH = (7, -3)
LEAST_CENTS = 5
"""Cents below which a note has no figure over it: nobody plays nearer than that (common practice)."""

_FAMILIES = (3, 7)  # the numbers whose altered kinds have names rather than signs


@dataclass(frozen=True)
class CardNote:
    """A note of a tune, its octave set aside; the key nearest to it; and its cents above that key."""

    note: Note
    key: Note
    cents: float

    @property
    def on_own_key(self) -> bool:
        """Whether the key has the note's own name, so that the cents alone say where the note is."""
        return (self.note.letter, self.note.half_sharps) == (self.key.letter, self.key.half_sharps)


@dataclass(frozen=True)
class CardDegree:
    """A degree that some chords of a tune have as they are tuned, and not as they are written.

    `word` is what players call it, such as ``"harm 7"``; `plain` is the degree of twelve equal steps that is nearest to
    it, such as ``"♭7"``; `cents` are above that; and `chords` are those that have it, each as it is meant and as it is
    tuned.
    """

    word: str
    plain: str
    cents: float
    chords: tuple[tuple[Chord, Chord], ...]


@dataclass(frozen=True)
class TuningCard:
    """What `tuning_card` makes: the notes, rising from the tonic, and the degrees."""

    notes: tuple[CardNote, ...]
    degrees: tuple[CardDegree, ...]

    def read_by(self, player: Instrument) -> TuningCard:
        """The card as a player reads it."""
        return TuningCard(
            tuple(replace(row, note=player.written(row.note), key=player.written(row.key)) for row in self.notes),
            tuple(
                replace(
                    row,
                    chords=tuple(
                        (chord_read_by(meant, player), chord_read_by(tuned, player)) for meant, tuned in row.chords
                    ),
                )
                for row in self.degrees
            ),
        )


def tuning_card(tune: RetunedTune) -> TuningCard:
    """The card of a retuned tune.

    >>> from tunelib.harmony import parse_lead_sheet, retune
    >>> from tunelib.pitch import equal
    >>> card = tuning_card(retune(parse_lead_sheet("| Dm7 | Gharm7 | C6 | C6 |"), equal(31)))
    >>> [f"{row.note.name} {row.cents:+.0f}" for row in card.notes][:3]
    ['C +10', 'D +3', 'E -3']
    """
    tuning, key = tune.tuning, tune.sheet.key
    notes = [note for chord in tune.chords for note in (*chord.chord.notes_in(tuning), chord.notes[0])]
    notes += [sung.note for sung in tune.melody]
    named = dict.fromkeys(replace(note, octave=key.tonic.octave) for note in notes)
    rows = [_row(note, tuning, key.lowest_fifth + 1) for note in named]
    tonic = key.tonic.within(tuning).step(tuning)
    rows.sort(key=lambda row: ((row.note.step(tuning) - tonic) % len(tuning), row.note.fifths))
    chords: dict[Degree, dict[tuple[Chord, Chord], None]] = {}
    for chord in tune.chords:
        for degree in chord.chord.degrees - chord.meant.degrees:
            chords.setdefault(degree, {})[chord.meant.over(None), chord.chord.over(None)] = None
    return TuningCard(tuple(rows), tuple(_degree(degree, tuple(chords[degree]), tuning) for degree in sorted(chords)))


def chord_read_by(chord: Chord, player: Instrument) -> Chord:
    """A chord as a player reads it."""
    return Chord(player.written(chord.root), chord.intervals, player.written(chord.bass) if chord.bass else None)


@lru_cache(maxsize=1024)
def own_key(note: Note, hertz: float, home: float) -> tuple[Note, float]:
    """The key nearest to a pitch, called as its note is if it can be, and the cents above it.

    >>> own_key(Note.parse("Gb4"), 376.5, home=0)[0], own_key(Note.parse("Bhb4"), 479.0, home=0)[0]
    (Note('Gb4'), Note('Bb4'))
    """
    key, away = nearest_note(hertz, home=home)
    own = replace(note, steps=0)
    same = own.half_sharps % 2 == 0 and own.step(_TWELVE) == key.step(_TWELVE)
    return (own if same else key), away


def _row(note: Note, tuning: Tuning, home: float) -> CardNote:
    return CardNote(note, *own_key(note, note.hz(tuning), home))


def _degree(degree: Degree, chords: tuple[tuple[Chord, Chord], ...], tuning: Tuning) -> CardDegree:
    number, offset = degree
    interval = interval_of(degree)
    tuned = chords[0][1]
    size = float(tuning.cents_of(tuned.steps(tuning)[tuned.intervals.index(interval)]))
    semitones, error = _TWELVE.nearest(size)
    octaves, letter = divmod(number - 1, 7)
    plain = semitones - 12 * octaves - NATURAL_QUARTERTONES[letter] // 2
    if degree == _HARMONIC_SEVENTH:
        word = "harm 7"
    elif number in _FAMILIES:
        word = f"{interval.quality} {number}"
    else:
        word = f"{_sign(offset)}{number}"
    return CardDegree(word, f"{_sign(2 * plain)}{number}", -error, chords)


def _sign(half_sharps: int) -> str:
    return Note("C", half_sharps, 4).accidental
