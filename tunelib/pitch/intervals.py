"""Intervals: ratios, cents, primes, and the names that the trade gives them.

An interval is a ratio of two frequencies. A *rational* interval is a `fractions.Fraction` and stays one
until cents are asked for. Tempered intervals (a fifth narrowed by a quarter of a comma, one step of an
equal division) are not rational, but each is a product of primes raised to fractional powers; the class
`Interval` holds those powers, so that a tempered interval is as exact as a ratio.

Conventions: an interval up is greater than 1 and has positive cents; 1200 cents are an octave (2/1).
Cents were introduced by A. J. Ellis in his additions to Helmholtz, *On the Sensations of Tone* (2nd English
edition 1885, Appendix XX).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce, total_ordering
from numbers import Real
from typing import Any, TypeAlias, overload

import numpy as np
import numpy.typing as npt

from tunelib.pitch.words import cut

CENTS_PER_OCTAVE = 1200

FloatArray: TypeAlias = npt.NDArray[np.float64]
RatioLike: TypeAlias = "Fraction | int | float | str | Interval"

_NUMBER = re.compile(r"\s*[-+]?(\d+(\.\d*)?|\.\d+)\s*")
_LARGEST_PRIME = 1_000_000
_MOST_CENTS = 1000 * CENTS_PER_OCTAVE


def shortened(given: object, longest: int = 60) -> str:
    """What somebody typed, as an error message repeats it: in full, or its beginning if it is long."""
    try:
        shown = repr(given[: 2 * longest] if isinstance(given, str) else given)
    except ValueError:  # Python prints no whole number of more than 4300 digits
        return "a number of thousands of digits"
    return cut(shown, longest)


def parse_ratio(text: str) -> Fraction:
    """Read a ratio as a musician writes it: ``"5/4"``, ``"5:4"``, ``"3"`` or ``"1.5"``.

    Raises ValueError if the text is not one positive ratio.

    >>> parse_ratio("5:4")
    Fraction(5, 4)
    """
    if not isinstance(text, str):
        raise ValueError(f"a ratio is read from text such as '5/4' or '5:4', not from {shortened(text)}")
    parts = text.replace(":", "/").split("/")
    try:
        if len(parts) > 2 or not all(map(_NUMBER.fullmatch, parts)):
            raise ValueError
        value = Fraction(parts[0]) / (Fraction(parts[1]) if len(parts) == 2 else 1)
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{shortened(text)} is not a ratio: write two whole numbers, such as '5/4' or '5:4'") from None
    return _positive(value)


def _positive(value: Fraction) -> Fraction:
    if not value > 0:
        raise ValueError(f"a ratio of {cut(str(value))} has no pitch: it must be greater than 0, such as 3/2")
    return value


def exact_ratio(ratio: RatioLike) -> Fraction:
    """The exact rational meant by `ratio`.

    Raises ValueError for a ratio of zero or less, and for a float, which is rarely the ratio it stands for.
    """
    if isinstance(ratio, str):
        return parse_ratio(ratio)
    if isinstance(ratio, Interval):
        return ratio.ratio
    if isinstance(ratio, (int, Fraction, np.integer)) and not isinstance(ratio, bool):
        return _positive(Fraction(int(ratio)) if isinstance(ratio, np.integer) else Fraction(ratio))
    raise ValueError(
        f"{shortened(ratio)} is not an exact ratio: give a Fraction, a whole number, or text such as '5/4'"
    )


def _exact_cents(ratio: Fraction) -> float:
    """Cents of a positive rational, correct to the last bits even for tiny commas and enormous terms."""
    numerator, denominator = ratio.numerator, ratio.denominator
    octaves = numerator.bit_length() - denominator.bit_length()
    if octaves >= 0:
        denominator <<= octaves
    else:
        numerator <<= -octaves
    # Out by whole octaves to between 3/4 and 3/2, so that a ratio near 1 is not the difference of two large logarithms.
    if 4 * numerator < 3 * denominator:
        octaves, numerator = octaves - 1, 2 * numerator
    elif 2 * numerator > 3 * denominator:
        octaves, denominator = octaves + 1, 2 * denominator
    # log1p keeps its precision where the ratio is near 1; Fraction division rounds once.
    within = math.log1p(float(Fraction(numerator - denominator, denominator))) / math.log(2)
    return CENTS_PER_OCTAVE * (octaves + within)


@overload
def cents(x: RatioLike) -> float: ...
@overload
def cents(x: npt.NDArray[Any] | list[Any] | tuple[Any, ...]) -> FloatArray: ...
def cents(x: Any) -> float | FloatArray:
    """Size of an interval in cents: ``1200 * log2(ratio)`` (Ellis 1885).

    Parameters
    ----------
    x : Fraction, number, text such as ``"5/4"`` or ``"5:4"``, `Interval`, or an array or list of these
        Ratio of the upper frequency to the lower one (no unit).

    Returns
    -------
    float, or an array of the shape of `x`
        Cents; negative where the ratio is below 1.

    Raises
    ------
    ValueError
        If a ratio is zero, negative, not finite, or not a ratio at all.

    >>> round(cents("3/2"), 3)
    701.955
    >>> cents([1, 2, 4])
    array([   0., 1200., 2400.])
    """
    if isinstance(x, Interval):
        return x.cents
    if isinstance(x, str):
        return _exact_cents(parse_ratio(x))
    if isinstance(x, (int, Fraction)) and not isinstance(x, bool):
        return _exact_cents(exact_ratio(x))
    array = np.asarray(x)
    if array.dtype.kind in "OUS" and isinstance(x, (list, tuple, np.ndarray)):
        items = [cents(item) for item in (x.ravel() if isinstance(x, np.ndarray) else x)]
        stacked = np.array(items, dtype=float)
        return stacked.reshape(array.shape) if stacked.size == array.size else stacked
    if array.dtype.kind not in "iuf":
        raise ValueError(f"{shortened(x)} is not a ratio: give a number such as 1.5, a Fraction, or text such as '3/2'")
    values = array.astype(float)
    if not np.all(np.isfinite(values) & (values > 0)):
        bad = values[~(np.isfinite(values) & (values > 0))].flat[0]
        raise ValueError(f"a ratio of {bad:g} has no size in cents: it must be finite and greater than 0")
    result = CENTS_PER_OCTAVE * np.log2(values)
    return result if array.ndim else float(result)


@overload
def ratio_from_cents(c: float) -> float: ...
@overload
def ratio_from_cents(c: npt.NDArray[Any] | list[float] | tuple[float, ...]) -> FloatArray: ...
def ratio_from_cents(c: Any) -> float | FloatArray:
    """Frequency ratio of an interval given in cents: ``2 ** (c / 1200)``, the inverse of `cents`.

    `c` is a number or an array of any shape, in cents. Raises ValueError unless every value is finite, and within a
    thousand octaves (what is beyond that is a slip, and no float holds it).

    >>> ratio_from_cents(1200)
    2.0
    """
    values = finite_cents(c)
    result = np.exp2(values / CENTS_PER_OCTAVE)
    return result if values.ndim else float(result)


def finite(x: Any, what: str) -> FloatArray:
    """`x` as an array of floats; raises ValueError, naming `what` they are, unless all are finite numbers."""
    if isinstance(x, float) and math.isfinite(x):  # one number, as most are
        return np.array(x)
    try:
        values = np.asarray(x)
    except ValueError:  # rows of different lengths
        raise ValueError(f"{what} must be a number, or an array of numbers of one shape, not {shortened(x)}") from None
    is_numbers = values.dtype.kind in "iuf" or (
        values.dtype.kind == "O" and all(isinstance(item, Real) for item in values.flat)
    )
    if not is_numbers:
        raise ValueError(f"{what} must be a number, or an array of numbers, not {shortened(x)}")
    try:
        values = values.astype(float)
    except OverflowError:  # a whole number of hundreds of digits
        raise ValueError(f"{what} must be smaller than {shortened(x)}") from None
    if not np.all(np.isfinite(values)):
        raise ValueError(f"{what} must be finite, not {values[~np.isfinite(values)].flat[0]}")
    return values


def finite_cents(x: Any) -> FloatArray:
    """`x` as an array of cents; raises ValueError unless every one is finite and within a thousand octaves."""
    values = finite(x, "cents")
    if (np.abs(values) > _MOST_CENTS).any():
        bad = values[np.abs(values) > _MOST_CENTS].flat[0]
        raise ValueError(f"{bad:g} cents are more than a thousand octaves: an octave is {CENTS_PER_OCTAVE} cents")
    return values


def positive_hertz(x: Any, what: str = "a frequency") -> FloatArray:
    """`x` as an array of frequencies; raises ValueError unless every one is finite and above 0 Hz."""
    values = finite(x, what)
    if not (values > 0).all():
        raise ValueError(f"{what} must be above 0 Hz, not {values[~(values > 0)].flat[0]:g}")
    return values


def prime_factors(r: RatioLike) -> dict[int, int]:
    """Exponents of the primes in an exact ratio, in rising order of prime; a divisor counts as negative.

    Raises ValueError for a float, for a ratio of zero or less, or where a prime above a million would have to be
    sought: such a ratio is a decimal that was meant to be tempered, not an interval anybody tunes.

    >>> prime_factors("81/80")
    {2: -4, 3: 4, 5: -1}
    """
    ratio = exact_ratio(r)
    factors: dict[int, int] = {}
    for number, sign in ((ratio.numerator, 1), (ratio.denominator, -1)):
        divisor = 2
        while divisor * divisor <= number:
            if divisor > _LARGEST_PRIME:
                raise ValueError(
                    f"{cut(str(ratio))} has prime factors above {_LARGEST_PRIME}: give a ratio of smaller numbers"
                )
            while number % divisor == 0:
                factors[divisor] = factors.get(divisor, 0) + sign
                number //= divisor
            divisor += 1 if divisor == 2 else 2
        if number > 1:
            factors[number] = factors.get(number, 0) + sign
    return dict(sorted(factors.items()))


def prime_limit(r: RatioLike) -> int:
    """Largest prime in an exact ratio (1 for the unison). A just major third, 5/4, is of the 5-limit.

    >>> prime_limit("7/4")
    7
    """
    return max(prime_factors(r), default=1)


def odd_limit(r: RatioLike) -> int:
    """Larger odd part of the two terms of an exact ratio, octaves set aside.

    >>> odd_limit("9/8"), odd_limit("6/5")
    (9, 5)
    """
    ratio = exact_ratio(r)
    return max(_odd_part(ratio.numerator), _odd_part(ratio.denominator))


def _odd_part(number: int) -> int:
    return number // (number & -number)


def root_mean_square(errors: Iterable[float]) -> float:
    """The root of the mean of squared errors, in their unit; 0 if there are none.

    >>> round(root_mean_square([13.69, -1.96, 15.64]), 2), root_mean_square([])
    (12.05, 0.0)
    """
    squares = [error**2 for error in errors]
    return math.sqrt(math.fsum(squares) / len(squares)) if squares else 0.0


@overload
def octave_reduce(r: Fraction | int | str) -> Fraction: ...
@overload
def octave_reduce(r: float) -> float: ...
@overload
def octave_reduce(r: npt.NDArray[Any]) -> FloatArray: ...
def octave_reduce(r: Any) -> Any:
    """Move a ratio by octaves until it is in [1, 2).

    Fractions, whole numbers and text give an exact Fraction; floats and float arrays stay floats.
    Raises ValueError for a ratio of zero or less.

    >>> octave_reduce(7)
    Fraction(7, 4)
    """
    if isinstance(r, (float, np.floating, np.ndarray)):
        values = np.asarray(r, dtype=float)
        cents(values)
        mantissa, _ = np.frexp(values)
        return 2 * mantissa if values.ndim else float(2 * mantissa)
    ratio = exact_ratio(r)
    octaves = ratio.numerator.bit_length() - ratio.denominator.bit_length()
    reduced = ratio / Fraction(2) ** octaves
    return reduced if reduced >= 1 else reduced * 2


@total_ordering
@dataclass(frozen=True)
class Interval:
    """An exact interval: a product of primes, each raised to a fractional power.

    Every ratio is one (whole powers), and so is every tempered interval that the trade defines:
    a step of 31 equal divisions is 2^(1/31), a quarter-comma fifth is 5^(1/4).

    >>> fifth = Interval.of("3/2") / Interval.of("81/80") ** Fraction(1, 4)
    >>> fifth
    Interval('5^(1/4)')
    >>> round(fifth.cents, 4)
    696.5784
    """

    powers: tuple[tuple[int, Fraction], ...] = ()

    @classmethod
    def of(cls, value: RatioLike) -> Interval:
        """The interval of an exact ratio (Fraction, whole number or text); an Interval is returned as it is."""
        if isinstance(value, Interval):
            return value
        return cls._product({p: Fraction(e) for p, e in prime_factors(value).items()})

    @classmethod
    def _product(cls, powers: Mapping[int, Fraction]) -> Interval:
        return cls(tuple(sorted((p, Fraction(e)) for p, e in powers.items() if e)))

    def __mul__(self, other: Interval) -> Interval:
        total = dict(self.powers)
        for prime, power in other.powers:
            total[prime] = total.get(prime, Fraction(0)) + power
        return Interval._product(total)

    def __truediv__(self, other: Interval) -> Interval:
        return self * other**-1

    def __pow__(self, exponent: int | Fraction) -> Interval:
        if not isinstance(exponent, (int, Fraction)):
            raise ValueError(
                f"an interval is raised to a whole number or a Fraction, so as to stay exact, not {shortened(exponent)}"
            )
        return Interval(tuple((p, e * exponent) for p, e in self.powers) if exponent else ())

    def __lt__(self, other: Interval) -> bool:
        difference = self / other
        size, terms = difference._by_logarithms()
        if abs(size) > 1e-9 * terms:
            return size < 0
        return difference._root()[0] < 1  # too near for logarithms to tell

    def _by_logarithms(self) -> tuple[float, float]:
        """Size in cents by logarithms, and the sum of its terms' magnitudes, which says how far to trust it."""
        terms = [float(CENTS_PER_OCTAVE * e) * math.log2(p) for p, e in self.powers]
        return math.fsum(terms), math.fsum(map(abs, terms))

    def _root(self) -> tuple[Fraction, int]:
        """`(r, n)` with the interval equal to the n-th root of the rational r."""
        degree = math.lcm(*(e.denominator for _, e in self.powers))
        radicand = reduce(lambda r, pe: r * Fraction(pe[0]) ** int(pe[1] * degree), self.powers, Fraction(1))
        return radicand, degree

    @property
    def is_rational(self) -> bool:
        """Whether the interval is a ratio of whole numbers."""
        return all(e.denominator == 1 for _, e in self.powers)

    @property
    def ratio(self) -> Fraction:
        """The interval as a Fraction. Raises ValueError if it is not rational."""
        if not self.is_rational:
            raise ValueError(f"{self} is not a ratio of whole numbers; ask for its .cents")
        return self._root()[0]

    @property
    def cents(self) -> float:
        """Size in cents."""
        size, terms = self._by_logarithms()
        if not self.is_rational and abs(size) > terms / 16:
            return size
        radicand, degree = self._root()  # a comma, say: its terms all but cancel, so work it out exactly first
        return _exact_cents(radicand) / degree

    def __str__(self) -> str:
        if self.is_rational:
            return str(self.ratio)
        return " · ".join(f"{p}^({e})" for p, e in self.powers)

    def __repr__(self) -> str:
        return f"Interval('{self}')"
