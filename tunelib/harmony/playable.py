"""Which tunings a tune can be played in, and by how little a root may move there."""

from __future__ import annotations

import numpy as np

from tunelib.harmony.meanings import comma, diesis
from tunelib.pitch import CENTS_PER_OCTAVE, Tuning, shortened

FEWEST_STEPS, MOST_STEPS = 12, 72
_RUBBING = 60.0  # cents: two notes nearer than this that are not the same rub, as a diesis or a comma does
_LARGEST_SHIFT = 65.0  # cents: a comma or diesis of a division that is larger moves no root


def playable_division(tuning: Tuning) -> Tuning:
    """A tuning that tunes can be played in.

    Raises ValueError unless it is an equal division of the octave, from 12 to 72 steps, whose notes have letters.

    >>> from tunelib.pitch import equal
    >>> playable_division(equal(13))
    Traceback (most recent call last):
    ...
    ValueError: the notes of 13 equal steps have no letters: no fifth of it is between 4/7 and 3/5 of the octave
    """
    if not isinstance(tuning, Tuning):
        raise ValueError(f"a tune is played in a tuning, such as equal(31), not in {shortened(tuning)}")
    size = len(tuning)
    even = np.arange(size) * CENTS_PER_OCTAVE / size
    if not (FEWEST_STEPS <= size <= MOST_STEPS and tuning.period_cents == CENTS_PER_OCTAVE):
        raise ValueError(f"a tune is played in {FEWEST_STEPS} to {MOST_STEPS} equal steps, not in {tuning.name}")
    if not np.allclose(tuning.cents, even):
        raise ValueError(f"a tune is played in equal steps of the octave, and {tuning.name} has others")
    if tuning.fifth is None:
        raise ValueError(
            f"the notes of {tuning.name} have no letters: no fifth of it is between 4/7 and 3/5 of the octave"
        )
    return tuning


def of_thirty_one(tuning: Tuning) -> float:
    """How many steps of thirty-one a step is."""
    return 31 / len(tuning)


def small_step(tuning: Tuning) -> int:
    """Steps by which a root may move: the comma 81/80 or, where it vanishes, the diesis; 0 if neither is small enough.

    >>> from tunelib.pitch import equal
    >>> [small_step(equal(steps)) for steps in (12, 19, 31, 41, 50, 53)]
    [0, 1, 1, 1, 2, 1]
    """
    steps = comma(tuning) or diesis(tuning)
    return steps if steps * CENTS_PER_OCTAVE / len(tuning) <= _LARGEST_SHIFT else 0


def small_step_word(tuning: Tuning) -> str:
    """What musicians call the small step."""
    return "comma" if comma(tuning) else "diesis"


def widest_rub(tuning: Tuning) -> int:
    """The most steps by which two notes rub against one another: 1 in thirty-one, 0 in twelve."""
    return -int(-_RUBBING * len(tuning) // CENTS_PER_OCTAVE) - 1
