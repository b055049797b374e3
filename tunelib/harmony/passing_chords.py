"""The chords that may be passed through between two others: every kind on every root, in every place within reach.

The kinds are those that a player can name and hear: triads for three voices, chords of four notes for four. Each is one
word in `TRIADS` or `SEVENTHS`. A place is given to it voice by voice, so that no voice crosses another, none rubs, and
no semitone is on top (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step, same_step
from tunelib.harmony.playable import widest_rub
from tunelib.harmony.ratios import mean_complexity
from tunelib.pitch import FloatArray, IntArray, Tuning

TRIADS = ("", "m", "dim", "aug", "sus4", "sus2", "neu", "sub", "sup", "sushb4", "sush#2")
"""What comes after the root of a chord of three notes."""
SEVENTHS = (
    "maj7", "7", "m7", "6", "m6", "mmaj7", "m7b5", "dim7", "7sus4", "7b5", "7#5", "maj7#5",
    "harm7", "mid7", "mharm7", "mmid7", "subharm7", "submid7", "submaj7", "sub7", "sub6",
    "neu7", "neuharm7", "neumid7", "neumaj7", "neu6", "sup7", "supharm7", "supmaj7", "supmid7",
    "harm7b5", "harm7#5", "mharm7b5", "subharm7b5", "neuharm7b5", "7sushb4", "harm7sushb4",
)  # fmt: skip
"""What comes after the root of a chord of four."""
WORDS = {3: TRIADS, 4: SEVENTHS}


@dataclass(frozen=True, eq=False)
class Kinds:
    """The kinds of chords of a vocabulary in a tuning, those that are one chord there once.

    Parameters
    ----------
    chords : tuple of Chord
        Each on C.
    steps : array of int, shape (kinds, notes)
    purity : array, shape (kinds,)
        In cents, as `Chord.purity` has it.
    bits : array, shape (kinds,)
        How complex the pairs of its notes are, on the mean.
    new : array of bool, shape (kinds,)
        Whether no chord of twelve is of this kind.
    """

    chords: tuple[Chord, ...]
    steps: IntArray
    purity: FloatArray
    bits: FloatArray
    new: npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Placed:
    """Chords with a place for each voice.

    Parameters
    ----------
    steps : array of int, shape (chords, voices)
        C4 being 0.
    kinds, roots : arrays of int, shape (chords,)
        Which of the kinds each is, and the step of its root within the octave.
    """

    steps: IntArray
    kinds: IntArray
    roots: IntArray


def degrees_of_no_piano(chord: Chord, tuning: Tuning) -> tuple[int, ...]:
    """The steps above its root of those notes of a chord that are neutral, harmonic or the like: on no plain step.

    >>> from tunelib.pitch import equal
    >>> degrees_of_no_piano(Chord.parse("Cneumid7"), equal(31)), degrees_of_no_piano(Chord.parse("Cneu"), equal(12))
    ((9, 27), ())
    """
    degrees = ((interval.letters + 1, interval.offset) for interval in chord.intervals)
    return tuple(
        degree_step(degree, tuning) for degree in degrees if degree[1] % 2 and same_step(degree, tuning) is None
    )


def is_new(chord: Chord, tuning: Tuning) -> bool:
    """Whether no piano has a chord of this kind: a degree of it is on no step of a plain one.

    >>> from tunelib.pitch import equal
    >>> [is_new(Chord.parse(symbol), equal(31)) for symbol in ("Cmaj7", "Charm7", "Cneu")]
    [False, True, True]
    >>> is_new(Chord.parse("Cneu"), equal(19)), is_new(Chord.parse("Charm7"), equal(12))
    (False, False)
    """
    return bool(degrees_of_no_piano(chord, tuning))


@lru_cache(maxsize=64)
def kinds_of(words: tuple[str, ...], tuning: Tuning) -> Kinds:
    """The kinds that some words name, the first name of each; all with as many notes as the first.

    Raises ValueError if there are none, or for a word that no symbol has after its root.
    """
    if not words:
        raise ValueError("a way needs chords to pass through: give words such as ['neu', 'harm7']")
    first: dict[tuple[int, ...], Chord] = {}
    for word in words:
        chord = Chord.parse(f"C{word}")
        first.setdefault(tuple(step % len(tuning) for step in chord.steps(tuning)), chord)
    counts = {len(set(steps)) for steps in first}
    if len(counts) > 1:
        raise ValueError(f"the chords of a way have as many notes as one another, not {min(counts)} and {max(counts)}")
    chords = tuple(first.values())
    return Kinds(
        chords,
        np.array(list(first), dtype=np.int64),
        np.array([chord.purity(tuning) for chord in chords]),
        np.array([mean_complexity(chord.ratios(tuning)) for chord in chords]),
        np.array([is_new(chord, tuning) for chord in chords]),
    )


def placed_within(kinds: Kinds, low: Sequence[int], high: Sequence[int], tuning: Tuning) -> Placed:
    """Every chord of some kinds whose notes fit between two steps for each voice, each voice above the one before.

    Parameters
    ----------
    kinds : Kinds
    low, high : sequences of int
        For each voice the lowest and the highest step, less than an octave apart.
    tuning : Tuning

    Each place of each chord is there once. In a division without letters a ValueError says so.
    """
    size = len(tuning)
    lowest, highest = np.asarray(low), np.asarray(high)
    roots = np.arange(size)
    notes = kinds.steps[:, np.newaxis, :] + roots[:, np.newaxis]  # kinds, roots, notes
    orders = np.array(list(permutations(range(notes.shape[2]))))
    sung = notes[:, :, orders]  # kinds, roots, orders, voices
    steps = lowest + (sung - lowest) % size
    gaps = np.diff(steps, axis=-1)
    fits = (steps <= highest).all(axis=-1) & (gaps > widest_rub(tuning)).all(axis=-1)
    fits &= gaps[..., -1] > semitone(tuning)
    kind, root, order = np.nonzero(fits)
    return Placed(steps[kind, root, order], kind, root)


def semitone(tuning: Tuning) -> int:
    """Steps of a minor second: 3 in thirty-one.

    >>> from tunelib.pitch import equal
    >>> [semitone(equal(steps)) for steps in (12, 19, 31)]
    [1, 2, 3]
    """
    return degree_step((2, -2), tuning)
