"""A threshold found by Bayes' rule: after each answer, how probable each threshold is, and the next trial where it
tells most.

The procedure is that of A. B. Watson and D. G. Pelli, "QUEST: a Bayesian adaptive psychometric method", Perception &
Psychophysics 33, 1983, with the mean of the posterior in place of its mode (P. E. King-Smith and others, "Efficient and
unbiased modifications of the QUEST threshold method", Vision Research 34, 1994; from memory). How often an answer is
right is taken to follow a Weibull function of the difference: chance, where nothing is heard, and all but a few slips,
where it is plain. *Threshold* means what it means for the staircase (`tunelib.hearing.thresholds`): the difference in
cents at which 70.7 % of the answers are right.

It takes 40 trials at most, and is then good to a factor of 1.3; the staircase takes some 50, and is good to 1.5, both
over hundreds of simulated listeners of 3 to 63 cents. But it leans on its assumptions: of listeners with a shallower
curve than the one that is taken for granted, thresholds come out too high: by a quarter where sensitivity grows with
the power 0.7 of the difference.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tunelib.hearing.thresholds import TARGET, HearingTest, Outcome
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, finite, times

_EASY = 3.0  # how many times as large an easy trial is
_GRID = np.arange(-2.0, math.log10(CENTS_PER_OCTAVE) + 0.005, 0.01)  # thresholds, as powers of ten of a cent


@dataclass(frozen=True)
class BayesRule:
    """What is taken for granted, and how a test goes.

    Parameters
    ----------
    expected : float
        The likeliest threshold in cents before anything is answered.
    decades : float
        The standard deviation of that belief in powers of ten: 0.5 is a factor of 3.
    slope : float
        Of the Weibull function. 1.3 suits listeners whose sensitivity grows in proportion to the difference, as it does
        for pitch; Watson and Pelli have 3.5, for vision.
    chance : float
        The share of answers that are right by luck: 1/2 where there are two to choose from.
    slips : float
        The share of trials that are answered without having listened.
    aim : float
        The share of right answers aimed at in each trial. More than at threshold, where luck tells nearly as often.
    easy : int
        Every so manieth trial is an easy one, three times as large, so that nobody loses heart.
    certain : float
        The test ends when the standard deviation of the threshold is less than this, in powers of ten,
    most : int
        or after so many trials.
    floor, ceiling : float
        The least and the greatest difference in cents. Whoever passes either is not measured.

    Raises ValueError for values that make no sense.
    """

    expected: float = 20.0
    decades: float = 0.5
    slope: float = 1.3
    chance: float = 0.5
    slips: float = 0.01
    aim: float = 0.85
    easy: int = 7
    certain: float = 0.12
    most: int = 40
    floor: float = 0.02
    ceiling: float = 400.0

    def __post_init__(self) -> None:
        if not 0 < self.floor < self.expected < self.ceiling <= CENTS_PER_OCTAVE:
            raise ValueError(
                f"the expected threshold is between the floor, above 0, and the ceiling, at most {CENTS_PER_OCTAVE} "
                f"cents, not {self.expected} from {self.floor} to {self.ceiling}"
            )
        for what, value in (("decades", self.decades), ("slope", self.slope), ("certain", self.certain)):
            if not 0 < value < math.inf:
                raise ValueError(f"{what} is above 0, not {value}")
        if not 0 < self.chance < min(TARGET, self.aim) or not max(TARGET, self.aim) < 1 - self.slips < 1:
            raise ValueError(
                f"the share of right answers aimed at, and {TARGET:.3f}, are between chance and all but the slips, both"
                f" above 0; not {self.aim} with {self.chance} by chance and {self.slips} slips"
            )
        for what, count in (("easy", self.easy), ("most", self.most)):
            if isinstance(count, bool) or not isinstance(count, int) or count < 2:
                raise ValueError(f"{what} is a whole number of trials, 2 or more, not {count!r}")

    def right(self, difference: FloatArray | float, threshold: FloatArray | float) -> FloatArray:
        """The probability of a right answer to a difference, for a threshold, both in cents; arrays broadcast.

        >>> rule = BayesRule()
        >>> [round(float(rule.right(difference, 10)), 3) for difference in (0, 5, 10, 30)]
        [0.5, 0.598, 0.707, 0.943]
        """
        steep = (np.asarray(difference) / threshold) ** self.slope
        heard = 1 - (1 - self.chance) * np.exp(-self._depth(TARGET) * steep)
        return np.asarray(self.slips * self.chance + (1 - self.slips) * heard)

    def difference(self, threshold: float, share: float | None = None) -> float:
        """The difference in cents at which this share of answers, or that aimed at, is right for a threshold.

        >>> round(BayesRule().difference(10), 1)
        18.8
        """
        deep = self._depth(self.aim if share is None else share)
        return float(threshold * (deep / self._depth(TARGET)) ** (1 / self.slope))

    def _depth(self, share: float) -> float:
        """How far along the Weibull function a share of right answers is."""
        return math.log((1 - self.chance) / (1 - (share - self.slips * self.chance) / (1 - self.slips)))

    @cached_property
    def prior(self) -> FloatArray:
        """How probable each threshold is before anything is answered."""
        believed = np.exp(-0.5 * ((_GRID - math.log10(self.expected)) / self.decades) ** 2)
        return np.asarray(believed / believed.sum())


@dataclass(frozen=True)
class Believed:
    """What answers tell of a threshold.

    Parameters
    ----------
    threshold : float
        In cents: ten to the power of the mean.
    spread : float
        A factor: two of three times the threshold is between ``threshold / spread`` and ``threshold * spread``.
    guessed : float
        How much more probable the answers are if all were guesses.
    """

    threshold: float
    spread: float
    guessed: float


class BayesThreshold(HearingTest):
    """The test by Bayes' rule.

    Parameters
    ----------
    reference_hz : float
        The lower tone of every trial.
    seed : int
        Which of the tones is the higher is drawn from it, so a test can be repeated.
    rule : BayesRule

    Raises ValueError for a reference outside 20 to 15,000 Hz.

    >>> test = BayesThreshold(440, seed=1)
    >>> while test.outcome == "unfinished":
    ...     trial = test.next_trial()
    ...     test.answer(trial.cents > 9)  # someone who hears 9 cents always, and less than that never
    >>> round(test.threshold, 1), round(test.spread, 2), len(test.answers)
    (5.2, 1.32, 40)
    """

    def __init__(self, reference_hz: float = 440.0, seed: int = 0, rule: BayesRule | None = None) -> None:
        self.rule = rule or BayesRule()
        start = self.rule.difference(self.rule.expected)
        super().__init__(reference_hz, seed, start, self.rule.floor, self.rule.ceiling)

    def _after(self) -> float | Outcome:
        told, trials, rule = self.believed, len(self.answers), self.rule
        if trials == rule.most or math.log10(told.spread) < rule.certain:
            return "too easy" if all(self.answers) else "measured" if told.guessed < 1 else "too hard"
        difference = rule.difference(told.threshold)
        return min(_EASY * difference, rule.ceiling) if (trials + 1) % rule.easy == 0 else difference

    @property
    def believed(self) -> Believed:
        """What the answers so far tell of the threshold."""
        return believed(self.differences, self.answers, self.rule)

    @property
    def threshold(self) -> float | None:
        """Ten to the power of the posterior's mean, in cents; None unless the outcome is ``"measured"``."""
        return self.believed.threshold if self.outcome == "measured" else None

    @property
    def spread(self) -> float | None:
        """The posterior's standard deviation as a factor; None unless the outcome is ``"measured"``.

        Two of three thresholds are between ``threshold / spread`` and ``threshold * spread``.
        """
        return self.believed.spread if self.outcome == "measured" else None

    def _so_far(self) -> str:
        return f"{times(len(self.answers), 'trial')}, of {self.rule.most} at most"


def believed(differences: Sequence[float], answers: Sequence[bool], rule: BayesRule | None = None) -> Believed:
    """What answers to differences in cents tell of a threshold.

    Raises ValueError unless there are as many answers as differences, of 0 cents or more.

    >>> told = believed([30, 23, 18, 14, 30, 26, 23, 37], [True, True, True, False, True, True, False, True])
    >>> round(told.threshold, 1), round(told.spread, 2)
    (22.5, 2.04)
    """
    rule = rule or BayesRule()
    heard, right = finite(differences, "a difference"), np.asarray(answers, dtype=bool)
    if heard.shape != right.shape or heard.ndim != 1:
        raise ValueError(f"there is one answer to each difference: {heard.size}, not {right.size}")
    if np.any(heard < 0):
        raise ValueError(f"a difference is 0 cents or more, not {heard.min():g}")
    probable = rule.right(heard[:, None], 10**_GRID)
    together = np.log(np.where(right[:, None], probable, 1 - probable)).sum(axis=0) + np.log(rule.prior)
    guesses = float(np.log(np.where(right, rule.chance, 1 - rule.chance)).sum())
    most = float(together.max())
    posterior = np.exp(together - most)
    evidence = float(posterior.sum())
    posterior /= evidence
    mean = float(posterior @ _GRID)
    deviation = math.sqrt(float(posterior @ (_GRID - mean) ** 2))
    return Believed(10**mean, 10**deviation, math.exp(min(guesses - most - math.log(evidence), 100.0)))
