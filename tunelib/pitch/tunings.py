"""Tunings: a set of notes within a period, exact until someone asks for cents or hertz."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import is_whole
from tunelib.pitch.intervals import (
    FloatArray,
    Interval,
    RatioLike,
    cents,
    finite_cents,
    positive_hertz,
    ratio_from_cents,
    shortened,
)

A4_HZ = 440.0  # ISO 16:1975, standard tuning frequency
_A_IN_TWELVE = 900.0  # cents from C up to A where a tuning cannot be spelled


@dataclass(frozen=True)
class Tuning:
    """An immutable tuning: a name and the notes of one period.

    Parameters
    ----------
    name : str
    degrees : tuple of Interval
        The notes of one period above step 0, ascending from 1/1, each smaller than the period.
    period : Interval
        The interval after which the notes repeat; the octave unless said otherwise.
    fifth : int or None
        How many steps the fifth spans from which notes are spelled (18 in 31 equal steps), or None
        where note letters mean nothing. `equal` and `just` set it.

    Raises ValueError if the degrees do not start at 1/1, do not ascend, or reach the period.
    """

    name: str
    degrees: tuple[Interval, ...]
    period: Interval = Interval.of(2)
    fifth: int | None = None

    def __post_init__(self) -> None:
        if not self.degrees or self.degrees[0] != Interval():
            raise ValueError(f"tuning {shortened(self.name)} must start at 1/1, its own step 0")
        for low, high in zip(self.degrees, (*self.degrees[1:], self.period), strict=True):
            if not low < high:
                raise ValueError(
                    f"tuning {shortened(self.name)} must ascend from 1/1 to below its period: {low} is not below {high}"
                )

    def __len__(self) -> int:
        return len(self.degrees)

    def __hash__(self) -> int:
        return hash((self.name, len(self.degrees), self.fifth))  # quick, since spellings are kept by tuning

    @cached_property
    def cents(self) -> FloatArray:
        """The notes of one period in cents above step 0, ascending from 0; shape (notes,), read-only."""
        values = np.array([degree.cents for degree in self.degrees])
        values.flags.writeable = False
        return values

    @cached_property
    def period_cents(self) -> float:
        """The period in cents."""
        return self.period.cents

    def interval(self, step: int) -> Interval:
        """The exact interval from step 0 to any step, below or above."""
        periods, degree = divmod(_whole(step).item(), len(self))
        return self.degrees[degree] * self.period**periods

    def cents_of(self, step: Any) -> Any:
        """Cents from step 0 to `step` (a whole number or an array of them, negative ones below step 0)."""
        if type(step) is int and abs(step) <= _MOST_STEPS:  # one step, as most are
            return step // len(self) * self.period_cents + float(self.cents[step % len(self)])
        periods, degree = np.divmod(_whole(step), len(self))
        result = periods * self.period_cents + self.cents[degree]
        return result if result.ndim else float(result)

    def nearest(self, cents: Any) -> tuple[Any, Any]:
        """The step nearest to a pitch, and how far off it is.

        Parameters
        ----------
        cents : float or array
            Cents above step 0.

        Returns
        -------
        step : int or array of int
            Of two steps equally near, the lower.
        error : float or array
            Cents, tuning minus target: positive where the tuning's note is above the target.

        Raises ValueError unless every value is finite, and within a thousand octaves.

        >>> step, error = equal(12).nearest(386.3137)
        >>> step, round(error, 4)
        (4, 13.6863)
        """
        target = finite_cents(cents)
        periods = np.floor(target / self.period_cents)
        within = target - periods * self.period_cents
        ladder = np.append(self.cents, self.period_cents)
        above = np.clip(np.searchsorted(ladder, within), 1, len(self))
        below_is_nearer = within - ladder[above - 1] <= ladder[above] - within
        degree = np.where(below_is_nearer, above - 1, above)
        step = degree + periods.astype(np.int64) * len(self)
        error = ladder[degree] - within
        return (step, error) if target.ndim else (int(step), float(error))

    @cached_property
    def a4_cents(self) -> float:
        """Cents from step 0 (C4) up to A4: three fifths up and an octave down where notes can be spelled."""
        if self.fifth is None:
            return _A_IN_TWELVE
        return float(self.cents_of(3 * self.fifth - len(self)))

    @cached_property
    def half_sharp(self) -> int | None:
        """Steps by which half a sharp raises a note; None if that is not a whole number, or notes have no letters."""
        if self.fifth is None:
            return None
        half, left = divmod(7 * self.fifth - 4 * len(self), 2)
        return None if left else half

    def hz(self, step: Any, reference: float = A4_HZ) -> Any:
        """Frequency of a step, or an array of steps, in hertz.

        Step 0 is C4, and it is tuned from A4: `reference` is the frequency of A4 in hertz (ISO 16 says 440),
        so in every tuning that can be spelled the A sounds exactly at the reference.

        Raises ValueError unless `reference` is above 0.

        >>> round(equal(12).hz(0), 4), round(equal(31).hz(23), 4)
        (261.6256, 440.0)
        """
        a4 = positive_hertz(reference, "the reference for A4").item()
        return a4 * ratio_from_cents(np.asarray(self.cents_of(step)) - self.a4_cents)


def _whole(step: Any) -> npt.NDArray[np.int64]:
    values = np.asarray(step)
    if values.dtype.kind not in "iu":
        raise ValueError(
            f"steps are whole numbers, not {shortened(step)}; to place a pitch in cents use .nearest(cents)"
        )
    return values.astype(np.int64)


_MOST_STEPS = 10_000


def equal(n: int, period: RatioLike = 2) -> Tuning:
    """The period divided into `n` equal steps; the octave unless another period is given.

    Notes can be spelled in a division of the octave whose best fifth is between 4/7 and 3/5 of it: outside these,
    the seven letters would not ascend, or a sharp would lower a note. (1 to 4, 6, 8, 9, 11, 13, 16, 18 and 23 steps
    have no such fifth; all other divisions do.)

    Raises ValueError unless `n` is a whole number from 1 to 10,000 and the period is an exact ratio above 1.

    >>> equal(31).cents_of(18)
    696.7741935483871
    """
    if not is_whole(n) or n < 1:
        raise ValueError(f"a division has a whole number of steps, 1 or more, not {shortened(n)}")
    if n > _MOST_STEPS:
        raise ValueError(f"a division has {_MOST_STEPS:,} steps at most, not {shortened(n)}")
    whole = Interval.of(period)
    if not Interval() < whole:
        raise ValueError(f"a period of {whole} does not rise: it must be greater than 1, such as 2")
    return _equal(int(n), whole)


@lru_cache(maxsize=64)
def _equal(n: int, whole: Interval) -> Tuning:
    """One tuning for each division, so that what is kept by tuning is found without comparing all their notes."""
    degrees = tuple(whole ** Fraction(k, n) for k in range(n))
    if whole != Interval.of(2):
        return Tuning(f"{n} equal steps of {whole}", degrees, whole)
    fifth = round(n * cents("3/2") / whole.cents)
    return Tuning(f"{n} equal steps", degrees, whole, fifth if 4 * n <= 7 * fifth and 5 * fifth <= 3 * n else None)


def just(ratios: Iterable[RatioLike], name: str = "just intonation") -> Tuning:
    """A tuning of exact ratios within the octave, for example ``just(["1/1", "9/8", "5/4", ...])``.

    The ratios may come in any order; each must be in [1, 2), and 1/1 is added if it is missing. Twelve notes
    are taken as the keys of a keyboard, so that letters can be placed on them; other counts are not spelled.

    Raises ValueError for a ratio outside the octave or given twice.
    """
    if isinstance(ratios, str):
        raise ValueError(
            f"a tuning is a list of ratios, such as ['1/1', '9/8', '5/4'], not the text {shortened(ratios)}"
        )
    exact = [Interval.of(r).ratio for r in ratios]
    for ratio in exact:
        if not 1 <= ratio < 2:
            raise ValueError(f"{ratio} is outside the octave: bring it into [1, 2), for example with octave_reduce")
    if len(set(exact)) < len(exact):
        twice = next(r for r in exact if exact.count(r) > 1)
        raise ValueError(f"{twice} is given twice: each note of a tuning is listed once")
    ordered = sorted({*exact, Fraction(1)})
    return Tuning(name, tuple(Interval.of(r) for r in ordered), fifth=7 if len(ordered) == 12 else None)


THIRTY_ONE = equal(31)
"""The tuning of the course: thirty-one equal steps of the octave."""
