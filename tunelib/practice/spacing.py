"""When to practise what again: half-life regression (B. Settles and B. Meeder, "A trainable spaced repetition model for
language learning", Proceedings of the Association for Computational Linguistics, 2016).

What was practised fades: after so many days it is recalled with the probability ``p = 2 ** (-days / half_life)``. Each
practice makes the half-life longer, and more so where it went well: ``half_life = 2 ** (weights · traces)``, where the
traces are 1 and the square roots of one more than the right and the wrong practices so far. An item is due when its
recall falls below `DUE`, so the days between two practices grow as long as it goes well.

Of the published schedulers this one is chosen because an answer by ear is seldom simply known or not. Boxes
(S. Leitner, *So lernt man lernen*, 1972) and a grade for each repetition (P. A. Wozniak, *Optimization of Learning*,
1990; both from memory) move an item by one answer; here all of them count, by shares too, and a single slip costs
little. It also says how much is remembered of anything at any time, which a plan for five minutes needs, to take first
what is nearest to being lost. The weights are chosen, not measured: all published ones were fitted to words, not to
hearing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from tunelib.pitch import FloatArray, finite

DUE = 0.8
"""An item is due when the probability of recalling it is less than this."""

SHORTEST, LONGEST = 15 / (24 * 60), 274.0
"""Bounds of a half-life in days, a quarter of an hour and nine months, as Settles and Meeder set them."""

WEIGHTS = (-1.75, 3.0, -1.5)
"""The weights of the three traces to start with: what goes well is due after one day, one, two, four and six."""


def traces(right: float, wrong: float) -> FloatArray:
    """What so many right and wrong practices leave behind: 1, sqrt(1 + right), sqrt(1 + wrong).

    A practice may count by shares, such as 0.8 right and 0.2 wrong. Raises ValueError for less than none.
    """
    for what, count in (("right", right), ("wrong", wrong)):
        if not 0 <= count < math.inf:
            raise ValueError(f"practices that went {what} are 0 or more, not {count}")
    return np.array([1.0, math.sqrt(1 + right), math.sqrt(1 + wrong)])


def half_life(
    left: Sequence[float] | FloatArray,
    weights: Sequence[float] = WEIGHTS,
    shortest: float = SHORTEST,
    longest: float = LONGEST,
) -> float:
    """The half-life in days of what has left these traces: 2 to the power of their weighted sum, within bounds.

    Raises ValueError unless there is a weight for each trace.

    >>> [round(half_life(traces(right, 0)), 1) for right in range(1, 5)], round(half_life(traces(3, 1)), 1)
    ([2.0, 3.9, 6.7, 11.0], 4.4)
    """
    if len(left) != len(weights):
        raise ValueError(f"there is one weight for each trace: {len(left)}, not {len(weights)}")
    power = float(np.dot(finite(left, "a trace"), finite(weights, "a weight")))
    return float(min(max(2.0 ** min(power, 100.0), shortest), longest))


def recalled(days: float, half: float) -> float:
    """The probability of recalling something so many days after its last practice; `half` is its half-life in days.

    Raises ValueError for days before it or a half-life that is not above 0.

    >>> recalled(0, 4), recalled(4, 4), recalled(8, 4)
    (1.0, 0.5, 0.25)
    """
    if not days >= 0:
        raise ValueError(f"what is recalled is asked 0 days after the last practice or later, not {days}")
    if not half > 0:
        raise ValueError(f"a half-life is above 0 days, not {half}")
    return float(2.0 ** (-days / half))
