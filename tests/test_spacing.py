"""When to practise again: half-life regression against the schedules that its authors give as special cases of it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tunelib.practice.spacing import DUE, LONGEST, SHORTEST, half_life, recalled, traces

DAY = 24 * 3600.0
# P. Pimsleur, "A memory schedule", The Modern Language Journal 51, 1967, in seconds: when to repeat what was learnt.
PIMSLEUR = (5, 25, 120, 600, 3600, 5 * 3600, DAY, 5 * DAY, 25 * DAY, 4 * 365.25 / 12 * DAY, 2 * 365.25 * DAY)


def days_until_due(half: float) -> float:
    """When 2 ** (-days / half) has fallen to what is due"""
    return half * math.log2(1 / DUE)


def test_pimsleurs_schedule_is_a_case_of_it() -> None:
    """Settles and Meeder 2016: a weight of 2.35 for each practice and one of -16.46, as in their experiments' code
    (2.4 and -16.5 in the paper), give Pimsleur's intervals. All eleven come within a quarter."""
    for practices, seconds in enumerate(PIMSLEUR, 1):
        found = half_life((practices, 1.0), (2.35, -16.46), shortest=0, longest=math.inf) * DAY
        assert found == pytest.approx(seconds, rel=0.25), practices


def test_leitners_boxes_are_a_case_of_it() -> None:
    """Settles and Meeder 2016: right less wrong practices, with the weight 1, give boxes of 1, 2, 4, 8 and 16 days; a
    wrong answer moves an item back by a box."""
    assert [half_life((right,), (1.0,)) for right in range(5)] == [1, 2, 4, 8, 16]
    assert half_life((4 - 1,), (1.0,)) == 8


def test_a_half_life_worked_by_hand() -> None:
    """Their traces, with weights made up for the sum: 2 right and 3 wrong practices, 2 ** (1 + 0.5 √3 − 0.3 · 2)."""
    half = half_life(traces(2, 3), (1, 0.5, -0.3))
    assert half == pytest.approx(2 ** (1 + 0.5 * 1.7320508 - 0.6))
    assert recalled(2, half) == pytest.approx(0.5619, abs=1e-4)


def test_recall_is_whole_at_first_half_after_the_half_life_and_falls_to_due_when_an_item_is_due() -> None:
    assert recalled(0, 3.7) == 1 and recalled(3.7, 3.7) == 0.5
    for half in (SHORTEST, 1.0, 9.5, LONGEST):
        assert recalled(days_until_due(half), half) == pytest.approx(DUE)


def test_what_goes_well_is_spaced_out_and_what_does_not_comes_back() -> None:
    """To start with: the next day, and each time later than the last; one that was wrong at once, the same day."""
    gaps = [days_until_due(half_life(traces(right, 0))) for right in range(1, 8)]
    assert gaps[0] < 1 and np.all(np.diff(gaps) > 0) and gaps[4] > 5
    assert days_until_due(half_life(traces(0, 1))) < 0.3
    for right in range(6):
        assert half_life(traces(right, 1)) < half_life(traces(right, 0))
        assert half_life(traces(right + 1, 1)) > half_life(traces(right, 1))


def test_half_lives_stay_within_their_bounds() -> None:
    assert half_life(traces(0, 500)) == SHORTEST == 15 / 1440
    assert half_life(traces(10_000, 0)) == LONGEST == 274


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: traces(-1, 0), "practices that went right are 0 or more, not -1"),
        (lambda: traces(0, math.nan), "practices that went wrong"),
        (lambda: half_life((1, 2), (1,)), "one weight for each trace: 2, not 1"),
        (lambda: half_life((1, math.nan), (1, 1)), "a trace"),
        (lambda: recalled(-0.1, 1), "0 days after the last practice or later"),
        (lambda: recalled(1, 0), "a half-life is above 0 days"),
    ],
)
def test_what_makes_no_sense_is_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
