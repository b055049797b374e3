"""Ratios, cents and primes against exact arithmetic and published tables."""

from __future__ import annotations

import math
from decimal import Decimal, localcontext
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tunelib.pitch.intervals import (
    Interval,
    cents,
    octave_reduce,
    odd_limit,
    parse_ratio,
    positive_hertz,
    prime_factors,
    prime_limit,
    ratio_from_cents,
)

terms = st.integers(1, 100_000)
ratios = st.builds(Fraction, terms, terms)
powers = st.dictionaries(
    st.sampled_from([2, 3, 5, 7, 11, 13]), st.fractions(min_value=-5, max_value=5, max_denominator=12), max_size=4
)
intervals = powers.map(lambda by_prime: math.prod((Interval.of(p) ** e for p, e in by_prime.items()), start=Interval()))


def cents_to_fifty_digits(ratio: Fraction) -> Decimal:
    with localcontext() as context:
        context.prec = 50
        return 1200 * (Decimal(ratio.numerator) / Decimal(ratio.denominator)).ln() / Decimal(2).ln()


@pytest.mark.parametrize(
    "ratio", ["81/80", "32805/32768", "531441/524288", "4375/4374", "64/63", "32768/32767", "3/2", "2/3", "1000001/1"]
)
def test_cents_are_right_to_fifteen_digits(ratio: str) -> None:
    """The definition (Ellis 1885: 1200 log2 of the ratio), worked out by the decimal module to fifty digits."""
    assert cents(ratio) == pytest.approx(float(cents_to_fifty_digits(Fraction(ratio))), rel=1e-15, abs=0)


@given(ratios)
def test_cents_of_any_ratio_match_fifty_digits(ratio: Fraction) -> None:
    exact = float(cents_to_fifty_digits(ratio))
    assert cents(ratio) == pytest.approx(exact, rel=2e-15, abs=0)
    assert cents(float(ratio)) == pytest.approx(exact, abs=1e-9)


def test_cents_of_terms_too_long_for_a_float() -> None:
    """Two hundred thousand pure fifths less their octaves: terms far past the largest float, exact by algebra."""
    tall = Fraction(3**5000, 2**7900)
    assert cents(tall) == pytest.approx(float(cents_to_fifty_digits(tall)), rel=1e-14)


def test_the_constant_that_turns_decimal_logarithms_into_cents() -> None:
    """cents = 3986.3137 log10(ratio): the constant printed in tuners' handbooks."""
    assert cents(10) == pytest.approx(3986.3137, abs=5e-5)


@given(st.floats(-12_000, 12_000))
def test_ratio_from_cents_is_the_inverse_of_cents(size: float) -> None:
    assert cents(ratio_from_cents(size)) == pytest.approx(size, abs=1e-9)


@given(ratios)
def test_cents_then_ratio_comes_back(ratio: Fraction) -> None:
    assert ratio_from_cents(cents(ratio)) == pytest.approx(float(ratio), rel=1e-12)


@given(ratios, ratios)
def test_intervals_stack_and_their_cents_add(one: Fraction, other: Fraction) -> None:
    assert cents(one * other) == pytest.approx(cents(one) + cents(other), abs=1e-9)
    assert cents(1 / one) == pytest.approx(-cents(one), rel=1e-14)


def test_cents_take_every_kind_of_ratio_alike() -> None:
    for same in (Fraction(5, 4), "5/4", "5:4", "1.25", 1.25, np.float64(1.25), Interval.of("5/4")):
        result = cents(same)
        assert isinstance(result, float)
        assert result == pytest.approx(386.3137, abs=5e-5)
    assert cents(np.int64(2)) == cents(2) == 1200.0


@pytest.mark.parametrize(
    ("many", "shape"),
    [
        ([1, 2, 4], (3,)),
        (np.ones((2, 3)), (2, 3)),
        ([["3/2", "4/3"], ["5/4", "6/5"]], (2, 2)),
        ([Fraction(3, 2), "4/3", 1.25], (3,)),
        (np.array([[Fraction(3, 2)], [Fraction(4, 3)]], dtype=object), (2, 1)),
        (np.array("3/2"), ()),
        ([], (0,)),
    ],
)
def test_cents_keep_the_shape_of_an_array(many: object, shape: tuple[int, ...]) -> None:
    result = cents(many)  # type: ignore[call-overload]
    assert np.shape(result) == shape
    assert np.asarray(result).dtype == np.float64


def test_a_mixed_list_is_measured_item_by_item() -> None:
    np.testing.assert_allclose(cents([Fraction(3, 2), "4/3", 2]), [701.9550, 498.0450, 1200], atol=5e-5)


@given(ratios)
def test_a_printed_ratio_reads_back(ratio: Fraction) -> None:
    assert parse_ratio(str(ratio)) == ratio
    assert parse_ratio(f"{ratio.numerator}:{ratio.denominator}") == ratio
    assert parse_ratio(f" {ratio.numerator} / {ratio.denominator} ") == ratio


@given(st.integers(1, 10**6), st.integers(0, 6))
def test_a_decimal_reads_as_the_fraction_it_writes(digits: int, places: int) -> None:
    assert parse_ratio(str(Decimal(digits).scaleb(-places).__format__("f"))) == Fraction(digits, 10**places)


@given(st.one_of(st.builds(Fraction, terms, terms), st.builds(Fraction, st.integers(1, 10**11))))
def test_prime_factors_multiply_back_to_the_ratio(ratio: Fraction) -> None:
    factors = prime_factors(ratio)
    assert math.prod((Fraction(p) ** e for p, e in factors.items()), start=Fraction(1)) == ratio
    assert list(factors) == sorted(factors)
    assert all(e != 0 and all(p % d for d in range(2, math.isqrt(p) + 1)) for p, e in factors.items())


@pytest.mark.parametrize(
    ("ratio", "prime", "odd"),
    [("1/1", 1, 1), ("3/2", 3, 3), ("5/4", 5, 5), ("9/8", 3, 9), ("6/5", 5, 5), ("7/4", 7, 7), ("15/8", 5, 15),
     ("16/15", 5, 15), ("11/9", 11, 11), ("81/80", 5, 81), ("2/1", 2, 1), ("8/1", 2, 1)],
)  # fmt: skip
def test_prime_and_odd_limits(ratio: str, prime: int, odd: int) -> None:
    """Limits as Partch defines them (Genesis of a Music, 1949): by largest odd number; by largest prime since."""
    assert (prime_limit(ratio), odd_limit(ratio)) == (prime, odd)


@given(ratios)
def test_octave_reduction_moves_by_whole_octaves_into_one(ratio: Fraction) -> None:
    reduced = octave_reduce(ratio)
    assert 1 <= reduced < 2
    assert prime_factors(reduced / ratio).keys() <= {2}
    assert octave_reduce(float(ratio)) == pytest.approx(float(reduced), rel=1e-15)


def test_octave_reduction_of_an_array() -> None:
    np.testing.assert_array_equal(octave_reduce(np.array([[1.0, 3.0], [0.75, 10.0]])), [[1, 1.5], [1.5, 1.25]])


@given(ratios, ratios, st.integers(-6, 6))
def test_interval_algebra_is_the_algebra_of_fractions(one: Fraction, other: Fraction, power: int) -> None:
    a, b = Interval.of(one), Interval.of(other)
    assert (a * b).ratio == one * other
    assert (a / b).ratio == one / other
    assert (a**power).ratio == one**power
    assert (a < b, a <= b, a > b, a >= b, a == b) == (
        one < other, one <= other, one > other, one >= other, one == other
    )  # fmt: skip


@given(intervals, intervals, st.fractions(min_value=-3, max_value=3, max_denominator=12))
def test_tempered_intervals_add_in_cents(one: Interval, other: Interval, power: Fraction) -> None:
    assert (one * other).cents == pytest.approx(one.cents + other.cents, abs=1e-8)
    assert (one / other).cents == pytest.approx(one.cents - other.cents, abs=1e-8)
    assert (one**power).cents == pytest.approx(one.cents * float(power), abs=1e-8)
    assert one.cents == pytest.approx(sum(float(e) * 1200 * math.log2(p) for p, e in one.powers), abs=1e-8)


@given(intervals, intervals)
def test_the_order_of_tempered_intervals_is_that_of_their_cents(one: Interval, other: Interval) -> None:
    assume(abs(one.cents - other.cents) > 1e-6)
    assert (one < other) == (one.cents < other.cents)


@pytest.mark.parametrize(("fifths", "octaves"), [(53, 84), (665, 1054), (15601, 24727), (31867, 50508)])
def test_powers_of_three_and_two_that_all_but_meet_are_told_apart(fifths: int, octaves: int) -> None:
    """Convergents of log2(3): whole numbers and fifty digits decide, where logarithms of floats cannot."""
    threes, twos = Interval.of(3) ** fifths, Interval.of(2) ** octaves
    for root in (1, Fraction(1, 31)):
        assert (threes**root < twos**root) == (3**fifths < 2**octaves)
        assert (twos**root < threes**root) == (2**octaves < 3**fifths)
    with localcontext() as context:
        context.prec = 50
        size = 1200 * (fifths * Decimal(3).ln() / Decimal(2).ln() - octaves)
    assert (threes / twos).cents == pytest.approx(float(size), rel=1e-14, abs=0)
    assert ((threes / twos) ** Fraction(1, 31)).cents == pytest.approx(float(size / 31), rel=1e-14, abs=0)


@given(intervals, st.integers(1, 12))
def test_a_root_raised_again_is_the_same_interval(interval: Interval, n: int) -> None:
    assert (interval ** Fraction(1, n)) ** n == interval
    assert interval / interval == Interval()


def test_four_quarter_comma_fifths_make_a_pure_third_exactly() -> None:
    """Quarter-comma meantone, as Zarlino 1571 and Salinas 1577 define it: four fifths less two octaves are 5/4."""
    fifth = Interval.of("3/2") / Interval.of("81/80") ** Fraction(1, 4)
    assert (fifth**4 / Interval.of(4)).ratio == Fraction(5, 4)
    assert fifth.cents == pytest.approx(696.5784, abs=5e-5)
    assert not fifth.is_rational


BAD_RATIOS = ["", "five", "5/", "/4", "5//4", "5/4/3", "1e3", "1e999999999", "5/0", "nan", "inf", "5;4", "½"]


@pytest.mark.parametrize(
    ("text", "named"), [*((text, repr(text)) for text in BAD_RATIOS), ("0/5", "0"), ("-3/2", "-3/2"), ("3/-2", "-3/2")]
)
def test_text_that_is_no_ratio_is_refused_by_name(text: str, named: str) -> None:
    for read in (parse_ratio, cents, prime_factors, prime_limit, odd_limit, octave_reduce, Interval.of):
        with pytest.raises(ValueError, match="ratio") as refused:
            read(text)
        assert named in str(refused.value)


@pytest.mark.parametrize(
    ("bad", "named"),
    [(0, "0"), (-1, "-1"), (-1.5, "-1.5"), (math.nan, "nan"), (math.inf, "inf"), (True, "True"), (None, "None"),
     ([1, 0], "0"), ([3, -2.5], "-2.5"), (1j, "1j"), ([1, None], "None"), ({2}, "{2}"), (Decimal(2), "Decimal")],
)  # fmt: skip
def test_numbers_without_a_size_in_cents_are_refused(bad: object, named: str) -> None:
    with pytest.raises(ValueError, match="ratio") as refused:
        cents(bad)  # type: ignore[call-overload]
    assert named in str(refused.value)


@pytest.mark.parametrize("function", [prime_factors, prime_limit, odd_limit, Interval.of])
@pytest.mark.parametrize("bad", [1.5, True, None, 2j, [3]])
def test_only_exact_ratios_have_factors(function: object, bad: object) -> None:
    with pytest.raises(ValueError, match="not an exact ratio") as refused:
        function(bad)  # type: ignore[operator]
    assert repr(bad) in str(refused.value)


def test_a_ratio_of_enormous_primes_is_refused_rather_than_searched_for() -> None:
    with pytest.raises(ValueError, match=str(2**61 - 1)):
        prime_factors(2**61 - 1)
    assert prime_factors(2**31 - 1) == {2**31 - 1: 1}


@pytest.mark.parametrize(
    "bad", [math.nan, math.inf, 2e6, "700", "a fifth", None, True, [0, math.nan], [[1], [2, 3]], 1j]
)
def test_cents_that_are_no_finite_number_make_no_ratio(bad: object) -> None:
    with pytest.raises(ValueError, match="cents") as refused:
        ratio_from_cents(bad)  # type: ignore[call-overload]
    assert (f"{bad:g}" if isinstance(bad, float) else str(bad[-1] if isinstance(bad, list) else bad)) in str(
        refused.value
    )


@pytest.mark.parametrize(
    ("bad", "named"), [(0, "0"), (-440, "-440"), (math.inf, "inf"), ([440, -1], "-1"), ("A", "'A'")]
)
def test_frequencies_are_above_zero(bad: object, named: str) -> None:
    with pytest.raises(ValueError, match="frequency") as refused:
        positive_hertz(bad)
    assert named in str(refused.value)


def test_intervals_refuse_what_would_make_them_inexact() -> None:
    with pytest.raises(ValueError, match=r"0\.25"):
        Interval.of("81/80") ** 0.25  # type: ignore[operator]
    with pytest.raises(ValueError, match=r"2\^\(1/2\) is not a ratio"):
        _ = (Interval.of(2) ** Fraction(1, 2)).ratio


@pytest.mark.parametrize("bad", [0.0, -2.0, math.nan, math.inf])
def test_octave_reduction_refuses_what_has_no_pitch(bad: float) -> None:
    for shape in (bad, np.array([1.0, bad])):
        with pytest.raises(ValueError, match=f"{bad:g}"):
            octave_reduce(shape)
