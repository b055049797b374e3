"""The overtone series, and any tuning measured against it."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import whole_number
from tunelib.pitch.intervals import FloatArray, cents, positive_hertz
from tunelib.pitch.tunings import Tuning

MOST_HARMONICS = 1_000_000


def harmonic_series(f0: Any, count: int) -> FloatArray:
    """The first `count` harmonics of a fundamental: f0, 2 f0, 3 f0, ...

    Parameters
    ----------
    f0 : float or array
        Fundamental in hertz. Harmonic 1 is the fundamental itself; the first *overtone* is harmonic 2.
    count : int
        How many, at least 1.

    Returns
    -------
    array of shape ``(*shape of f0, count)``, in hertz

    Raises ValueError for a frequency of zero or less, or a count below 1.

    >>> harmonic_series(110, 4)
    array([110., 220., 330., 440.])
    """
    return np.multiply.outer(positive_hertz(f0, "a fundamental"), _numbers(count))


def harmonic_deviations(tuning: Tuning, count: int) -> np.recarray[Any, Any]:
    """How each of the first `count` harmonics of step 0 compares with a tuning.

    Returns a record array with one row a harmonic and the fields

    * ``number``: 1 for the fundamental;
    * ``cents``: above the fundamental;
    * ``step``: the nearest step of the tuning above step 0;
    * ``error``: tuning minus harmonic in cents, as `Tuning.nearest` has it (so a harmonic that is below its
      nearest step, as the seventh does in twelve, has a positive error).

    >>> from tunelib.pitch import equal
    >>> row = harmonic_deviations(equal(12), 16)[6]
    >>> int(row.number), int(row.step), round(float(row.error), 2)
    (7, 34, 31.17)
    """
    numbers = _numbers(count)
    above = cents(numbers)
    steps, errors = tuning.nearest(above)
    table = np.recarray(count, dtype=[("number", int), ("cents", float), ("step", int), ("error", float)])
    table["number"], table["cents"], table["step"], table["error"] = numbers, above, steps, errors
    return table


def _numbers(count: int) -> npt.NDArray[np.int64]:
    return np.arange(1, whole_number(count, "the number of harmonics", 1, MOST_HARMONICS) + 1)
