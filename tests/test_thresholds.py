"""The staircase against Levitt's convergence point and simulated listeners, and what has been published."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from made_up_listeners import simulated_listener, take_test
from scipy import stats

from tunelib.hearing.published_thresholds import PUBLISHED_THRESHOLDS
from tunelib.hearing.thresholds import (
    Staircase,
    StepRule,
)
from tunelib.pitch.intervals import cents

LEVITT = 0.7071  # H. Levitt, J. Acoust. Soc. Am. 49, 1971, table I: two down, one up converges on 70.7 %


def logistic_listener(difference: float) -> float:
    """Another shape than the package's: a logistic function of the logarithm, 75 % at 8 cents."""
    return 0.5 + 0.5 / (1 + (8 / difference) ** 1.5)


def errors(
    count: int, seed: int, rule: StepRule | None = None, slope: float = 1.0, lapses: float = 0.0, missed: int = 0
) -> np.ndarray:
    """Natural logarithms of measured over true threshold, for listeners of 2 to 50 cents in four registers, who are
    wrong in the first answers, as many as are `missed`."""
    true = np.exp(np.random.default_rng(seed).uniform(np.log(2), np.log(50), count))
    found = []
    for number, threshold in enumerate(true):
        staircase = Staircase((110, 220, 440, 1760)[number % 4], seed * count + number, rule)
        for _ in range(missed):
            staircase.answer(False)
        measured = take_test(staircase, simulated_listener(threshold, slope, lapses), 10**6 + seed * count + number)
        if measured.threshold is not None:
            found.append(math.log(measured.threshold / threshold))
    assert len(found) >= 0.95 * count
    return np.array(found)


def standard_error(values: np.ndarray) -> float:
    return float(values.std(ddof=1) / math.sqrt(values.size))


def test_a_long_staircase_of_small_steps_comes_to_levitts_point() -> None:
    """Levitt 1971: where it settles, 70.7 % of answers are right; here for a listener of another shape, in 16 tests."""
    rule = StepRule(start=8, stages=((1.02, 60), (1.02, 200)))
    found = [take_test(Staircase(440, seed, rule), logistic_listener, 50 + seed).threshold for seed in range(16)]
    right = [logistic_listener(float(threshold or math.nan)) for threshold in found]
    assert np.mean(right) == pytest.approx(LEVITT, abs=0.01)


def test_a_thousand_listeners_are_recovered_without_bias() -> None:
    """The mean error is within two standard errors of none, 2.5 %; one test is good to a factor of 1.5."""
    found = errors(1000, seed=0)
    assert abs(found.mean()) < 2 * standard_error(found) < 0.026
    assert found.std() < math.log(1.5)


def test_the_plain_rule_would_have_a_bias() -> None:
    """One factor of 2 throughout and many turns settles low, as M. A. García-Pérez, Vision Research 38, 1998, warns."""
    found = errors(400, seed=1, rule=StepRule(stages=((2.0, 24),), floor=0.001))
    assert found.mean() < -5 * standard_error(found)
    assert math.exp(found.mean()) == pytest.approx(0.85, abs=0.05)


@pytest.mark.parametrize("lapses", [0.0, 0.05])
def test_wrong_answers_at_the_very_start_leave_the_threshold_where_it_was(lapses: float) -> None:
    """Beside listeners who begin well, in the same run: those who miss the first one, or the first three, are found no
    lower, which a turn at the start would make them by 7 %, and as exactly."""
    well = errors(600, 5, lapses=lapses)
    for missed in (1, 3):
        badly = errors(600, 5, lapses=lapses, missed=missed)
        assert abs(badly.mean()) < 0.06
        assert abs(badly.mean() - well.mean()) < 0.035
        assert badly.std() < 1.1 * well.std()


@pytest.mark.parametrize(("slope", "lapses"), [(1.4, 0.0), (0.7, 0.0), (1.0, 0.02), (1.0, 0.05)])
def test_other_kinds_of_listener_are_recovered_nearly(slope: float, lapses: float) -> None:
    """Steeper, shallower, or absent-minded in 2 or 5 % of trials: within 15 %."""
    assert abs(math.expm1(errors(300, 2, None, slope, lapses).mean())) < 0.15


def test_the_spread_covers_the_truth_for_four_listeners_in_five() -> None:
    covered = []
    for seed in range(300):
        done = take_test(Staircase(440, seed), simulated_listener(8), 5000 + seed)
        if done.threshold is not None and done.spread is not None:
            covered.append(done.threshold / done.spread < 8 < done.threshold * done.spread)
    assert len(covered) > 290
    assert np.mean(covered) == pytest.approx(0.8, abs=0.07)


def test_whoever_guesses_is_told_that_it_could_not_be_measured() -> None:
    """One guesser in a hundred, at most, gets a number by luck."""
    guessed = [take_test(Staircase(440, seed), lambda difference: 0.5, seed) for seed in range(500)]
    assert sum(done.outcome == "too hard" for done in guessed) >= 495
    done = guessed[0]
    assert done.outcome == "too hard"
    assert done.threshold is None and done.spread is None
    assert "could not be measured" in done.report()


def test_always_naming_the_same_tone_is_guessing() -> None:
    """The higher tone comes first or second at random, half the time each."""
    outcomes, seconds = [], []
    for seed in range(100):
        staircase = Staircase(220, seed)
        while staircase.outcome == "unfinished":
            seconds.append(staircase.next_trial().second_is_higher)
            staircase.answer(seconds[-1])
        outcomes.append(staircase.outcome)
    assert outcomes.count("too hard") >= 97
    assert np.mean(seconds) == pytest.approx(0.5, abs=5 * 0.5 / math.sqrt(len(seconds)))


def test_whoever_hears_everything_is_not_given_a_number() -> None:
    done = take_test(Staircase(440), lambda difference: 1.0)
    assert done.outcome == "too easy"
    assert done.threshold is None
    assert "even 0.024 cents were heard" in done.report()


def run(answers: str, rule: StepRule) -> Staircase:
    staircase = Staircase(440, rule=rule)
    for answer in answers:
        staircase.answer(answer == "r")
    return staircase


def test_two_right_go_down_one_wrong_goes_up_and_turns_are_noted() -> None:
    """Levitt's rule worked by hand: the step follows the second right answer in a row, and starts a new count."""
    rule = StepRule(start=100, stages=((2.0, 2), (1.25, 2)))
    staircase = run("rrrrwrwrrrr", rule)
    assert staircase.differences == [100, 100, 50, 50, 25, 50, 50, 100, 100, 80, 80]
    assert staircase.turns == [25, 100]
    assert staircase.outcome == "unfinished"
    assert staircase.next_trial().cents == 64
    assert staircase.report() == (
        "at 440 Hz: 11 trials, 2 of 4 turns (a turn is where the difference goes from falling to rising, or back)"
    )
    assert run("r", rule).report().startswith("at 440 Hz: 1 trial, 0 of 4 turns")
    for answer in (False, True, True):
        staircase.answer(answer)
    assert staircase.counted == [64, 80]
    assert staircase.outcome == "measured"
    assert staircase.threshold == pytest.approx(math.sqrt(64 * 80))
    assert staircase.spread == pytest.approx(stats.gstd([64, 80]))


def test_whoever_is_wrong_at_the_start_gets_easier_pairs_until_two_are_right() -> None:
    """Up to the ceiling and no farther; none of it is a turn, and the staircase comes down from there as ever."""
    staircase = run("wwrwrrrrw", StepRule(start=100, ceiling=300))
    assert staircase.differences == [100, 200, 300, 300, 300, 300, 150, 150, 75]
    assert staircase.turns == [75]
    assert staircase.next_trial().cents == 150


def test_a_start_without_two_right_in_a_row_ends_the_test_with_the_sixth_wrong_answer() -> None:
    assert run("wwrwwrw", StepRule()).outcome == "unfinished"
    done = run("wwrwwrww", StepRule())
    assert done.outcome == "too hard" and done.threshold is None


def test_past_the_ceiling_it_is_over_once_it_has_come_down() -> None:
    assert run("rrww", StepRule()).outcome == "unfinished"
    assert run("rrwww", StepRule()).outcome == "too hard"


def test_a_trial_waits_until_it_is_answered() -> None:
    staircase = Staircase(440, seed=4)
    first = staircase.next_trial()
    assert staircase.next_trial() is first
    staircase.answer(True)
    assert staircase.next_trial() is not first


def test_a_trial_is_two_tones_so_many_cents_apart() -> None:
    orders = set()
    for seed in range(10):
        trial = Staircase(330, seed).next_trial()
        first, second = trial.hertz
        orders.add(trial.second_is_higher)
        assert cents(second / first) == pytest.approx(200 if trial.second_is_higher else -200)
        assert min(first, second) == 330
    assert orders == {True, False}


def test_the_same_seed_gives_the_same_test() -> None:
    one, other = (take_test(Staircase(440, 9), simulated_listener(7), 3) for _ in range(2))
    assert (one.differences, one.answers) == (other.differences, other.answers)
    assert one.report() == other.report()
    assert take_test(Staircase(440, 9), simulated_listener(7), 4).answers != one.answers


def test_the_report_says_where_how_much_and_how_sure() -> None:
    done = take_test(Staircase(220, 1), simulated_listener(10), 1)
    threshold, spread = float(done.threshold or 0), float(done.spread or 0)
    for part in ("220 Hz", f"{threshold:.1f} cents", f"factor of {spread:.1f}", f"{len(done.answers)} trials"):
        assert part in done.report()


def test_a_test_that_is_over_takes_no_more_answers() -> None:
    done = take_test(Staircase(440), simulated_listener(6))
    for call in (done.next_trial, lambda: done.answer(True)):
        with pytest.raises(ValueError, match="over.*new Staircase"):
            call()


@pytest.mark.parametrize("answer", [1, None, "yes", 0.5])
def test_an_answer_is_right_or_wrong(answer: Any) -> None:
    with pytest.raises(ValueError, match="right"):
        Staircase(440).answer(answer)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: Staircase(0), "20 to 15,000"),
        (lambda: Staircase(math.nan), "20 to 15,000"),
        (lambda: StepRule(start=500), "ceiling"),
        (lambda: StepRule(floor=0), "floor"),
        (lambda: StepRule(ceiling=2400), "ceiling"),
        (lambda: StepRule(stages=()), "stage"),
        (lambda: StepRule(stages=((1.0, 12),)), "more than 1"),
        (lambda: StepRule(stages=((2.0, 0),)), "turns"),
        (lambda: StepRule(stages=((2.0, 2), (1.4, 7))), "even"),
        (lambda: StepRule(misses=0), "misses"),
        (lambda: StepRule(misses=True), "misses"),
        (lambda: simulated_listener(0), "threshold"),
        (lambda: simulated_listener(5, slope=-1), "slope"),
        (lambda: simulated_listener(5, lapses=0.9), "lapses"),
        (lambda: simulated_listener(5)(-1), "0 cents or more"),
        (lambda: simulated_listener(5)(math.nan), "finite"),
    ],
)
def test_bad_values_are_refused(make: Callable[[], object], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        make()


@pytest.mark.parametrize("slope", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("lapses", [0.0, 0.05])
def test_a_simulated_listener_is_right_at_threshold_as_often_as_levitt_says(slope: float, lapses: float) -> None:
    """70.71 % at threshold, chance at no difference, half the lapses below certainty far above."""
    right = simulated_listener(6, slope, lapses)
    assert right(6) == pytest.approx(LEVITT, abs=5e-5)
    assert right(0) == 0.5
    assert right(1e6) == pytest.approx(1 - lapses / 2)
    assert np.all(np.diff(right(np.linspace(0, 20, 50))) > 0)


def test_sensitivity_grows_in_proportion_to_the_difference() -> None:
    """Dai and Micheyl 2011: d' is linear in the difference; in a choice of two, d' is sqrt(2) times the normal score
    (N. A. Macmillan and C. D. Creelman, *Detection Theory*, 2005)."""
    differences = np.array([1.0, 2, 4, 8, 16])
    sensitivity = math.sqrt(2) * stats.norm.ppf(simulated_listener(8)(differences))
    np.testing.assert_allclose(sensitivity / differences, sensitivity[0], rtol=1e-9)
    assert sensitivity[3] == pytest.approx(0.771, abs=5e-4)


def test_every_published_threshold_has_its_source_and_sense() -> None:
    assert len(PUBLISHED_THRESHOLDS) >= 8
    assert len({one.what for one in PUBLISHED_THRESHOLDS}) == len(PUBLISHED_THRESHOLDS)
    for one in PUBLISHED_THRESHOLDS:
        assert len(one.source) > 20
        assert 0 < one.low <= one.high
        assert 20 <= one.lowest_hz <= one.highest_hz <= 20_000
        least, greatest = one.cents(math.sqrt(one.lowest_hz * one.highest_hz)) or (0, 0)
        assert 1 < least <= greatest < 60
    assert [one.what for one in PUBLISHED_THRESHOLDS if not one.measured] == ["the rule of thumb of 5 cents"]


@pytest.mark.parametrize(
    ("what", "hertz", "least", "greatest"),
    [
        ("two tones, middle notes", 1000, 3.459, 3.459),
        ("two tones, low notes", 440, 3.930, 11.764),
        ("two sines one after the other", 1000, 3.459, 5.186),
        ("slow vibrato, low notes", 440, 14.107, 14.107),
        ("slow vibrato, high notes", 1000, 12.077, 12.077),
        ("the size of a melodic third, amateurs", 440, 10, 10),
    ],
)
def test_published_thresholds_in_cents(what: str, hertz: float, least: float, greatest: float) -> None:
    """The published hertz and per cent, turned into cents by hand: 1200 log2(1 + difference / frequency)."""
    one = next(one for one in PUBLISHED_THRESHOLDS if one.what == what)
    assert one.cents(hertz) == pytest.approx((least, greatest), abs=0.002)


def test_a_published_threshold_keeps_to_its_frequencies() -> None:
    middle = PUBLISHED_THRESHOLDS[0]
    assert middle.cents(499) is None and middle.cents(2001) is None
    with pytest.raises(ValueError, match="0 Hz"):
        middle.cents(0)
