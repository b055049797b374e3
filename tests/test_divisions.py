"""Divisions against published figures, continued fractions, and a plain loop in sixty decimal places."""

from __future__ import annotations

import math
import re
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.pitch.divisions import (
    FINEST_DIVISION,
    consistency,
    division_report,
    errors,
    frontier,
    harmonic_intervals,
    largest_error,
    mapped_steps,
    odd_limit_intervals,
    prime_limit_intervals,
    prime_mapping,
    rms_error,
    trade,
    vanishes,
    vanishing_commas,
)
from tunelib.pitch.intervals import Interval, cents
from tunelib.pitch.named import NAMED
from tunelib.pitch.tunings import equal

EVERY = np.arange(1, 1201)
SEVEN = odd_limit_intervals(7)
FIFTEEN = odd_limit_intervals(15)

ratios = st.builds(Fraction, st.integers(1, 200), st.integers(1, 200))
lists_of_ratios = st.lists(ratios, min_size=1, max_size=6)
counts = st.integers(1, 3000)


def log2(ratio: Fraction) -> Decimal:
    """To sixty places, by the standard library's decimal arithmetic."""
    with localcontext() as context:
        context.prec = 60
        return (Decimal(ratio.numerator).ln() - Decimal(ratio.denominator).ln()) / Decimal(2).ln()


def convergents(base: Fraction, ratio: Fraction, count: int) -> list[Fraction]:
    """Convergents of log(ratio) to a base, by exact division: D. Shanks 1954, A Logarithm Algorithm, MTAC 8, 60-64."""
    numerators, denominators = [1, 0], [0, 1]
    larger, smaller = base, ratio
    for _ in range(count):
        times = 0
        while larger >= smaller:
            larger, times = larger / smaller, times + 1
        larger, smaller = smaller, larger
        numerators.append(times * numerators[-1] + numerators[-2])
        denominators.append(times * denominators[-1] + denominators[-2])
    return [Fraction(n, d) for n, d in zip(numerators[2:], denominators[2:], strict=True)]


def plain_error(division: int, ratio: Fraction) -> float:
    """Nearest step minus target in cents, one at a time, in sixty places."""
    with localcontext() as context:
        context.prec = 60
        size = division * log2(ratio)
        return float(1200 * (size.to_integral_value() - size) / division)


# Targets


@pytest.mark.parametrize(("limit", "count"), [(3, 3), (5, 7), (7, 13), (9, 19), (11, 29), (15, 49)])
def test_an_odd_limit_has_as_many_ratios_as_its_diamond_with_the_unison(limit: int, count: int) -> None:
    """Partch 1949, Genesis of a Music: 29 tones for 11, 13 for 7 (from memory); the rest common practice."""
    assert len(odd_limit_intervals(limit)) == count - 1


def test_an_odd_limit_ascends_within_the_octave_and_holds_every_inversion() -> None:
    assert list(FIFTEEN) == sorted(FIFTEEN)
    assert all(1 < ratio < 2 for ratio in FIFTEEN)
    assert {2 / ratio for ratio in FIFTEEN} == set(FIFTEEN)


def test_harmonics_and_primes_are_the_odd_ones_within_the_octave() -> None:
    assert harmonic_intervals(16) == tuple(map(Fraction, ("3/2", "5/4", "7/4", "9/8", "11/8", "13/8", "15/8")))
    assert prime_limit_intervals(13) == tuple(map(Fraction, ("3/2", "5/4", "7/4", "11/8", "13/8")))


# Errors


def test_twelve_misses_the_harmonics_by_the_printed_amounts() -> None:
    """Whole cents as in most books on acoustics (for example Benade 1976, from memory), here note minus harmonic."""
    printed = [-2, 14, 31, -4, 49, -41, 12]
    assert errors(12, harmonic_intervals(15)).round().tolist() == printed


def test_the_fifth_of_thirty_one_is_a_hundred_and_tenth_of_a_comma_above_the_meantone_fifth() -> None:
    """C. Huygens 1691, Lettre touchant le cycle harmonique (the statement from memory)."""
    meantone_fifth = Interval.of(5) ** Fraction(1, 4)
    assert errors(31, [meantone_fifth]).item() == pytest.approx(cents("81/80") / 110, abs=0.0005)


def test_in_the_seven_odd_limit_nothing_below_thirty_one_comes_closer_and_nothing_beats_it_until_sixty_eight() -> None:
    """Common practice: the worst in 31 is the minor third and its inversion, 5.96 cents."""
    score = largest_error(EVERY, SEVEN)
    assert score[30] == pytest.approx(5.9639, abs=5e-5)
    assert np.all(score[:30] > score[30])
    assert np.flatnonzero(score < score[30])[0] + 1 == 68
    best = frontier(EVERY, score).tolist()
    assert best[best.index(31) + 1] == 68


@given(division=counts, targets=lists_of_ratios)
def test_errors_agree_with_a_plain_loop_in_sixty_places(division: int, targets: list[Fraction]) -> None:
    plain = [plain_error(division, ratio) for ratio in targets]
    np.testing.assert_allclose(errors(division, targets), plain, rtol=0, atol=1e-9)
    assert largest_error(division, targets) == pytest.approx(max(map(abs, plain)), abs=1e-9)
    assert rms_error(division, targets) == pytest.approx(
        math.sqrt(math.fsum(e * e for e in plain) / len(plain)), abs=1e-9
    )


@pytest.mark.parametrize("period", [Fraction(2), Fraction(3), Fraction(3, 2)])
@pytest.mark.parametrize("division", [1, 5, 12, 13, 31, 400])
def test_errors_are_those_of_the_tuning_with_as_many_equal_steps(division: int, period: Fraction) -> None:
    targets = [*FIFTEEN, Fraction(7, 2), Fraction(4, 5), Fraction(1), period]
    _, theirs = equal(division, period).nearest(cents(targets))
    np.testing.assert_allclose(errors(division, targets, period), theirs, rtol=0, atol=1e-9)


def test_no_error_is_more_than_half_a_step() -> None:
    assert np.all(np.abs(errors(EVERY, FIFTEEN)) <= 600 / EVERY[:, np.newaxis] + 1e-9)


def test_any_shape_of_divisions_is_kept_and_long_ranges_are_worked_through_without_a_seam() -> None:
    table = np.arange(1, 5001).reshape(50, 100)
    assert errors(table, SEVEN).shape == (50, 100, len(SEVEN))
    assert largest_error(table, SEVEN).shape == consistency(table).shape == vanishes("81/80", table).shape == (50, 100)
    assert prime_mapping(table, [3, 5]).shape == (50, 100, 2)
    for division in (1, 2048, 2049, 4097, 5000):
        row, column = divmod(division - 1, 100)
        assert largest_error(table, SEVEN)[row, column] == largest_error(division, SEVEN)
        assert errors(table, SEVEN)[row, column].tolist() == errors(division, SEVEN).tolist()
    assert isinstance(largest_error(31, SEVEN), float)
    assert isinstance(consistency(31), int)


def test_of_two_steps_equally_near_the_lower_is_taken() -> None:
    tritone = Interval.of(2) ** Fraction(1, 2)
    odd = np.arange(1, 1200, 2)
    assert np.array_equal(errors(odd, [tritone])[:, 0], 1200 * ((odd - 1) // 2 / odd) - 600)
    assert errors(12, [Interval.of("1/2") ** Fraction(1, 24)]).item() == -50


def test_where_floats_cannot_tell_which_step_is_nearer_the_exact_ratios_are_compared() -> None:
    """Pell's equation: p² = 2q² + 1 puts p/q just above half an octave, p² = 2q² - 1 just below (common knowledge)."""
    p, q = 1, 1
    for _ in range(30):
        p, q = p + 2 * q, p + q
        above = p * p - 2 * q * q == 1
        assert (errors(1, [Fraction(p, q)]).item() > 0) is above


# Consistency


def test_consistency_of_the_well_known_divisions() -> None:
    """Common practice."""
    known = {12: 9, 19: 9, 22: 11, 24: 5, 31: 11, 41: 15, 53: 9, 58: 17, 72: 17}
    assert consistency(list(known)).tolist() == list(known.values())


def test_the_divisions_that_set_a_record_in_consistency() -> None:
    """The On-Line Encyclopedia of Integer Sequences, A116474 and A116475 (from memory)."""
    limits = consistency(EVERY)
    records = frontier(EVERY, -limits)
    assert records.tolist() == [1, 3, 4, 5, 22, 26, 29, 58, 80, 94, 282, 311]
    assert limits[records - 1].tolist() == [3, 5, 7, 9, 11, 13, 15, 17, 19, 23, 29, 41]


@given(division=counts)
def test_consistency_is_where_nearest_steps_stop_adding_up(division: int) -> None:
    """By its definition: any two ratios of the odd limit whose product is in it too, in a plain loop."""

    def adds_up(limit: int) -> bool:
        within = odd_limit_intervals(limit)
        steps = {ratio: round(division * log2(ratio)) for ratio in within}
        products = ((a, b, a * b if a * b < 2 else a * b / 2) for a in within for b in within)
        return all(
            steps[a] + steps[b] - steps[c] == (0 if a * b < 2 else division) for a, b, c in products if c in steps
        )

    found = consistency(division)
    assert adds_up(min(found, 19))
    assert found > 19 or not adds_up(found + 2)


# The frontier and the trade


def test_the_frontier_of_the_fifth_is_its_best_fractions() -> None:
    """Beside `Fraction.limit_denominator` of the standard library, from sixty places of log2(3/2)."""
    size = Fraction(log2(Fraction(3, 2)))
    best = [n for n in EVERY.tolist() if size.limit_denominator(n).denominator == n]
    assert frontier(EVERY, largest_error(EVERY, ["3/2"])).tolist() == best


def test_the_convergents_of_the_fifth_lie_on_the_frontier() -> None:
    """OEIS A005664, denominators of the convergents to log2(3): 1, 2, 5, 12, 41, 53, 306, 665 (from memory)."""
    found = convergents(Fraction(2), Fraction(3, 2), 8)
    assert [fraction.denominator for fraction in found] == [1, 2, 5, 12, 41, 53, 306, 665]
    assert {fraction.denominator for fraction in found} <= set(frontier(EVERY, largest_error(EVERY, ["3/2"])).tolist())
    assert [prime_mapping(f.denominator, [3]).item() - f.denominator for f in found] == [f.numerator for f in found]


def test_a_larger_division_with_the_same_notes_is_not_on_the_frontier() -> None:
    for period in ("2", "3", "3/2"):
        score = largest_error(EVERY, ["3/2", "5/4", "7/5"], period)
        best = frontier(EVERY, score)
        again = [n for n in EVERY[:400] if n % 2 == 0 and score[n - 1] == score[n // 2 - 1]]
        assert again
        assert not set(again) & set(best.tolist())


@given(st.dictionaries(st.integers(1, 99), st.integers(-5, 5), min_size=1), st.randoms(use_true_random=False))
def test_no_smaller_division_beats_one_on_the_frontier_in_whatever_order_they_come(
    scores: dict[int, int], random: Any
) -> None:
    order = list(scores)
    random.shuffle(order)
    plain = [n for n in sorted(scores) if all(scores[n] < scores[m] for m in scores if m < n)]
    assert frontier(order, [scores[n] for n in order]).tolist() == plain


@given(st.lists(st.floats(0, 50), min_size=1, max_size=8))
def test_the_trade_is_won_by_the_cheapest_which_is_on_the_frontier_and_smaller_as_notes_grow_dearer(
    prices: list[float],
) -> None:
    hundred = EVERY[:100]
    score = largest_error(hundred, SEVEN)
    winners = trade(hundred, score, sorted(prices))
    assert winners.tolist() == [min(hundred.tolist(), key=lambda n: (score[n - 1] + p * n, n)) for p in sorted(prices)]
    assert np.all(np.diff(winners) <= 0)
    assert set(winners.tolist()) <= set(frontier(hundred, score).tolist())
    assert trade(hundred, score, prices[0]) in winners


# Mappings and commas


def test_thirty_one_loses_four_commas_and_twelve_cannot_tell_two_tritones_apart() -> None:
    """Common practice."""
    for comma in ("81/80", "126/125", "225/224", "1029/1024"):
        assert vanishes(comma, 31)
    assert mapped_steps("7/5", 12) == mapped_steps("10/7", 12) == 6
    assert vanishes("50/49", 12)
    assert mapped_steps("7/5", 31) != mapped_steps("10/7", 31)


@pytest.mark.parametrize(
    ("comma", "where"),
    [
        ("81/80", [5, 7, 12, 19, 31, 43, 50, 55]),  # the meantone divisions: Barbour 1951, from memory
        ("531441/524288", [12, 24, 36, 48, 60]),  # twelve fifths are seven octaves: common practice
        ("32805/32768", [12, 41, 53, 65, 118, 171]),  # Helmholtz 1885 on 53, and common practice
        ("15625/15552", [15, 19, 34, 53, 72]),  # Tanaka 1890 on 53, and common practice
    ],
)
def test_commas_vanish_where_books_on_temperament_say(comma: str, where: list[int]) -> None:
    assert np.all(vanishes(comma, where))


def test_meantone_twelve_and_thirty_one_have_a_comma_where_fifty_three_has_a_step() -> None:
    """Mercator's 53: a step is a comma, so nine commas are a tone and 31 of them a fifth (Holder 1694, from memory)."""
    assert mapped_steps("81/80", [12, 31, 53]).tolist() == [0, 0, 1]
    assert mapped_steps("9/8", 53) == 9
    assert mapped_steps("3/2", 53) == 31


def test_the_list_of_vanishing_commas_is_every_named_one_that_does_and_no_interval() -> None:
    for division in (5, 12, 31, 53, 171):
        found = {comma.ratio for comma in vanishing_commas(division)}
        assert found == {named.ratio for named in NAMED if named.kind == "comma" and vanishes(named.ratio, division)}
    assert {Fraction(81, 80), Fraction(126, 125)} <= {comma.ratio for comma in vanishing_commas(31)}


@given(division=counts, a=ratios, b=ratios)
def test_mapped_steps_add_up_always(division: int, a: Fraction, b: Fraction) -> None:
    assert mapped_steps(a * b, division) == mapped_steps(a, division) + mapped_steps(b, division)
    assert mapped_steps(1 / a, division) == -mapped_steps(a, division)


def test_within_its_consistency_a_division_maps_every_ratio_to_the_nearest_step() -> None:
    for division in range(1, 120):
        within = odd_limit_intervals(consistency(division))
        nearest = [round(division * log2(ratio)) for ratio in within]
        assert [mapped_steps(ratio, division) for ratio in within] == nearest


def test_a_period_other_than_the_octave_is_mapped_too() -> None:
    """Thirteen equal steps of 3/1: 5/3 is six of them, 7/3 ten (K. van Prooijen 1978 and others, from memory)."""
    assert prime_mapping(13, [3, 5, 7], period=3).tolist() == [13, 19, 23]
    assert mapped_steps("5/3", 13, period=3) == 6
    assert mapped_steps("7/3", 13, period=3) == 10
    assert vanishes("245/243", 13, period=3)


def test_a_report_says_of_one_division_what_the_functions_say() -> None:
    report = division_report(31, odd_limit_intervals(13))
    assert report.largest_error == largest_error(31, odd_limit_intervals(13)) == max(map(abs, report.errors))
    assert report.rms_error == rms_error(31, report.targets)
    assert report.errors[report.targets.index(report.worst)] == pytest.approx(max(report.errors, key=abs), abs=1e-9)
    assert (report.division, report.consistency, report.mapping[:4]) == (31, 11, (31, 49, 72, 87))
    assert report.vanishing == vanishing_commas(31)
    assert str(division_report(31, SEVEN).worst) == "6/5"  # before 5/3, which is missed by as much
    honest = dict(zip(map(str, report.targets), report.errors, strict=True))
    assert honest["11/8"] == pytest.approx(-9.3825, abs=5e-5)  # its eleventh and thirteenth harmonics: common practice
    assert honest["13/8"] == pytest.approx(11.0852, abs=5e-5)


# Bad input


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: errors(0, SEVEN), "whole number of steps from 1 to 1000000"),
        (lambda: errors(FINEST_DIVISION + 1, SEVEN), "from 1 to 1000000"),
        (lambda: errors(12.0, SEVEN), "not 12.0"),
        (lambda: errors(True, SEVEN), "not True"),
        (lambda: errors([], SEVEN), "not []"),
        (lambda: errors([[12], [1, 2]], SEVEN), "not [[12], [1, 2]]"),
        (lambda: errors("12", SEVEN), "not '12'"),
        (lambda: errors(10**30, SEVEN), "from 1 to"),
        (lambda: errors(12, "3/2"), "targets are a list of ratios"),
        (lambda: errors(12, Fraction(3, 2)), "targets are a list"),
        (lambda: errors(12, []), "is empty"),
        (lambda: errors(12, [1.5]), "1.5 is not an exact ratio"),
        (lambda: errors(12, ["fifth"]), "'fifth' is not a ratio"),
        (lambda: errors(12, ["-3/2"]), "greater than 0"),
        (lambda: errors(12, SEVEN, period=1), "a period of 1 does not rise"),
        (lambda: largest_error(12, SEVEN, period="1/2"), "does not rise"),
        (lambda: odd_limit_intervals(8), "try 7 or 9"),
        (lambda: odd_limit_intervals(1), "an odd limit is a whole number from 3"),
        (lambda: odd_limit_intervals(7.0), "not 7.0"),  # type: ignore[arg-type]
        (lambda: prime_limit_intervals(9), "not 9"),
        (lambda: harmonic_intervals(2), "the highest harmonic is a whole number from 3"),
        (lambda: harmonic_intervals(10**9), "from 3 to 1000"),
        (lambda: prime_mapping(12, [4]), "4 is not a prime"),
        (lambda: prime_mapping(12, [6]), "6 is not a prime"),
        (lambda: prime_mapping(12, 3), "targets are a list"),  # type: ignore[arg-type]
        (lambda: mapped_steps(1.5, 12), "not an exact ratio"),
        (lambda: vanishes("81/80", -1), "not -1"),
        (lambda: vanishing_commas([12, 31]), "one division at a time"),  # type: ignore[arg-type]
        (lambda: division_report([31], SEVEN), "one division at a time"),  # type: ignore[arg-type]
        (lambda: frontier([5, 12], [1.0]), "one score for each division"),
        (lambda: frontier(12, 1.0), "one score for each division"),
        (lambda: frontier([5, 12], [1.0, math.nan]), "scores must be finite"),
        (lambda: frontier([12, 5, 12], [1.0, 2.0, 3.0]), "12 is given twice"),
        (lambda: trade([5, 12], [1.0, 2.0], [0.5, -1]), "0 or more, not -1"),
        (lambda: trade([5, 12], [1.0, 2.0], math.inf), "a price must be finite"),
    ],
)
def test_bad_input_says_what_was_wrong_and_what_would_be_right(call: Any, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        call()


anything = st.one_of(st.text(max_size=8), st.integers(), st.floats(), st.none(), st.binary(max_size=3), ratios)


@given(targets=st.lists(anything, max_size=3) | anything)
def test_any_list_of_targets_is_measured_or_refused_in_words(targets: Any) -> None:
    try:
        found = errors([12, 31], targets)
    except ValueError as refusal:
        assert str(refusal)
    else:
        assert found.shape == (2, len(targets))
        assert np.all(np.abs(found) <= 50.0001)
