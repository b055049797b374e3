"""Equal divisions compared: how near each comes to the intervals we want, and what it gives up.

A division cuts the octave, or another period, into equal steps. It is measured against *targets*, the intervals that
it should have: each goes to the nearest step, and what is left over is its error. Three sets of targets are in use:

* an *odd limit*: all ratios whose terms, octaves set aside, are odd numbers up to the limit (H. Partch, *Genesis of a
  Music*, 1949, from memory); the 7-odd limit has fifths, thirds, sixths, and the intervals of the seventh harmonic;
* a *prime limit*: the primes up to the limit, since every ratio of that limit is a product of them;
* the harmonics up to some number.

Nearest steps need not add up: two nearest steps of a fifth and a third may not be the nearest step of their sum. Up to
which odd limit they do is the division's *consistency*. Going by primes instead always adds up: a *mapping* gives each
prime its number of steps, and any ratio the sum over its prime factors. A comma that comes to 0 steps *vanishes*: the
division has one note for two that differ in just intonation.

Conventions: errors are in cents, division minus target, as `Tuning.nearest` has them; of two steps equally near, the
lower. Steps, consistency and vanishing commas are exact whole numbers: where floats cannot tell which step is nearer,
the exact intervals are compared. Functions of `divisions` take one whole number or an array of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import whole_number
from tunelib.pitch.intervals import FloatArray, Interval, RatioLike, finite, octave_reduce, prime_factors, shortened
from tunelib.pitch.named import NAMED, NamedInterval

FINEST_DIVISION = 1_000_000
_LARGEST_LIMIT = 1000
_IN_DOUBT = 1e-14  # of the size in steps: some times the rounding of an interval's cents
_SAME_CENTS = 1e-9  # an interval and its inversion are missed alike, but for rounding
_BLOCK = 2048  # divisions at a time, so that the tables stay within the processor's cache

IntArray = npt.NDArray[np.int64]


def odd_limit_intervals(limit: int) -> tuple[Fraction, ...]:
    """Every ratio of an odd limit between the unison and the octave, ascending; both ends are left out.

    Raises ValueError unless `limit` is an odd number from 3 to 999.

    >>> [str(ratio) for ratio in odd_limit_intervals(5)]
    ['6/5', '5/4', '4/3', '3/2', '8/5', '5/3']
    """
    top = _limit(limit, "an odd limit")
    if top % 2 == 0:
        raise ValueError(f"an odd limit is an odd number, not {top}: try {top - 1} or {top + 1}")
    odds = range(1, top + 1, 2)
    return tuple(sorted({octave_reduce(Fraction(a, b)) for a in odds for b in odds} - {Fraction(1)}))


def prime_limit_intervals(limit: int) -> tuple[Fraction, ...]:
    """The primes from 3 up to a limit as intervals within the octave, in the order of the primes.

    The prime 2 is the octave itself, which is left out. Raises ValueError unless `limit` is a prime from 3 to 997.

    >>> [str(ratio) for ratio in prime_limit_intervals(7)]
    ['3/2', '5/4', '7/4']
    """
    top = _limit(limit, "a prime limit")
    if not _is_prime(top):
        raise ValueError(f"a prime limit is a prime number such as 3, 5, 7 or 11, not {top}")
    return tuple(octave_reduce(prime) for prime in range(3, top + 1) if _is_prime(prime))


def harmonic_intervals(highest: int) -> tuple[Fraction, ...]:
    """The odd harmonics from 3 up to `highest`, brought within the octave, in the order of the series.

    An even harmonic is an octave or more above an odd one, and a division of the octave misses both alike.

    Raises ValueError unless `highest` is a whole number from 3 to 1000.

    >>> [str(ratio) for ratio in harmonic_intervals(10)]
    ['3/2', '5/4', '7/4', '9/8']
    """
    return tuple(octave_reduce(number) for number in range(3, _limit(highest, "the highest harmonic") + 1, 2))


def errors(divisions: Any, targets: Iterable[RatioLike], period: RatioLike = 2) -> Any:
    """Nearest step minus target, in cents, for every division and every target.

    Parameters
    ----------
    divisions : int or array of int
        How many equal steps to the period, 1 to `FINEST_DIVISION`.
    targets : sequence of exact ratios
        Fractions, whole numbers, text such as ``"5/4"``, or Intervals; `odd_limit_intervals` and its like make them.
    period : exact ratio
        What is divided: the octave, unless another is given.

    Returns
    -------
    array of shape ``(*shape of divisions, number of targets)``, in cents
        At most half a step either way.

    Raises ValueError for a division that is not a whole number in range, a target that is not an exact ratio, no
    targets at all, or a period that does not rise.

    >>> errors([12, 31], ["3/2", "5/4", "7/4"]).round(2)
    array([[-1.96, 13.69, 31.17],
           [-5.18,  0.78, -1.08]])
    """
    return _measured(divisions, targets, period, lambda table: table)


def largest_error(divisions: Any, targets: Iterable[RatioLike], period: RatioLike = 2) -> Any:
    """The largest of the `errors`, signs set aside: cents, of the shape of `divisions`.

    >>> round(largest_error(31, odd_limit_intervals(7)), 2)
    5.96
    """
    return _plain(_measured(divisions, targets, period, lambda table: np.abs(table).max(axis=1)))


def rms_error(divisions: Any, targets: Iterable[RatioLike], period: RatioLike = 2) -> Any:
    """The root of the mean of the squared `errors`: cents, of the shape of `divisions`.

    >>> round(rms_error(12, ["3/2", "5/4"]), 2)
    9.78
    """
    return _plain(_measured(divisions, targets, period, lambda table: np.sqrt(np.square(table).mean(axis=1))))


def consistency(divisions: Any) -> Any:
    """The largest odd limit within which the nearest steps of a division of the octave add up.

    That is: for any two odd numbers a and b up to the limit, the nearest step of a/b is the nearest step of a less that
    of b. Every division is consistent at least to 3. Returns a whole number, or an array of the shape of `divisions`.

    >>> consistency([12, 19, 24, 31])
    array([ 9,  9,  5, 11])
    """
    counts = _divisions(divisions)
    limits = np.ones(counts.size, dtype=np.int64)
    open_still: npt.NDArray[Any] = np.arange(counts.size)
    steps_of_odds: npt.NDArray[Any] = np.zeros((counts.size, 1), dtype=np.int64)
    odd = 1
    while open_still.size:
        odd += 2
        ratios = tuple(Interval.of(Fraction(odd, lower)) for lower in range(1, odd, 2))
        nearest = _nearest_steps(counts.ravel()[open_still], ratios, _sizes(ratios), Interval.of(2))
        adds_up = np.all(nearest[:, :1] - steps_of_odds == nearest, axis=1)
        steps_of_odds = np.hstack([steps_of_odds, nearest[:, :1]])[adds_up]
        open_still = open_still[adds_up]
        limits[open_still] = odd
    return _plain(limits.reshape(counts.shape))


def frontier(divisions: Any, scores: Any) -> IntArray:
    """The divisions that no smaller one beats: each scores lower than every division with fewer steps.

    Parameters
    ----------
    divisions : array of int, shape (m,)
        In any order.
    scores : array, shape (m,)
        The smaller the better, such as `largest_error`. A smaller division that scores the same is preferred.

    Returns the divisions on the frontier, ascending.

    Raises ValueError unless there is one finite score for each division, and no division twice.

    >>> every = np.arange(1, 73)
    >>> frontier(every, largest_error(every, odd_limit_intervals(7)))[-4:]
    array([27, 31, 68, 72])
    """
    counts, values = _scored(divisions, scores)
    best_before = np.minimum.accumulate(np.concatenate([[np.inf], values[:-1]]))
    return counts[values < best_before]


def trade(divisions: Any, scores: Any, price: Any) -> Any:
    """The division that costs least when every note of it has a price: the least ``score + price * division``.

    Parameters
    ----------
    divisions, scores : arrays of shape (m,)
        As for `frontier`.
    price : float or array
        What one more note is worth, in the unit of the scores: 0.5 means that a note must earn half a cent.

    Returns a division, or an array of them of the shape of `price`; of two that cost the same, the smaller.

    Raises ValueError as `frontier` does, and for a price below 0.

    >>> every = np.arange(1, 73)
    >>> trade(every, largest_error(every, odd_limit_intervals(7)), [5, 0.5, 0.01])
    array([12, 31, 72])
    """
    counts, values = _scored(divisions, scores)
    prices = finite(price, "a price")
    if np.any(prices < 0):
        raise ValueError(f"the price of a note is 0 or more, not {prices.min():g}")
    return _plain(counts[np.argmin(values + np.multiply.outer(prices, counts), axis=-1)])


def prime_mapping(divisions: Any, primes: Iterable[int] = (2, 3, 5, 7, 11, 13), period: RatioLike = 2) -> IntArray:
    """How many steps each prime has: the nearest, counted from the unison.

    Returns whole numbers, of shape ``(*shape of divisions, number of primes)``. Raises ValueError for a number that is
    not a prime.

    >>> prime_mapping(31, [2, 3, 5, 7])
    array([31, 49, 72, 87])
    """
    wanted = _targets(primes)
    for number in wanted:
        if len(number.powers) != 1 or number.powers[0][1] != 1:
            raise ValueError(f"{number} is not a prime: a mapping gives steps to 2, 3, 5, 7, ...")
    counts = _divisions(divisions)
    steps = _nearest_steps(counts.ravel(), wanted, _sizes(wanted), _period(period))
    return steps.reshape(*counts.shape, len(wanted))


def mapped_steps(ratio: RatioLike, divisions: Any, period: RatioLike = 2) -> Any:
    """Steps of a ratio by way of its primes, so that ratios multiplied have their steps added.

    Within the division's `consistency` this is the nearest step as well. Returns a whole number, or an array of the
    shape of `divisions`; negative for a ratio below 1. Raises ValueError unless the ratio is exact.

    >>> mapped_steps("7/4", 31), mapped_steps("7/5", 12), mapped_steps("10/7", 12)
    (25, 6, 6)
    """
    factors = prime_factors(ratio) or {2: 0}
    powers = np.array(list(factors.values()), dtype=np.int64)
    return _plain(prime_mapping(divisions, list(factors), period) @ powers)


def vanishes(comma: RatioLike, divisions: Any, period: RatioLike = 2) -> Any:
    """Whether a comma comes to 0 steps by the `prime_mapping`: True or False, or an array of the shape of `divisions`.

    >>> vanishes("81/80", [12, 22, 31, 53])
    array([ True, False,  True, False])
    """
    return _plain(np.asarray(mapped_steps(comma, divisions, period)) == 0)


def vanishing_commas(division: int, period: RatioLike = 2) -> tuple[NamedInterval, ...]:
    """The named commas that vanish in one division, from the smallest.

    >>> [str(comma.ratio) for comma in vanishing_commas(19) if comma.ratio.denominator < 200]
    ['126/125', '81/80', '49/48']
    """
    return tuple(named for named in NAMED if named.kind == "comma" and vanishes(named.ratio, _one(division), period))


@dataclass(frozen=True)
class DivisionReport:
    """What there is to say of one division of the octave, measured against a set of targets; see `division_report`.

    Parameters
    ----------
    division : int
        Equal steps to the octave.
    targets : tuple of Interval
    errors : tuple of float
        Nearest step minus target, in cents, in the order of the targets.
    largest_error, rms_error : float
        Cents.
    worst : Interval
        The target that is missed by the most; the first of several.
    consistency : int
        The largest odd limit within which nearest steps add up.
    mapping : tuple of int
        Steps of the primes 2, 3, 5, 7, 11 and 13.
    vanishing : tuple of NamedInterval
        The named commas that come to 0 steps.
    """

    division: int
    targets: tuple[Interval, ...]
    errors: tuple[float, ...]
    largest_error: float
    rms_error: float
    worst: Interval
    consistency: int
    mapping: tuple[int, ...]
    vanishing: tuple[NamedInterval, ...]


def division_report(division: int, targets: Iterable[RatioLike]) -> DivisionReport:
    """One division of the octave measured against a set of targets.

    Raises ValueError as `errors` does, and unless `division` is a single one.

    >>> report = division_report(31, harmonic_intervals(13))
    >>> str(report.worst), round(report.largest_error, 2), report.consistency
    ('13/8', 11.09, 11)
    """
    steps, wanted = _one(division), _targets(targets)
    missed = errors(steps, wanted)
    size = np.abs(missed)
    return DivisionReport(
        division=steps,
        targets=wanted,
        errors=tuple(missed.tolist()),
        largest_error=largest_error(steps, wanted),
        rms_error=rms_error(steps, wanted),
        worst=wanted[int(np.argmax(size > size.max() - _SAME_CENTS))],
        consistency=consistency(steps),
        mapping=tuple(prime_mapping(steps).tolist()),
        vanishing=vanishing_commas(steps),
    )


def _measured(
    divisions: Any, targets: Iterable[RatioLike], period: RatioLike, measure: Callable[[FloatArray], FloatArray]
) -> FloatArray:
    """What `measure` makes of the errors of some divisions, a table of shape (divisions, targets), block by block."""
    counts, wanted, whole = _divisions(divisions), _targets(targets), _period(period)
    flat, sizes = counts.ravel(), _sizes(wanted)
    found = []
    for start in range(0, flat.size, _BLOCK):
        block = flat[start : start + _BLOCK]
        # First k/n, then the period: 8/24 and 4/12 are then the same float, and neither is found to beat the other.
        fractions = _nearest_steps(block, wanted, sizes, whole) / block[:, np.newaxis]
        found.append(measure(whole.cents * fractions - sizes))
    joined = np.concatenate(found)
    return joined.reshape(counts.shape + joined.shape[1:])


def _nearest_steps(counts: IntArray, targets: tuple[Interval, ...], sizes: FloatArray, period: Interval) -> IntArray:
    """Nearest step of each target, whose sizes are in cents, in each division; the lower of two equally near."""
    places = np.multiply.outer(counts, sizes / period.cents)
    below = np.floor(places)
    beyond = places - below - 0.5
    steps = below + (beyond > 0)
    for row, column in np.argwhere(np.abs(beyond) <= _IN_DOUBT * (1 + np.abs(places))).tolist():
        halfway = period ** Fraction(2 * int(below[row, column]) + 1, 2 * int(counts[row]))
        steps[row, column] = below[row, column] + (halfway < targets[column])
    return np.asarray(steps, dtype=np.int64)


def _sizes(targets: tuple[Interval, ...]) -> FloatArray:
    return np.array([target.cents for target in targets])


def _divisions(divisions: Any) -> IntArray:
    try:
        counts = np.asarray(divisions)
    except ValueError:  # rows of different lengths
        counts = np.array([])
    if counts.dtype.kind not in "iu" or not counts.size or counts.min() < 1 or counts.max() > FINEST_DIVISION:
        raise ValueError(
            f"a division has a whole number of steps from 1 to {FINEST_DIVISION}: give one, or an array of them, "
            f"not {shortened(divisions)}"
        )
    return counts.astype(np.int64)


def _one(division: int) -> int:
    counts = _divisions(division)
    if counts.ndim:
        raise ValueError(f"one division at a time, such as 31, not {shortened(division)}")
    return int(counts)


def _targets(targets: Iterable[RatioLike]) -> tuple[Interval, ...]:
    if isinstance(targets, (str, bytes)) or not isinstance(targets, Iterable):
        raise ValueError(f"targets are a list of ratios, such as ['3/2', '5/4'], not {shortened(targets)}")
    wanted = tuple(Interval.of(target) for target in targets)
    if not wanted:
        raise ValueError("the list of targets is empty: give at least one ratio, such as '3/2'")
    return wanted


def _period(period: RatioLike) -> Interval:
    whole = Interval.of(period)
    if not Interval() < whole:
        raise ValueError(f"a period of {whole} does not rise: it must be greater than 1, such as 2")
    return whole


def _limit(limit: int, what: str) -> int:
    return whole_number(limit, what, 3, _LARGEST_LIMIT)


def _is_prime(number: int) -> bool:
    return number > 1 and prime_factors(int(number)) == {number: 1}


def _scored(divisions: Any, scores: Any) -> tuple[IntArray, FloatArray]:
    """Divisions ascending, and their scores in the same order."""
    counts, values = _divisions(divisions), finite(scores, "scores")
    if counts.ndim != 1 or values.shape != counts.shape:
        raise ValueError(f"give one score for each division: {counts.shape} divisions, {values.shape} scores")
    order = np.argsort(counts)
    counts, values = counts[order], values[order]
    twice = counts[1:][np.diff(counts) == 0]
    if twice.size:
        raise ValueError(f"the division {twice[0]} is given twice: each is scored once")
    return counts, values


def _plain(values: npt.NDArray[Any] | np.generic) -> Any:
    """An array as it is; one value as a plain number."""
    return values if values.ndim else values.item()
