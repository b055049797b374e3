"""The Bayesian threshold: its formula worked out by plain loops; simulated listeners, with the staircase beside it."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from made_up_listeners import simulated_listener, take_test

from tunelib.hearing.bayes_threshold import BayesRule, BayesThreshold, believed
from tunelib.hearing.thresholds import TARGET, HearingTest, Staircase
from tunelib.practice.ear_test import REGISTERS

Listener = Callable[[float], float]
HEARD = (30.0, 23.0, 18.0, 14.0, 30.0, 26.0, 23.0, 37.0)
RIGHT = (True, True, True, False, True, True, False, True)


def weibull(difference: float, threshold: float, slope: float, slips: float) -> float:
    """Watson and Pelli 1983, with chance 1/2: their threshold is where the exponent is 1, about 81 % right."""
    return slips / 2 + (1 - slips) * (1 - 0.5 * math.exp(-((difference / threshold) ** slope)))


@pytest.mark.parametrize("slope", [3.5, 1.4])
def test_what_is_believed_is_bayes_rule_worked_by_loops(slope: float) -> None:
    """The posterior's mean and standard deviation over a grid of Watson and Pelli's own thresholds, in decades, which
    stand in a fixed ratio to ours: at ours 70.7 % are right."""
    ratio = (math.log(0.5 / (1 - (TARGET - 0.005) / 0.99))) ** (1 / slope)  # ours in theirs
    weighed = []
    for place in range(-2000, int(1000 * math.log10(1200))):  # up to an octave
        theirs = 10 ** (place / 1000) / ratio
        weight = math.exp(-0.5 * ((math.log10(theirs * ratio) - math.log10(30)) / 0.5) ** 2)
        for difference, right in zip(HEARD, RIGHT, strict=True):
            probable = weibull(difference, theirs, slope, 0.01)
            weight *= probable if right else 1 - probable
        weighed.append((math.log10(theirs * ratio), weight))
    total = sum(weight for _, weight in weighed)
    mean = sum(place * weight for place, weight in weighed) / total
    spread = math.sqrt(sum(weight * (place - mean) ** 2 for place, weight in weighed) / total)
    told = believed(HEARD, RIGHT, BayesRule(expected=30, slope=slope))
    assert math.log10(told.threshold) == pytest.approx(mean, abs=1e-3)
    assert math.log10(told.spread) == pytest.approx(spread, abs=1e-3)


def test_at_threshold_seven_in_ten_are_right_and_at_the_difference_aimed_at_eighty_five_percent() -> None:
    rule = BayesRule()
    for threshold in (0.5, 5, 50):
        assert rule.right(threshold, threshold) == pytest.approx(math.sqrt(0.5))
        assert rule.right(rule.difference(threshold), threshold) == pytest.approx(0.85)
        assert rule.right(rule.difference(threshold, 0.95), threshold) == pytest.approx(0.95)
    assert rule.right(0.0, 10.0) == pytest.approx(0.5) and rule.right(1e4, 10.0) == pytest.approx(0.995)


def found(make: Callable[[int], HearingTest], listener: Callable[[float], Listener], true: np.ndarray) -> np.ndarray:
    """Natural logarithms of measured over true threshold; every listener must be measured."""
    errors = []
    for number, threshold in enumerate(true):
        threshold_found = take_test(make(number), listener(threshold), 1000 + number).threshold
        assert threshold_found is not None
        errors.append(math.log(threshold_found / threshold))
    return np.array(errors)


def factor(errors: np.ndarray) -> float:
    return math.exp(math.sqrt((errors**2).mean()))


def test_three_hundred_listeners_are_measured_to_a_factor_of_1_3_in_forty_trials_and_better_than_by_steps() -> None:
    """Listeners of 3 to 63 cents whose sensitivity grows in proportion to the difference (Dai and Micheyl 2011), not
    by the curve that is taken for granted. The staircase, whose trials are more, beside it in the same run."""
    true = 10 ** np.random.default_rng(5).uniform(math.log10(3), math.log10(63), 300)
    by_bayes = found(lambda n: BayesThreshold(440, n), simulated_listener, true)
    by_steps = found(lambda n: Staircase(440, n), simulated_listener, true)
    assert factor(by_bayes) < 1.31
    assert factor(by_steps) > 1.4
    assert abs(by_bayes.mean()) < 0.05


def test_listeners_of_its_own_curve_have_no_bias_and_the_spread_is_what_it_says() -> None:
    """The mean error is within 6 %, since little is expected of most, and two of three are within the spread."""
    true = 10 ** np.random.default_rng(6).uniform(math.log10(3), math.log10(63), 300)
    rule, errors, within = BayesRule(), [], []
    for number, threshold in enumerate(true):
        test = take_test(BayesThreshold(440, number), lambda x, t=threshold: float(rule.right(x, t)), number)
        assert test.threshold is not None and test.spread is not None and len(test.answers) <= 40
        errors.append(math.log(test.threshold / threshold))
        within.append(abs(errors[-1]) < math.log(test.spread))
    assert abs(np.mean(errors)) < 0.06
    assert np.mean(within) == pytest.approx(0.68, abs=0.08)


def test_it_stops_when_it_is_certain_enough_or_after_forty_trials() -> None:
    quick = take_test(BayesThreshold(440, rule=BayesRule(certain=0.2)), simulated_listener(8, 1.4), 2)
    assert quick.outcome == "measured" and len(quick.answers) < 30 and math.log10(quick.spread or 0) < 0.2
    assert math.log10(believed(quick.differences[:-1], quick.answers[:-1], quick.rule).spread) >= 0.2
    slow = take_test(BayesThreshold(440, rule=BayesRule(certain=0.01)), simulated_listener(8, 1.4), 2)
    assert len(slow.answers) == 40


def test_every_seventh_trial_is_easy_and_the_others_are_where_they_are_aimed() -> None:
    test = take_test(BayesThreshold(440, 3), simulated_listener(10, 1.4), 3)
    for trial in range(1, len(test.differences)):
        aimed = test.rule.difference(believed(test.differences[:trial], test.answers[:trial]).threshold)
        assert test.differences[trial] == pytest.approx(3 * aimed if (trial + 1) % 7 == 0 else aimed)


def test_whoever_guesses_gets_no_number_but_for_a_few_in_a_hundred() -> None:
    guessed = [take_test(BayesThreshold(440, seed), lambda difference: 0.5, seed) for seed in range(200)]
    assert sum(test.outcome == "too hard" for test in guessed) >= 192
    assert guessed[0].threshold is None and "no better than guesses" in guessed[0].report()


def test_whoever_hears_everything_is_not_given_a_number() -> None:
    test = take_test(BayesThreshold(440), lambda difference: 1.0)
    assert test.outcome == "too easy" and test.threshold is None and test.spread is None
    assert f"even {min(test.differences):.2g} cents were heard" in test.report()


def test_it_can_be_repeated_and_says_how_far_it_has_come() -> None:
    one, other = (take_test(BayesThreshold(220, 9), simulated_listener(6), 9) for _ in range(2))
    assert one.differences == other.differences and one.report() == other.report()
    test = BayesThreshold(REGISTERS["low (110 Hz)"])
    test.answer(True)
    assert test.report() == "at 110 Hz: 1 trial, of 40 at most"
    with pytest.raises(ValueError, match=r"this test is over .* begin another with a new BayesThreshold"):
        one.next_trial()


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: BayesRule(expected=500), "not 500 from 0.02 to 400"),
        (lambda: BayesRule(slope=0), "slope is above 0, not 0"),
        (lambda: BayesRule(aim=0.4), "not 0.4 with 0.5 by chance"),
        (lambda: BayesRule(slips=0), "0 slips"),
        (lambda: BayesRule(most=1), "most is a whole number of trials, 2 or more, not 1"),
        (lambda: BayesThreshold(10), "20 to 15,000 Hz, not 10"),
        (lambda: BayesThreshold().answer(1), "right .True. or wrong"),
        (lambda: believed([1, 2], [True]), "one answer to each difference: 2, not 1"),
        (lambda: believed([-1], [True]), "0 cents or more, not -1"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()
