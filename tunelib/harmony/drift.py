"""Going round: progressions that lead back to their first chord, and how far they miss it.

Where singers keep each chord pure and hold the tones that two chords have in common, every root follows exactly from
the one before. Once round, the product of these moves is a ratio near 1, the *comma* of the progression, and the choir
comes home higher or lower by that much. C, A minor, D minor, G and C again sink by 81/80, 21.5 cents, every time.

That pure intervals do so was shown by G. B. Benedetti in two letters to Cipriano de Rore (about 1563, printed in his
*Diversarum speculationum liber*, Turin 1585): of two voices over C, G, D, A and C again, the tones tied over and every
interval pure, each repetition is a comma higher (after R. W. Duffin, "Benedetti's puzzles"; the notes between from
memory). C. Huygens gave C F D G C, which sinks by a comma, so that who sings it nine times ends nearly a tone below
(*Kosmotheoros*, 1698; the latter from memory). The triads on his notes are ours.

A division of the octave gives every ratio a number of steps by its primes (`tunelib.pitch.divisions`), and ratios
multiplied have their steps added. So a division in which the comma vanishes comes home exactly, round after round, and
in another one the tonic moves by a whole number of steps. In thirty-one equal steps 81/80 vanishes, and 128/125 does
not: three major thirds up are a step, a diesis, short of the octave.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from math import prod, remainder
from typing import Any

import numpy as np

from tunelib.harmony.chords import Chord
from tunelib.harmony.ratios import complexity
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    FloatArray,
    Interval,
    Note,
    RatioLike,
    cents,
    cut,
    exact_ratio,
    mapped_steps,
    octave_reduce,
    parse_ratio,
    shortened,
    tempered_fifth,
    vanishes,
    whole_number,
)

_MOST_ROUNDS = 1000
_FARTHEST_FROM_NAME = 100.0  # cents: a move that misses the interval of its names by more is a slip
_FIFTH = tempered_fifth(Fraction(1, 4))
_LOWEST = -13  # the upper notes of a chord are in the octave from G3 up


@dataclass(frozen=True)
class Progression:
    """Chords that lead round to the first, with the exact ratio by which each root goes to the next.

    Parameters
    ----------
    name : str
    chords : tuple of Chord
        Once round, without the first again at the end. Each is sung in the ratios that `Chord.ratios` gives it.
    moves : tuple of exact ratios
        From each root to the next, the last one back to the first; octaves do not matter.

    Raises ValueError for no chords, another number of moves, or a move that has little to do with the names of its
    roots; the last move may lead to the first root under another name, such as B♯ for C.

    >>> round_ = Progression.read("C Am Dm G")
    >>> [str(move) for move in round_.moves], str(round_.comma)
    (['5/6', '4/3', '4/3', '4/3'], '80/81')
    """

    name: str
    chords: tuple[Chord, ...]
    moves: tuple[Fraction, ...]

    def __post_init__(self) -> None:
        if not self.chords or len(self.moves) != len(self.chords):
            raise ValueError(
                f"a round has at least one chord, and as many moves, the last back to the first: "
                f"{len(self.chords)} chords, {len(self.moves)} moves"
            )
        object.__setattr__(self, "moves", tuple(nearest_octave(move) for move in self.moves))
        for (low, high), move in zip(pairwise(self.chords), self.moves, strict=False):
            named = _FIFTH.cents * (high.root.fifths - low.root.fifths)
            miss = remainder(cents(move) - named, CENTS_PER_OCTAVE)
            if abs(miss) > _FARTHEST_FROM_NAME:
                raise ValueError(
                    f"from {low} to {high} the root cannot move by {move}: that is {abs(miss):.0f} cents "
                    f"{'more' if miss > 0 else 'less'} than their names say"
                )

    @classmethod
    def read(cls, text: str, name: str = "") -> Progression:
        """Read a progression: chord symbols with spaces between, and between two of them, if wanted, a ratio.

        A ratio is the move of the root. Where there is none, the tones of the same name in both chords are held, and
        give the move; if they do not agree, as between two sevenths, the simplest move is taken. A ratio at the end is
        the move back to the first chord. The name is the text itself unless another is given.

        Raises ValueError for what is not a chord symbol or a ratio, two ratios in a row, and chords without a common
        tone and without a ratio.

        >>> str(Progression.read("C E G# 5/4").comma)
        '125/128'
        """
        if not isinstance(text, str) or not text.split():
            raise ValueError(f"a progression is text such as 'C Am Dm G', not {shortened(text)}")
        chords: list[Chord] = []
        given: dict[int, Fraction] = {}
        for word in text.split():
            if not word[0].isdigit():
                chords.append(Chord.parse(word))
            elif not chords or len(chords) in given:
                raise ValueError(
                    f"the ratio {cut(word)} comes after no chord: write one between two chords, as in C 5/4 E"
                )
            else:
                given[len(chords)] = parse_ratio(word)
        moves = [
            given.get(place) or _by_held_tones(low, high)
            for place, (low, high) in enumerate(zip(chords, (*chords[1:], chords[0]), strict=True), start=1)
        ]
        return cls(name or " ".join(text.split()), tuple(chords), tuple(moves))

    @cached_property
    def comma(self) -> Fraction:
        """How much higher the first chord is after a round, as a ratio, octaves set aside; below 1 if it is lower."""
        return nearest_octave(prod(self.moves, start=Fraction(1)))

    def held(self, place: int) -> tuple[Note, ...]:
        """The notes of a chord, counted from 0, that the next holds at exactly the same pitch, octaves set aside."""
        whole_number(place, "the place of a chord", 0, len(self.chords) - 1)
        chord, after = self.chords[place], self.chords[(place + 1) % len(self.chords)]
        kept = {octave_reduce(self.moves[place] * ratio) for ratio in _just(after).values()}
        return tuple(note for note, ratio in _just(chord).items() if octave_reduce(ratio) in kept)

    def drift(self, division: int | None = None) -> float:
        """How many cents higher the tonic is after each round: pure, or in a division of the octave.

        >>> [round(Progression.read("C E G# 5/4").drift(division), 2) for division in (None, 12, 31)]
        [-41.06, 0.0, -38.71]
        """
        return _size(self.comma, division)

    def drift_steps(self, divisions: Any) -> Any:
        """How many steps higher the tonic is after each round; a whole number, or an array for an array of divisions.

        >>> Progression.read("C Am Dm G").drift_steps([12, 19, 31, 53])
        array([ 0,  0,  0, -1])
        """
        return mapped_steps(self.comma, divisions)

    def comes_home(self, divisions: Any) -> Any:
        """Whether the comma vanishes: True or False, or an array of the shape of `divisions`."""
        return vanishes(self.comma, divisions)

    def tonic(self, rounds: int, division: int | None = None) -> FloatArray:
        """The running pitch of the tonic: where it has got to by each chord, in cents from where it began.

        The tonic is where a chord's name has it: after a chord on A, called three fifths above C, it is three
        fifths below that A. These are fifths of the division or, for pure chords, those of quarter-comma meantone, in
        which four of them make a pure third: so a comma lost shows where it is lost, bit by bit.

        Returns an array of shape ``(rounds * chords + 1,)``, the last for the first chord come round again.

        Raises ValueError unless `rounds` is a whole number from 1 to 1000, or for an invalid division.

        >>> Progression.read("C Am Dm G").tonic(1).round(2)
        array([  0.  ,  -5.38, -10.75, -16.13, -21.51])
        >>> Progression.read("C Am Dm G").tonic(1, division=31)
        array([0., 0., 0., 0., 0.])
        """
        first = self.chords[0].root.fifths
        within = [
            _over_name(ratio, Fraction(chord.root.fifths - first), division)
            for ratio, chord in zip(self._roots, self.chords, strict=True)
        ]
        return self._round_after_round(within, rounds, division)

    def roots(self, rounds: int, division: int | None = None) -> FloatArray:
        """The pitch of each chord's root in cents from the first one, in whichever octave is nearest to the tonic.

        Shape and errors are those of `tonic`.
        """
        return self._round_after_round([_size(ratio, division) for ratio in self._roots], rounds, division)

    def pitches(self, rounds: int, division: int | None = None) -> tuple[FloatArray, ...]:
        """The notes of every chord in cents from a C4, bass first: the root below, the others in the octave from G3.

        Every round is voiced alike, so that only the drift is heard to move from one to the next. A chord over
        another bass has that bass, if it is one of its notes. There are ``rounds * chords + 1`` chords; errors are
        those of `tonic`.

        >>> [notes.round(1).tolist() for notes in Progression.read("C E G# 5/4").pitches(1)[::3]]
        [[-1200.0, -498.0, 0.0, 386.3], [-1241.1, -539.1, -41.1, 345.3]]
        """
        _whole_rounds(rounds)
        once = [self._placed(chord, root, division) for chord, root in zip(self.chords, self._roots, strict=True)]
        drift = self.drift(division)
        sung = [notes + drift * round_ for round_ in range(rounds) for notes in once]
        return (*sung, once[0] + drift * rounds)

    def _placed(self, chord: Chord, root: Fraction, division: int | None) -> FloatArray:
        found = {}
        first = float(THIRTY_ONE.cents_of(self.chords[0].root.step(THIRTY_ONE)))
        for note, ratio in _just(chord).items():
            step = (note.step(THIRTY_ONE) - _LOWEST) % len(THIRTY_ONE) + _LOWEST
            nominal = float(THIRTY_ONE.cents_of(step))
            found[note] = nominal + remainder(first + _size(root * ratio, division) - nominal, CENTS_PER_OCTAVE)
        lowest = chord.bass or chord.root
        bass = next((sung for note, sung in found.items() if note.name == lowest.name), found[chord.root])
        return np.array([bass - CENTS_PER_OCTAVE, *sorted(found.values())])

    @cached_property
    def _roots(self) -> tuple[Fraction, ...]:
        """The root of each chord over the first."""
        found = [Fraction(1)]
        for move in self.moves[:-1]:
            found.append(nearest_octave(found[-1] * move))
        return tuple(found)

    def _round_after_round(self, within: list[float], rounds: int, division: int | None) -> FloatArray:
        drifted = self.drift(division) * np.arange(_whole_rounds(rounds) + 1)
        return np.asarray(np.add.outer(drifted, np.array(within)).ravel()[: rounds * len(within) + 1])


def fifths_round(count: int) -> Progression:
    """Major chords on one fifth after another, a number of them, until the last is taken for the first.

    Twelve go through all keys of twelve equal steps, thirty-one through all of thirty-one. Raises ValueError unless
    `count` is a whole number from 2 to 53.

    >>> str(fifths_round(12).comma), fifths_round(12).drift_steps([12, 31]), fifths_round(31).drift_steps([12, 31])
    ('531441/524288', array([ 0, -1]), array([1, 0]))
    """
    number = whole_number(count, "the number of fifths", 2, 53)
    return _along_the_chain(f"{number} fifths", "C", range(number), Fraction(3, 2))


def fourths_round(count: int) -> Progression:
    """Seventh chords on one fourth after another, each the dominant of the next, until the last is taken for the first.

    Raises ValueError unless `count` is a whole number from 2 to 53.

    >>> [str(chord) for chord in fourths_round(4).chords], fourths_round(12).drift_steps([12, 31])
    (['C7', 'F7', 'Bb7', 'Eb7'], array([0, 1]))
    """
    number = whole_number(count, "the number of fourths", 2, 53)
    return _along_the_chain(f"{number} fourths", "C7", range(0, -number, -1), Fraction(4, 3))


def _along_the_chain(name: str, symbol: str, fifths: range, move: Fraction) -> Progression:
    """One chord on notes that are numbers of fifths from C, each a move from the one before."""
    intervals = Chord.parse(symbol).intervals
    chords = tuple(Chord(Note.on_chain(place), intervals) for place in fifths)
    return Progression(name, chords, (move,) * len(chords))


def nearest_octave(ratio: RatioLike) -> Fraction:
    """An exact ratio moved by octaves until it is within half an octave of the unison, up or down.

    >>> nearest_octave("5/3"), nearest_octave("81/20")
    (Fraction(5, 6), Fraction(81, 80))
    """
    within = octave_reduce(exact_ratio(ratio))
    return within if within**2 < 2 else within / 2


def _by_held_tones(low: Chord, high: Chord) -> Fraction:
    """The simplest move of the root that holds a tone both chords have."""
    after = {note.name: ratio for note, ratio in _just(high).items()}
    moves = [nearest_octave(ratio / after[note.name]) for note, ratio in _just(low).items() if note.name in after]
    if not moves:
        raise ValueError(f"{low} and {high} have no note in common: write the ratio of the roots, as in C 5/4 E")
    return min(moves, key=lambda move: (complexity(move), move))


def _just(chord: Chord) -> dict[Note, Fraction]:
    """The notes of a chord with their pure ratios to its root."""
    steps = chord.steps(THIRTY_ONE)  # in which every family has a step of its own
    ratios = dict(zip(sorted(set(steps)), chord.ratios(THIRTY_ONE), strict=True))
    return {note: ratios[step] for note, step in zip(chord.notes, steps, strict=True)}


@lru_cache(maxsize=4096)
def _size(ratio: Fraction, division: int | None) -> float:
    """An interval in cents, pure or by the steps of a division."""
    if division is None:
        return Interval.of(ratio).cents
    return float(mapped_steps(ratio, division)) * CENTS_PER_OCTAVE / division


def _over_name(ratio: Fraction, fifths: Fraction, division: int | None) -> float:
    """Cents from the note a number of fifths away to a ratio, octaves set aside."""
    if division is None:
        return remainder((Interval.of(ratio) / _FIFTH**fifths).cents, CENTS_PER_OCTAVE)
    away = mapped_steps(ratio, division) - fifths * mapped_steps(Fraction(3, 2), division)
    return float(remainder(away, division)) * CENTS_PER_OCTAVE / division


def _whole_rounds(rounds: int) -> int:
    return whole_number(rounds, "the number of rounds", 1, _MOST_ROUNDS)


# Progressions of common practice, and two of those named above. Held tones give the moves. Where there are none, or
# where two disagree, the ratio is written: fourths, fifths and a tone in the blues; from F to B the 25/18 that holds
# the A; in a cycle that is closed, from A♭ to B and from G♭ to A, the 7/6 that their seven steps of 31 are nearest to.
PROGRESSIONS: dict[str, Progression] = {
    progression.name: progression
    for progression in (
        Progression.read("C Am Dm G", "I vi ii V"),
        Progression.read("C Am Dm G Em A Dm G", "two turnarounds"),
        Progression.read("C7 4/3 F7 3/2 C7 3/2 G7 8/9 F7 3/2 C7 1/1", "blues"),
        Progression.read("Charm7 6/5 Ebharm7 15/16 Dharm7 128/135 Dbharm7 15/16", "chromatic turnaround"),
        Progression.read("Cmaj7 Fmaj7 25/18 Bm7b5 Em7 Am7 Dm7 G7", "fourths in one key"),
        fourths_round(12),
        fifths_round(12),
        Progression.read("Cmaj7 Eb7 Abmaj7 7/6 B7 Emaj7 G7", "major thirds, closed"),
        Progression.read("Cmaj7 Eb7 Abmaj7 Cb7 Fbmaj7 Abb7 4/3", "major thirds, spelled on"),
        Progression.read("C E G# 5/4", "three major thirds"),
        Progression.read("C Eb Gb 7/6 A", "minor thirds, closed"),
        Progression.read("C Eb Gb Bbb 6/5", "four minor thirds"),
        Progression.read("C F Dm G", "Huygens"),
        Progression.read("C5 G5 D5 Amno5", "Benedetti"),
    )
}
"""Rounds worth hearing, by name."""
