"""Roughness of chords by the thousand: added up from the pairs of their notes, each pair worked out once.

Sethares adds roughness up over pairs of partials. So the roughness of a chord is exactly that of each note alone, and
for every two notes what they have together beyond that. A chord of four notes has six such pairs, and a thousand chords
of one register share a few hundred: these are kept in a table.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.hearing import roughness
from tunelib.pitch import A4_HZ, FloatArray, Tuning, finite, positive_hertz

PLAIN_PARTIALS = tuple(range(1, 9))
"""Frequencies of the partials of a plain tone, as multiples of its lowest: eight harmonics."""
PLAIN_AMPLITUDES = tuple(0.88**i for i in range(8))
"""Their amplitudes: each 0.88 times the one before, as in the examples of Sethares 1993."""

_OCTAVES_DOWN, _OCTAVES_UP = 5, 6  # of the table, from C4


def chord_roughness(
    steps: Any,
    tuning: Tuning,
    partials: Any = PLAIN_PARTIALS,
    amplitudes: Any = PLAIN_AMPLITUDES,
    reference: float = A4_HZ,
) -> FloatArray:
    """Roughness of chords in the register in which they sound, as `tunelib.hearing.roughness` works it out.

    Parameters
    ----------
    steps : array of int, shape (..., notes)
        Steps of the tuning, C4 being 0; a chord a row, of notes from C−1 to C10.
    tuning : Tuning
        Of the octave.
    partials, amplitudes : arrays, shape (partials,)
        Of every note: multiples of its frequency, and strengths of 0 or more.
    reference : float
        Of A4, in hertz.

    Returns an array of shape (...). Raises ValueError for notes that are beyond, and as `roughness` does.

    >>> from tunelib.pitch import equal
    >>> low, high = chord_roughness([[-31, -21, -13], [31, 41, 49]], equal(31))  # C major close, on C3 and on C5
    >>> bool(low > 2 * high)
    True
    """
    multiples, strengths = positive_hertz(partials, "a partial"), finite(amplitudes, "an amplitude")
    height = positive_hertz(reference, "the reference for A4")
    table = _table(tuning, tuple(multiples.ravel().tolist()), tuple(strengths.ravel().tolist()), float(height))
    rows = np.asarray(steps)
    if rows.ndim < 1 or rows.dtype.kind not in "iu":
        raise ValueError("chords are rows of steps, whole numbers such as [[0, 10, 18]]")
    return table.of(rows.astype(np.int64))


class _Table:
    """What notes of a tuning have alone, and any two of them together; it grows by octaves where chords ask for it."""

    def __init__(self, tuning: Tuning, partials: FloatArray, amplitudes: FloatArray, reference: float) -> None:
        self._tuning, self._partials, self._amplitudes, self._reference = tuning, partials, amplitudes, reference
        self._lowest, self._highest = 0, -1  # steps
        self._alone: FloatArray = np.zeros(0)
        self._together: FloatArray = np.zeros((0, 0))  # beyond what the two have alone

    def of(self, steps: npt.NDArray[np.int64]) -> FloatArray:
        total = np.zeros(steps.shape[:-1])
        if steps.size:
            self._reach(int(steps.min()), int(steps.max()))
        places = [steps[..., voice] - self._lowest for voice in range(steps.shape[-1])]
        for one in places:
            total += self._alone[one]
        for one, other in combinations(places, 2):
            total += self._together[one, other]
        return total

    def _reach(self, low: int, high: int) -> None:
        """Take in all notes from one to another."""
        if self._lowest <= low and high <= self._highest:
            return
        size = len(self._tuning)
        if low < -_OCTAVES_DOWN * size or high > _OCTAVES_UP * size:
            raise ValueError(f"the notes of a chord must be from C−1 to C10, not {low} to {high} steps from C4")
        lowest, highest = min(self._lowest, size * (low // size)), max(self._highest, -size * (-high // size))
        hertz = self._tuning.hz(np.arange(lowest, highest + 1), self._reference)
        tones = hertz[:, np.newaxis] * self._partials
        alone = np.asarray(roughness(tones, self._amplitudes))
        one, other = np.triu_indices(len(hertz))
        both = roughness(np.concatenate([tones[one], tones[other]], axis=1), np.tile(self._amplitudes, 2))
        together = np.empty((len(hertz), len(hertz)))
        together[one, other] = together[other, one] = both - alone[one] - alone[other]
        self._lowest, self._highest, self._alone, self._together = lowest, highest, alone, together


@lru_cache(maxsize=16)
def _table(tuning: Tuning, partials: tuple[float, ...], amplitudes: tuple[float, ...], reference: float) -> _Table:
    return _Table(tuning, np.array(partials), np.array(amplitudes), reference)
