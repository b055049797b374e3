"""The ratios that chords stand for: the simplest set near to what is played, and the error of every pair.

A tempered chord is heard as a chord of whole-number ratios near it (4:5:6 for a major triad). Which one is a choice: a
step near one ratio is often near a second. Here the chord with the simplest pairs is taken, weighed against how far off
they are. Simplicity is the logarithm of numerator times denominator, after Tenney (*A history of 'consonance' and
'dissonance'*, 1988; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, pairwise

from tunelib.pitch import CENTS_PER_OCTAVE, Tuning, cents

_RATIOS = tuple(
    Fraction(text)
    for text in (
        "1/1 128/125 25/24 21/20 16/15 15/14 12/11 11/10 10/9 9/8 8/7 7/6 25/21 6/5 11/9 27/22 16/13 5/4 14/11 32/25 "
        "9/7 13/10 21/16 4/3 27/20 11/8 18/13 7/5 10/7 36/25 13/9 16/11 40/27 3/2 32/21 20/13 14/9 25/16 11/7 8/5 13/8 "
        "18/11 33/20 5/3 42/25 27/16 12/7 7/4 16/9 25/14 9/5 20/11 11/6 15/8 40/21 27/14 125/64"
    ).split()
)
# Usual chords, in all divisions from 12 to 72 that have letters, were read with each ratio of primes up to 13 besides
# whose numerator times denominator is at most 1024. One belongs here if it makes them cheaper by 20 bits a pair in all:
# so came 25/14 (226 bits), to which the minor seventh of 31 steps is nearest, 36/25 (72), 27/20 (65), 27/22 (62), 27/16
# (60), 33/20 (57), 20/11 (43), 11/7 (39), 16/13 (27) and 25/21 (23); the next, 25/18, has 11. With 32/25 and 42/25 an
# augmented triad and a diminished seventh of 31 are read alike from each of their notes. And no other ratio was near
# the step of 40/27, the narrow fifth of 41, 43, 50, 53 and 55.
_FARTHEST = 20.0  # cents: a ratio farther off than this is not what a step is heard as
_CENTS_FOR_A_BIT = 5.0  # how many cents of error weigh as much as one more bit of complexity


def complexity(ratio: Fraction) -> float:
    """How complex a ratio is: the logarithm to base 2 of numerator times denominator; 0 for the unison.

    >>> complexity(Fraction(3, 2))
    2.584962500721156
    """
    return math.log2(ratio.numerator * ratio.denominator)


def mean_complexity(ratios: Sequence[Fraction]) -> float:
    """How complex the pairs of a chord are on the mean, in bits; 0 for one note alone.

    >>> round(mean_complexity([Fraction(1), Fraction(5, 4), Fraction(3, 2)]), 2)
    3.94
    """
    pairs = [complexity(high / low) for low, high in combinations(ratios, 2)]
    return sum(pairs) / len(pairs) if pairs else 0.0


@lru_cache(maxsize=2048)
def _choices(cents_within: float) -> tuple[Fraction, ...]:
    """Ratios within the octave near a size in cents, those that alone cost least first."""
    near = []
    for ratio in _RATIOS:
        error = math.remainder(cents_within - cents(ratio), CENTS_PER_OCTAVE)
        if abs(error) <= _FARTHEST:
            near.append((ratio, complexity(ratio) + abs(error) / _CENTS_FOR_A_BIT))
    return tuple(ratio for ratio, _ in sorted(near, key=lambda pair: pair[1]))


@lru_cache(maxsize=4096)
def ratio_chord(steps: tuple[int, ...], tuning: Tuning) -> tuple[Fraction, ...]:
    """The ratios that a chord stands for, each to its lowest note.

    Of the ratios near each note those are taken whose pairs are simplest on the whole, errors weighed in: five cents
    off count for as much as one more bit of complexity.

    Parameters
    ----------
    steps : tuple of int
        Steps above the lowest note, rising from 0.
    tuning : Tuning
        Whose period is the octave.

    Raises ValueError if there are no steps, if they do not rise from 0, or if nothing simple is near one of them.

    >>> from tunelib.pitch import equal
    >>> [str(ratio) for ratio in ratio_chord((0, 10, 18, 25, 36), equal(31))]
    ['1', '5/4', '3/2', '7/4', '9/4']
    """
    if not steps or steps[0] != 0 or any(after <= before for before, after in pairwise(steps)):
        raise ValueError(f"the steps of a chord rise from 0, each given once, such as (0, 10, 18), not {steps!r}")
    sizes = [float(tuning.cents_of(step)) for step in steps]
    options = [(Fraction(1),)]
    for step, size in zip(steps[1:], sizes[1:], strict=True):
        octaves, within = divmod(size, CENTS_PER_OCTAVE)
        near = _choices(round(within, 6))
        if not near:
            raise ValueError(f"no simple ratio is within {_FARTHEST:g} cents of step {step} of {tuning.name}")
        options.append(tuple(ratio * 2 ** int(octaves) for ratio in near))
    return _cheapest(options, sizes)


def _cheapest(options: Sequence[tuple[Fraction, ...]], sizes: Sequence[float]) -> tuple[Fraction, ...]:
    """One ratio for each note, so that all pairs together cost least; what costs more already is not gone on with."""
    least, best = math.inf, tuple[Fraction, ...]()

    def go_on(chosen: tuple[Fraction, ...], so_far: float) -> None:
        nonlocal least, best
        if so_far >= least:
            return
        place = len(chosen)
        if place == len(options):
            least, best = so_far, chosen
            return
        for ratio in options[place]:
            pairs_below = zip(chosen, sizes[:place], strict=True)
            more = sum(_pair_cost(ratio / low, round(sizes[place] - size, 6)) for low, size in pairs_below)
            go_on((*chosen, ratio), so_far + more)

    go_on((), 0.0)
    return best


@lru_cache(maxsize=65536)
def _pair_cost(ratio: Fraction, size: float) -> float:
    return complexity(ratio) + abs(size - cents(ratio)) / _CENTS_FOR_A_BIT


def pair_errors(steps: Sequence[int], ratios: Sequence[Fraction], tuning: Tuning) -> dict[tuple[int, int], float]:
    """The error of every pair of notes in a chord, in cents: tuning less ratio, by the places of the two notes.

    Raises ValueError if there are not as many ratios as steps.

    >>> from tunelib.pitch import equal
    >>> errors = pair_errors((0, 10, 18), ratio_chord((0, 10, 18), equal(31)), equal(31))
    >>> {pair: round(error, 2) for pair, error in errors.items()}
    {(0, 1): 0.78, (0, 2): -5.18, (1, 2): -5.96}
    """
    if len(steps) != len(ratios):
        raise ValueError(f"{len(steps)} steps need as many ratios, not {len(ratios)}")
    found = {}
    for (i, low), (j, high) in combinations(enumerate(steps), 2):
        size = float(tuning.cents_of(high)) - float(tuning.cents_of(low))
        found[i, j] = size - cents(ratios[j] / ratios[i])
    return found


def whole_numbers(ratios: Sequence[Fraction]) -> tuple[int, ...]:
    """The ratios of a chord as the smallest whole numbers in the same proportions: 4, 5, 6 for a major triad.

    >>> whole_numbers([Fraction(1), Fraction(6, 5), Fraction(3, 2)])
    (10, 12, 15)
    """
    scale = math.lcm(*(ratio.denominator for ratio in ratios))
    numbers = [int(ratio * scale) for ratio in ratios]
    common = math.gcd(*numbers)
    return tuple(number // common for number in numbers)
