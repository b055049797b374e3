"""Thresholds: how small a difference of pitch a listener can hear, measured by an adaptive staircase.

Two tones, and the question which is the higher. After two right answers in a row the difference is made smaller, after
each wrong one larger (H. Levitt, "Transformed up-down methods in psychoacoustics", J. Acoust. Soc. Am. 49, 1971). Such
a staircase hovers where two right answers in a row are as likely as not: where an answer is right with the probability
sqrt(1/2), 70.7 %. *Threshold* means that difference throughout, in cents.

Whoever is wrong at the very start, by a slip or before the question is clear, gets larger differences until two answers
in a row are right, and nothing of that counts. As a turn it would spend one of the few large steps far above the
threshold, and one slip in the first trial would put listeners 7 % too low.

The differences are multiplied and divided, not added to, and the threshold is the geometric mean of the differences at
which the staircase turned. Two errors lie in wait, and pull apart. Coming down from an easy start, the first turns are
too high. And a staircase with equal steps up and down settles below its aim, by about half a step, however steep the
listener's psychometric function (M. A. García-Pérez, "Forced-choice staircases with fixed step sizes", Vision Research
38, 1998, on such errors): 24 % too low with steps of a factor 2, 14 % with sqrt(2), in the long run. The stages of
`StepRule` are chosen so that the two cancel for listeners whose sensitivity grows in proportion to the difference, as
measured ones' does (H. Dai and C. Micheyl, "Psychometric functions for pure-tone frequency discrimination", J. Acoust.
Soc. Am. 130, 2011).
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from tunelib.pitch import CENTS_PER_OCTAVE, chance, ratio_from_cents, times

TARGET = math.sqrt(0.5)
"""Levitt's point of convergence for two down, one up: the share of right answers at threshold."""

Outcome: TypeAlias = Literal["unfinished", "measured", "too hard", "too easy"]


@dataclass(frozen=True)
class StepRule:
    """How a staircase goes: where it begins, how large its steps are, and when it ends.

    The rule as given takes some 50 trials. Over thousands of simulated listeners of 2 to 50 cents its mean error is
    below 1 %, and a single test is good to a factor of 1.5. Listeners whose sensitivity grows with the power 0.7 of the
    difference are put 10 % too high, with the power 1.4, 6 % too low; those who lapse in 5 % of the trials, 3 % too
    high. Of those who only guess, 6 in 1,000 get a number.

    Parameters
    ----------
    start : float
        The first difference in cents; well above any threshold to be measured, at best four times as large.
    stages : tuple of (float, int)
        The factor of a step, and for how many turns it lasts, stage by stage. The turns of the last stage count
        towards the threshold: an even number, so that there are as many turns at the top as at the bottom.
    floor, ceiling : float
        The least and the greatest difference in cents. Whoever passes either is not measured.
    misses : int
        How many wrong answers before the first two right ones in a row end the test. Until then it does not go past
        the ceiling, but stays there.

    Raises ValueError for values out of these bounds.
    """

    start: float = 200.0
    stages: tuple[tuple[float, int], ...] = ((2.0, 2), (math.sqrt(2), 12))
    floor: float = 0.02
    ceiling: float = 400.0
    misses: int = 6

    def __post_init__(self) -> None:
        if not 0 < self.floor < self.start <= self.ceiling <= CENTS_PER_OCTAVE:
            raise ValueError(
                f"a staircase starts between its floor, above 0, and its ceiling, at most {CENTS_PER_OCTAVE} cents, "
                f"not at {self.start} from {self.floor} to {self.ceiling}"
            )
        if not self.stages:
            raise ValueError("a staircase has at least one stage, such as (2.0, 12)")
        for factor, turns in self.stages:
            if not 1 < factor <= 4:
                raise ValueError(f"a step multiplies or divides by more than 1 and at most 4, not by {factor}")
            if isinstance(turns, bool) or not isinstance(turns, int) or turns < 1:
                raise ValueError(f"a stage lasts for a whole number of turns, 1 or more, not {turns!r}")
        if isinstance(self.misses, bool) or not isinstance(self.misses, int) or self.misses < 1:
            raise ValueError(f"a whole number of misses ends a test at its start, 1 or more, not {self.misses!r}")
        if self.counted % 2:
            raise ValueError(f"the last stage has an even number of turns, not {self.counted}")

    @property
    def counted(self) -> int:
        """How many turns count towards the threshold."""
        return self.stages[-1][1]

    @property
    def turns(self) -> int:
        """How many turns there are in all."""
        return sum(turns for _, turns in self.stages)

    def factor(self, turns: int) -> float:
        """The factor of the next step after a number of turns."""
        for factor, lasting in self.stages:
            if turns < lasting:
                return factor
            turns -= lasting
        return self.stages[-1][0]


@dataclass(frozen=True)
class Trial:
    """Two tones to be heard one after the other, and which of them is the higher.

    Parameters
    ----------
    reference_hz : float
        The lower tone.
    cents : float
        How far the higher tone is above it.
    second_is_higher : bool
    """

    reference_hz: float
    cents: float
    second_is_higher: bool

    @property
    def hertz(self) -> tuple[float, float]:
        """The two tones in the order in which they sound."""
        higher = self.reference_hz * ratio_from_cents(self.cents)
        return (self.reference_hz, higher) if self.second_is_higher else (higher, self.reference_hz)


class HearingTest(ABC):
    """A test of one listener, trial by trial, by a rule that a subclass has.

    It makes no sound: `next_trial` says what to play, in any timbre, and `answer` takes what came back, until `outcome`
    is no more ``"unfinished"``. A threshold holds for the register and timbre that it was taken with, so take a test
    for each.
    """

    def __init__(self, reference_hz: float, seed: int, start: float, floor: float, ceiling: float) -> None:
        if not 20 <= reference_hz <= 15_000:
            raise ValueError(f"a reference tone to be compared must be from 20 to 15,000 Hz, not {reference_hz}")
        self.reference_hz = float(reference_hz)
        self.outcome: Outcome = "unfinished"
        self.differences: list[float] = []
        self.answers: list[bool] = []
        self._floor, self._ceiling = floor, ceiling
        self._order = chance(seed)
        self._trial = self._draw(start)

    def _draw(self, difference: float) -> Trial:
        return Trial(self.reference_hz, difference, bool(self._order.random() < 0.5))

    def next_trial(self) -> Trial:
        """The trial to be answered; the same one until it is. Raises ValueError when the test is over."""
        self._still_running()
        return self._trial

    def answer(self, right: bool) -> None:
        """Take the answer to `next_trial`: whether the listener named the higher tone.

        Raises ValueError when the test is over, or for anything but true or false.
        """
        self._still_running()
        if not isinstance(right, (bool, np.bool_)):
            raise ValueError(f"an answer is right (True) or wrong (False), not {right!r}")
        self.differences.append(self._trial.cents)
        self.answers.append(bool(right))
        found = self._after()
        if isinstance(found, str):
            self.outcome = found
        elif found > self._ceiling * (1 + 1e-9):
            self.outcome = "too hard"
        elif found < self._floor * (1 - 1e-9):
            self.outcome = "too easy"
        else:
            self._trial = self._draw(found)

    @abstractmethod
    def _after(self) -> float | Outcome:
        """What the rule says after the latest answer: the next difference, or the outcome."""

    def _still_running(self) -> None:
        if self.outcome != "unfinished":
            raise ValueError(f"this test is over ({self.report()}); begin another with a new {type(self).__name__}")

    @property
    @abstractmethod
    def threshold(self) -> float | None:
        """In cents; None unless the outcome is ``"measured"``."""

    @property
    @abstractmethod
    def spread(self) -> float | None:
        """How good the threshold is, a factor either way; None unless the outcome is ``"measured"``."""

    @abstractmethod
    def _so_far(self) -> str:
        """How far the test has come, in words."""

    def report(self) -> str:
        """The outcome in words."""
        threshold, spread = self.threshold, self.spread
        if threshold is not None and spread is not None:
            said = (
                f"{threshold:.1f} cents, give or take a factor of {spread:.1f} "
                f"({threshold / spread:.1f} to {threshold * spread:.1f} cents), after {len(self.answers)} trials"
            )
        elif self.outcome == "too hard":
            said = f"could not be measured, as the answers were no better than guesses up to {self._ceiling:g} cents"
        elif self.outcome == "too easy":
            said = f"could not be measured, as even {min(self.differences):.2g} cents were heard"
        else:
            said = self._so_far()
        return f"at {self.reference_hz:.0f} Hz: {said}"


class Staircase(HearingTest):
    """The test by a staircase.

    Parameters
    ----------
    reference_hz : float
        The lower tone of every trial.
    seed : int
        Which of the tones is the higher is drawn from it, so a test can be repeated.
    rule : StepRule

    Raises ValueError for a reference outside 20 to 15,000 Hz.

    >>> staircase = Staircase(440, seed=1)
    >>> while staircase.outcome == "unfinished":
    ...     trial = staircase.next_trial()
    ...     staircase.answer(trial.cents > 9)  # someone who hears 9 cents always, and less than that never
    >>> round(staircase.threshold, 1), round(staircase.spread, 2)
    (10.5, 1.2)
    """

    def __init__(self, reference_hz: float = 440.0, seed: int = 0, rule: StepRule | None = None) -> None:
        self.rule = rule or StepRule()
        super().__init__(reference_hz, seed, self.rule.start, self.rule.floor, self.rule.ceiling)
        self.turns: list[float] = []
        self._in_a_row = 0
        self._direction = 0

    def _after(self) -> float | Outcome:
        difference, right = self.differences[-1], self.answers[-1]
        self._in_a_row = self._in_a_row + 1 if right else 0
        direction = -1 if self._in_a_row == 2 else 0 if right else 1
        if direction > 0 and not self._direction:  # it has not come down yet
            return self._again(difference)
        if direction:
            self._in_a_row = 0
            if direction == -self._direction:
                self.turns.append(difference)
            self._direction = direction
            difference *= self.rule.factor(len(self.turns)) ** direction
        return "measured" if len(self.turns) == self.rule.turns else difference

    def _again(self, difference: float) -> float | Outcome:
        """After a wrong answer at the start: an easier difference, which is no turn, or the end."""
        if self.answers.count(False) == self.rule.misses:
            return "too hard"
        return min(difference * self.rule.factor(0), self.rule.ceiling)

    @property
    def counted(self) -> list[float]:
        """The differences in cents at the turns that count, so far."""
        return self.turns[self.rule.turns - self.rule.counted :]

    @property
    def threshold(self) -> float | None:
        """The geometric mean of the turns that count, in cents; None unless the outcome is ``"measured"``."""
        return math.exp(np.log(self.counted).mean()) if self.outcome == "measured" else None

    @property
    def spread(self) -> float | None:
        """Geometric standard deviation of the turns that count, a factor; None unless the outcome is ``"measured"``.

        Of simulated listeners, four in five have their true threshold between ``threshold / spread`` and
        ``threshold * spread``.
        """
        return math.exp(np.log(self.counted).std(ddof=1)) if self.outcome == "measured" else None

    def _so_far(self) -> str:
        return (
            f"{times(len(self.answers), 'trial')}, {len(self.turns)} of {self.rule.turns} turns (a turn is where the "
            "difference goes from falling to rising, or back)"
        )
