"""Listeners of known threshold, made up so that a hearing test can be held to it."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import NormalDist
from typing import Any, TypeVar

import numpy as np

from tunelib.hearing.thresholds import TARGET, HearingTest
from tunelib.pitch import chance, finite

AnyTest = TypeVar("AnyTest", bound=HearingTest)


def simulated_listener(threshold: float, slope: float = 1.0, lapses: float = 0.0) -> Callable[[Any], Any]:
    """A listener of known threshold: the probability of a right answer, as a function of the difference in cents.

    Parameters
    ----------
    threshold : float
        In cents: where answers are right with the probability sqrt(1/2), 70.7 %, lapses included.
    slope : float
        The power of the difference with which sensitivity d' grows. 1, proportion, is what Dai and Micheyl 2011 found
        at 200 to 8000 Hz.
    lapses : float
        Share of trials in which the listener guesses without having listened.

    The probability is a cumulative normal distribution of ``(difference / threshold) ** slope``, from 1/2 at no
    difference to 1 (less half the lapses) at a large one. The function takes a number or an array, 0 or more. Raises
    ValueError for a threshold or slope that is not above 0, or lapses outside 0 to 0.5.
    """
    for what, value in (("threshold", threshold), ("slope", slope)):
        if not 0 < value < math.inf:
            raise ValueError(f"the {what} of a listener is above 0, not {value}")
    if not 0 <= lapses <= 0.5:
        raise ValueError(f"a listener's lapses are a share of trials from 0 to 0.5, not {lapses}")
    at_threshold = NormalDist().inv_cdf((TARGET - lapses / 2) / (1 - lapses))
    normal = np.vectorize(NormalDist().cdf, otypes=[float])

    def probability_right(difference: Any) -> Any:
        values = finite(difference, "a difference")
        if np.any(values < 0):
            raise ValueError(f"a difference is 0 cents or more, not {values[values < 0].flat[0]:g}")
        result = lapses / 2 + (1 - lapses) * normal(at_threshold * (values / threshold) ** slope)
        return result if values.ndim else float(result)

    return probability_right


def take_test(test: AnyTest, listener: Callable[[float], float], seed: int = 0) -> AnyTest:
    """Run a test to its end with a listener, given as the probability of a right answer to a difference in cents.

    Returns the same test. Its answers are drawn from `seed`.
    """
    luck = chance(seed)
    while test.outcome == "unfinished":
        test.answer(bool(luck.random() < listener(test.next_trial().cents)))
    return test
