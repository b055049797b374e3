"""How low an interval may be before it is mud: the low interval limits of arrangers.

The lowest note on which each interval is still clear, in steps of twelve from C4 (D. Lowell and K. Pullig, *Arranging
for Large Jazz Ensemble*, 2003; from memory, after an excerpt; books differ by about a third). Intervals of other sizes
take the limit of the nearest semitone. Wider ones, and the octave, have none.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch import CENTS_PER_OCTAVE, Note, Tuning, equal

_LIMITS = {
    1: "E3", 2: "E♭3", 3: "C3", 4: "B♭2", 5: "B♭2", 6: "B2", 7: "B♭1", 8: "G2", 9: "F2", 10: "F2", 11: "F2",
    13: "E2", 14: "E♭2", 15: "C2", 16: "B♭1",
}  # fmt: skip
_NONE = -(10**6)
_IN_CENTS = np.array(
    [
        100 * Note.parse(_LIMITS[semitones]).step(equal(12)) if semitones in _LIMITS else _NONE
        for semitones in range(max(_LIMITS) + 2)
    ]
)
_LEEWAY = 50.0  # cents: the note of a tuning that has the name of a limit may be so far below its key


def too_low(voices: Any, tuning: Tuning) -> npt.NDArray[np.int64]:
    """How many pairs of notes are below the low interval limit.

    Parameters
    ----------
    voices : array of int, shape (..., notes)
        Steps of the tuning, C4 being 0; each row rising.
    tuning : Tuning
        An equal division of the octave.

    Returns counts of shape (...).

    >>> too_low([[-31, -21], [-62, -52]], equal(31)).tolist()  # C3 with E3, and C2 with E2
    [0, 1]
    """
    cents = np.asarray(voices) * (CENTS_PER_OCTAVE / len(tuning))
    count = np.zeros(cents.shape[:-1], dtype=np.int64)
    for low, high in combinations(range(cents.shape[-1]), 2):
        semitones = np.rint((cents[..., high] - cents[..., low]) / 100).astype(int)
        limit = _IN_CENTS[np.clip(semitones, 0, len(_IN_CENTS) - 1)]
        count += cents[..., low] < limit - _LEEWAY
    return count
