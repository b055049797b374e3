"""What twelve makes of a progression: each note on the nearest key, and what is lost by that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.passing_chords import is_new
from tunelib.pitch import IntArray, Tuning, listed, times

_TWELVE = 12


@dataclass(frozen=True)
class InTwelve:
    """A progression as twelve has it.

    Parameters
    ----------
    keys : tuple of tuples of int
        For each chord the key of each voice, counted from the root of the first chord.
    lost : tuple of (int, int)
        The moves that collapse: into which chord, counted from 0, and of which voice, from the lowest.
    foreign : tuple of int
        The chords, counted from 0, of a kind that no piano has.
    moves : int
        How often a voice moves, lost or not.
    symbols : tuple of str
        Of the chords.
    """

    keys: tuple[tuple[int, ...], ...]
    lost: tuple[tuple[int, int], ...]
    foreign: tuple[int, ...]
    moves: int
    symbols: tuple[str, ...]

    @property
    def is_new(self) -> bool:
        """Whether no piano has this progression."""
        return bool(self.lost or self.foreign)

    @property
    def words(self) -> str:
        """What twelve makes of it, in one sentence."""
        return self.told(self.symbols)

    def told(self, names: Sequence[str]) -> str:
        """The same, with chords named otherwise."""
        runs: list[list[int]] = [[0]]
        for place, (before, after) in enumerate(pairwise(self.keys), start=1):
            if before == after:
                runs[-1].append(place)
            else:
                runs.append([place])
        said = [f"{listed(names[place] for place in run)} are the same keys" for run in runs if len(run) > 1]
        if self.lost:
            count = len(self.lost)
            said.append(f"{count} of the {times(self.moves, 'move')} {'is' if count == 1 else 'are'} none")
        if not said and self.foreign:
            become = "are rounded to other chords" if len(self.foreign) > 1 else "is rounded to another chord"
            said.append(f"{listed(names[place] for place in self.foreign)} {become}")
        return f"In twelve {listed(said)}." if said else "Twelve has all of it."


def keys_of(steps: npt.ArrayLike, root: int, tuning: Tuning) -> IntArray:
    """The key nearest to each step, counted from a root that both have.

    >>> from tunelib.pitch import equal
    >>> keys_of([0, 9, 10, 18, 25], 0, equal(31)).tolist()
    [0, 3, 4, 7, 10]
    """
    away = (np.asarray(steps, dtype=np.int64) - root) * _TWELVE
    return np.asarray((2 * away + len(tuning)) // (2 * len(tuning)))


def taken_to_twelve(chords: Sequence[Chord], voices: Sequence[Sequence[int]], tuning: Tuning) -> InTwelve:
    """A progression taken to twelve.

    >>> from tunelib.pitch import equal
    >>> chords = [Chord.parse(symbol) for symbol in ("Cmaj7", "Cmid7", "C7")]
    >>> taken_to_twelve(chords, [(0, 10, 18, 28), (0, 10, 18, 27), (0, 10, 18, 26)], equal(31)).words
    'In twelve Cmid7 and C7 are the same keys and 1 of the 2 moves is none.'
    """
    steps = np.array(voices, dtype=np.int64)
    keys = keys_of(steps, chords[0].root.within(tuning).step(tuning), tuning)
    moved, heard = np.diff(steps, axis=0) != 0, np.diff(keys, axis=0) != 0
    lost = tuple((change + 1, voice) for change, voice in np.argwhere(moved & ~heard).tolist())
    foreign = tuple(place for place, chord in enumerate(chords) if is_new(chord, tuning))
    symbols = tuple(chord.symbol for chord in chords)
    return InTwelve(tuple(map(tuple, keys.tolist())), lost, foreign, int(moved.sum()), symbols)
