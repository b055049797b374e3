"""Tunings against librosa, the published tables, and a search that cannot be wrong."""

from __future__ import annotations

import math
from fractions import Fraction

import librosa
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.pitch.intervals import Interval, cents
from tunelib.pitch.tunings import Tuning, equal, just

FIVE_LIMIT = ["1/1", "16/15", "9/8", "6/5", "5/4", "4/3", "45/32", "3/2", "8/5", "5/3", "9/5", "15/8"]


def quarter_comma() -> Tuning:
    fifth = Interval.of(5) ** Fraction(1, 4)
    notes = [fifth**k / Interval.of(2) ** math.floor(k * fifth.cents / 1200) for k in range(-3, 9)]
    return Tuning("quarter-comma meantone", tuple(sorted(notes)), fifth=7)


TUNINGS = [
    *(equal(n) for n in (1, 2, 5, 12, 19, 22, 24, 31, 53, 1200)),
    equal(13, 3),
    equal(9, "3/2"),
    equal(4, "81/80"),
    just(FIVE_LIMIT),
    just(["9/8", "81/80", "7/4"]),
    just([]),
    quarter_comma(),
]
tunings = st.sampled_from(TUNINGS)


@pytest.mark.parametrize("n", [12, 19, 22, 24, 31, 53])
def test_equal_divisions_match_librosa(n: int) -> None:
    theirs = librosa.interval_frequencies(3 * n, fmin=261.625565, intervals="equal", bins_per_octave=n)
    ours = 261.625565 * 2 ** (equal(n).cents_of(np.arange(3 * n)) / 1200)
    np.testing.assert_allclose(ours, theirs, rtol=1e-12)


def test_thirty_one_in_hertz_against_librosa_and_the_published_figures() -> None:
    tuning = equal(31)
    fmin = tuning.hz(0)
    theirs = librosa.interval_frequencies(32, fmin=fmin, intervals="equal", bins_per_octave=31)
    np.testing.assert_allclose(tuning.hz(np.arange(32)), theirs, rtol=1e-12)
    assert fmin == pytest.approx(440 / 2 ** (23 / 31), rel=1e-14)


@pytest.mark.parametrize("primes", [[3], [3, 5], [3, 5, 7]])
def test_just_tunings_match_librosa(primes: list[int]) -> None:
    theirs = librosa.plimit_intervals(primes=primes, bins_per_octave=12)
    tuning = just(Fraction(float(ratio)).limit_denominator(1000) for ratio in theirs)
    np.testing.assert_allclose(tuning.cents, np.sort(1200 * np.log2(theirs)), atol=1e-9)
    if primes == [3, 5]:
        assert tuning.degrees == just(FIVE_LIMIT).degrees


def test_twelve_pure_fifths_match_librosa() -> None:
    theirs = librosa.pythagorean_intervals(bins_per_octave=12)
    ours = just(Fraction(3**k, 2 ** int(k * math.log2(3))) for k in range(12))
    np.testing.assert_allclose(ours.cents, 1200 * np.log2(theirs), atol=1e-9)


def test_quarter_comma_meantone_matches_librosa() -> None:
    natural = [quarter_comma().hz(step) for step in (0, 2, 4, 5, 7, 9, 11, 12)]
    ratios = [1, 5**0.5 / 2, 5 / 4, 2 / 5**0.25, 5**0.25, 5**0.75 / 2, 5**1.25 / 4]
    theirs = librosa.interval_frequencies(8, fmin=natural[0], intervals=ratios, bins_per_octave=7)
    np.testing.assert_allclose(natural, theirs, rtol=1e-12)


def test_twelve_at_the_standard_pitch_is_the_midi_table() -> None:
    """ISO 16:1975 puts A4 at 440 Hz; MIDI key k is 440 * 2^((k - 69) / 12) Hz, with C4 = 60."""
    np.testing.assert_allclose(equal(12).hz(np.arange(-60, 68)), librosa.midi_to_hz(np.arange(128)), rtol=1e-12)
    assert equal(12).hz(0) == pytest.approx(261.625565, abs=5e-7)
    assert equal(12).hz(48) == pytest.approx(4186.009045, abs=5e-7)


@pytest.mark.parametrize(
    ("n", "step_of_a"), [(5, 4), (7, 5), (12, 9), (19, 14), (22, 17), (24, 18), (31, 23), (53, 40)]
)
def test_the_a_is_the_reference_wherever_notes_have_letters(n: int, step_of_a: int) -> None:
    """A is three fifths above C less an octave, common practice; the reference of ISO 16 is an A."""
    for reference in (440.0, 415.0):
        assert equal(n).hz(step_of_a, reference) == pytest.approx(reference, rel=1e-14)


def test_just_and_meantone_are_tuned_from_their_own_a() -> None:
    assert just(FIVE_LIMIT).hz(0) == pytest.approx(440 * 3 / 5)
    assert just(FIVE_LIMIT).hz(9) == pytest.approx(440)
    assert quarter_comma().hz(9) == pytest.approx(440)


def test_divisions_without_a_usable_fifth_stay_near_middle_c() -> None:
    """Where a sharp would flatten, or the letters fold over, letters mean nothing; step 0 is then the usual C4."""
    letterless = [n for n in range(1, 100) if equal(n).fifth is None]
    assert letterless == [1, 2, 3, 4, 6, 8, 9, 11, 13, 16, 18, 23]
    for n in letterless:
        assert equal(n).hz(0) == pytest.approx(261.625565, abs=5e-7)
    for n in range(1, 100):
        assert 1200 * abs(math.log2(equal(n).hz(0) / 261.625565)) < 65


@pytest.mark.parametrize(
    ("n", "fifth"),
    [(5, 3), (7, 4), (12, 7), (17, 10), (19, 11), (22, 13), (24, 14), (31, 18), (41, 24), (43, 25), (53, 31)],
)
def test_the_fifth_of_a_division_is_the_one_in_the_books(n: int, fifth: int) -> None:
    """Steps of the best fifth: Bosanquet 1876 and common practice."""
    assert equal(n).fifth == fifth


def test_sizes_of_thirty_one_steps() -> None:
    """One thirty-first of an octave is 38.7097 cents; its fifth 696.7742 (Huygens 1691: within a hair of 696.5784)."""
    tuning = equal(31)
    assert tuning.cents_of(1) == pytest.approx(38.7097, abs=5e-5)
    assert tuning.cents_of(18) == pytest.approx(696.7742, abs=5e-5)
    assert tuning.cents_of(18) - quarter_comma().cents_of(7) == pytest.approx(0.1958, abs=1e-4)


@given(tunings, st.floats(-15_000, 15_000))
def test_nearest_is_never_beaten_by_a_neighbour(tuning: Tuning, target: float) -> None:
    step, error = tuning.nearest(target)
    assert error == pytest.approx(tuning.cents_of(step) - target, abs=1e-8)
    for other in range(step - 3, step + 4):
        assert abs(error) <= abs(tuning.cents_of(other) - target) + 1e-8


@given(tunings, st.integers(-300, 300))
def test_every_step_is_nearest_to_itself(tuning: Tuning, step: int) -> None:
    found, error = tuning.nearest(tuning.cents_of(step))
    assert found == step
    assert error == pytest.approx(0, abs=1e-8)


@given(tunings, st.integers(-300, 300), st.sampled_from([-1e-6, 1e-6]))
def test_either_side_of_the_middle_between_two_steps(tuning: Tuning, step: int, off: float) -> None:
    middle = (tuning.cents_of(step) + tuning.cents_of(step + 1)) / 2
    assert tuning.nearest(middle + off)[0] == (step if off < 0 else step + 1)


def test_of_two_steps_equally_near_the_lower_is_taken() -> None:
    assert equal(12).nearest(50) == (0, -50)
    assert equal(12).nearest(1150) == (11, -50)
    assert equal(12).nearest(-50) == (-1, -50)


@given(tunings, st.integers(-300, 300), st.integers(-5, 5))
def test_a_period_up_is_as_many_steps_as_the_tuning_has(tuning: Tuning, step: int, periods: int) -> None:
    higher = tuning.cents_of(step + periods * len(tuning))
    assert higher == pytest.approx(tuning.cents_of(step) + periods * tuning.period_cents, abs=1e-8)


@given(tunings, st.integers(-300, 300))
def test_the_exact_interval_has_the_cents_of_its_step(tuning: Tuning, step: int) -> None:
    assert tuning.interval(step).cents == pytest.approx(tuning.cents_of(step), abs=1e-8)
    assert tuning.hz(step) == pytest.approx(tuning.hz(0) * 2 ** (tuning.cents_of(step) / 1200), rel=1e-12)


@given(tunings)
def test_one_period_ascends_from_zero(tuning: Tuning) -> None:
    assert tuning.cents[0] == 0
    assert np.all(np.diff(np.append(tuning.cents, tuning.period_cents)) > 0)
    assert tuning.cents.shape == (len(tuning),)


def test_arrays_go_through_in_one_call() -> None:
    tuning, targets = equal(31), np.linspace(-5000, 5000, 600).reshape(2, 300)
    steps, errors = tuning.nearest(targets)
    assert steps.shape == errors.shape == (2, 300)
    assert steps.dtype.kind == "i"
    one_by_one = [tuning.nearest(target) for target in targets.ravel()]
    assert steps.ravel().tolist() == [step for step, _ in one_by_one]
    np.testing.assert_allclose(errors.ravel(), [error for _, error in one_by_one], atol=1e-10)
    np.testing.assert_allclose(tuning.cents_of(steps), targets + errors, atol=1e-9)
    assert isinstance(tuning.nearest(386.3)[0], int)
    assert isinstance(tuning.cents_of(np.int64(3)), float)


def test_a_tuning_cannot_be_changed() -> None:
    tuning = equal(12)
    with pytest.raises(AttributeError):
        tuning.name = "mine"  # type: ignore[misc]
    with pytest.raises(ValueError, match="read-only"):
        tuning.cents[0] = 1.0
    assert equal(12) == tuning
    assert hash(equal(12)) == hash(tuning)


def test_just_puts_its_ratios_in_order_and_adds_the_unison() -> None:
    assert just(["3/2", Fraction(5, 4)]).degrees == tuple(map(Interval.of, ("1/1", "5/4", "3/2")))
    assert just(["3/2"]).hz(0) == pytest.approx(261.625565, abs=5e-7)


@given(st.lists(st.fractions(min_value=1, max_value=Fraction(119, 60), max_denominator=60), max_size=15, unique=True))
def test_just_tunings_keep_their_ratios_exactly(ratios: list[Fraction]) -> None:
    tuning = just(ratios)
    assert {degree.ratio for degree in tuning.degrees} == {*ratios, Fraction(1)}
    np.testing.assert_allclose(tuning.cents, sorted(cents(r) for r in {*ratios, Fraction(1)}), atol=1e-9)


@pytest.mark.parametrize("n", [0, -12, 12.0, "12", True, None, math.inf])
def test_a_division_has_a_whole_number_of_steps(n: object) -> None:
    with pytest.raises(ValueError, match="whole number of steps") as refused:
        equal(n)  # type: ignore[arg-type]
    assert repr(n) in str(refused.value)


@pytest.mark.parametrize(("period", "named"), [(1, "1"), ("1/2", "1/2"), (0, "0"), (2.5, "2.5"), ("x", "'x'")])
def test_a_period_is_an_exact_ratio_above_one(period: object, named: str) -> None:
    with pytest.raises(ValueError, match="period|ratio") as refused:
        equal(12, period)  # type: ignore[arg-type]
    assert named in str(refused.value)


@pytest.mark.parametrize(
    ("ratios", "named"), [(["2/1"], "2"), (["4/5"], "4/5"), (["5/4", "10/8"], "5/4"), (["-1"], "-1"), ([1.25], "1.25")]
)
def test_a_just_tuning_lies_within_the_octave(ratios: list[object], named: str) -> None:
    with pytest.raises(ValueError, match="octave|twice|ratio") as refused:
        just(ratios)  # type: ignore[arg-type]
    assert named in str(refused.value)


@pytest.mark.parametrize(
    ("degrees", "period", "named"),
    [((), "2", "1/1"), (("5/4",), "2", "1/1"), (("1", "3/2", "5/4"), "2", "5/4"), (("1", "3/2"), "3/2", "3/2"),
     (("1", "3/2", "3/2"), "2", "3/2"), (("1",), "1", "1")],
)  # fmt: skip
def test_a_tuning_ascends_from_one_to_below_its_period(degrees: tuple[str, ...], period: str, named: str) -> None:
    with pytest.raises(ValueError, match="'mine'") as refused:
        Tuning("mine", tuple(map(Interval.of, degrees)), Interval.of(period))
    assert named in str(refused.value)


def test_a_step_a_thousand_octaves_away_has_no_frequency() -> None:
    with pytest.raises(ValueError, match="more than a thousand octaves"):
        equal(12).hz(10**6)


@pytest.mark.parametrize("step", [1.0, "3", None, [1.5], True])
def test_steps_are_whole_numbers(step: object) -> None:
    for ask in (equal(12).cents_of, equal(12).hz, equal(12).interval):
        with pytest.raises(ValueError, match="steps are whole numbers") as refused:
            ask(step)  # type: ignore[arg-type]
        assert repr(step) in str(refused.value)


@pytest.mark.parametrize(
    ("target", "named"),
    [(math.nan, "nan"), ([0, math.inf], "inf"), (-1e300, "-1e+300"), ("3/2", "'3/2'"), (None, "None")],
)
def test_nearest_wants_finite_cents(target: object, named: str) -> None:
    with pytest.raises(ValueError, match="cents") as refused:
        equal(12).nearest(target)
    assert named in str(refused.value)


@pytest.mark.parametrize(("reference", "named"), [(0, "0"), (-440, "-440"), (math.nan, "nan"), ("A", "'A'")])
def test_the_reference_is_above_zero(reference: object, named: str) -> None:
    with pytest.raises(ValueError, match="reference") as refused:
        equal(12).hz(0, reference)  # type: ignore[arg-type]
    assert named in str(refused.value)
