"""What the degrees of a chord stand for: a ratio each, and in a tuning the step that is heard as it.

A symbol says ratios. The third of a C is 5/4, that of a Cm 6/5, of a Cneu 11/9; a harmonic seventh is 7/4. In a tuning
each is played by the nearest step, never by the one that it happens to be in another tuning. Letters have the last word
in two cases, as players expect (common practice):

* in a meantone, where four fifths up are the step of 5/4, the fifths make the thirds. So all that sharps and flats
  spell is where it is spelled: the B flat of a C7 is that of a Gm, in 55 steps too, though another step is nearer
  to 9/5 there;
* where no step is near enough to be heard as the ratio, as in 17 steps, which have no 5/4: C to E is then the third
  that they do have between these letters, if it is one of the two steps around the ratio.

Two degrees may fall on one step: 12 steps have no neutral third, and in 19 it is the major one. `families` says which
a tuning tells apart.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from tunelib.harmony.symbols import Degree
from tunelib.pitch import NATURAL_QUARTERTONES, SpelledInterval, Tuning, cents

_LOWEST_OFFSET = {1: 0, 2: -4, 3: -3, 4: -4, 5: -4, 6: -4, 7: -4}
_TABLE = {  # by the number of the degree: a ratio for each half-sharp, from the lowest offset up
    1: "1/1",
    2: "128/125 28/27 16/15 12/11 9/8 8/7 7/6 6/5 11/9",
    3: "7/6 6/5 11/9 5/4 9/7",
    4: "11/9 5/4 9/7 21/16 4/3 11/8 7/5 10/7 16/11",
    5: "11/8 7/5 10/7 16/11 3/2 32/21 25/16 8/5 18/11",
    6: "32/21 14/9 8/5 18/11 5/3 12/7 7/4 9/5 11/6",
    7: "12/7 7/4 9/5 11/6 15/8 27/14",
}
RATIOS: dict[Degree, Fraction] = {
    (number, _LOWEST_OFFSET[number] + place): Fraction(text)
    for number, row in _TABLE.items()
    for place, text in enumerate(row.split())
}
"""What the degrees within an octave stand for; a ninth is a second and an octave, and so on."""

HEARD_AS = 20.0
"""Cents: a step farther from a ratio than this is not heard as it."""

_HALF_SHARP = Fraction(45, 44)  # 38.9 cents: what widens a degree that is out of the table, for each half-sharp

FAMILIES = {-3: "sub", -2: "minor", -1: "neutral", 0: "major", 1: "super"}
"""The families of thirds, sixths and sevenths, by the half-sharps from the major one."""


@lru_cache(maxsize=1024)
def interval_of(degree: Degree) -> SpelledInterval:
    """A degree as a spelled interval above the root.

    >>> interval_of((9, -2)).name
    'minor ninth'
    """
    octaves, letter = divmod(degree[0] - 1, 7)
    return SpelledInterval(degree[0] - 1, 24 * octaves + NATURAL_QUARTERTONES[letter] + degree[1])


def ratio_of(degree: Degree) -> Fraction:
    """The ratio that a degree stands for. Beyond the table, each half-sharp is 45/44.

    >>> str(ratio_of((3, 0))), str(ratio_of((7, -3))), str(ratio_of((9, 0)))
    ('5/4', '7/4', '9/4')
    """
    number, offset = degree
    octaves, letter = divmod(number - 1, 7)
    lowest = _LOWEST_OFFSET[letter + 1]
    known = min(max(offset, lowest), lowest + len(_TABLE[letter + 1].split()) - 1)
    ratio = RATIOS[letter + 1, known]
    for _ in range(abs(offset - known)):
        ratio = ratio * _HALF_SHARP if offset > known else ratio / _HALF_SHARP
    return ratio * (1 << octaves)


@lru_cache(maxsize=16384)
def degree_step(degree: Degree, tuning: Tuning) -> int:
    """How many steps above the root a degree is in a tuning of the octave.

    Raises ValueError where notes have no letters.

    >>> from tunelib.pitch import equal
    >>> [degree_step((3, 0), equal(steps)) for steps in (12, 19, 31, 41, 53)]
    [4, 6, 10, 13, 17]
    """
    if tuning.fifth is None:
        raise ValueError(f"the notes of {tuning.name} have no letters; ask for a step by number")
    spelled = interval_of(degree).step(tuning) if degree[1] % 2 == 0 or tuning.half_sharp is not None else None
    if spelled is not None and degree[1] % 2 == 0 and is_meantone(tuning):
        return spelled
    size = cents(ratio_of(degree))
    nearest, error = tuning.nearest(size)
    if spelled is not None and abs(error) > HEARD_AS and spelled in (nearest - 1, nearest + 1):
        around = sorted((float(tuning.cents_of(nearest)), float(tuning.cents_of(spelled))))
        if around[0] < size < around[1]:
            return spelled
    return int(nearest)


@lru_cache(maxsize=256)
def is_meantone(tuning: Tuning) -> bool:
    """Whether four fifths up and two octaves down are the step nearest to 5/4: then the comma 81/80 vanishes.

    >>> from tunelib.pitch import equal
    >>> [steps for steps in (12, 19, 22, 31, 41, 53, 55) if is_meantone(equal(steps))]
    [12, 19, 31, 55]
    """
    if tuning.fifth is None:
        return False
    return bool(4 * tuning.fifth - 2 * len(tuning) == tuning.nearest(cents("5/4"))[0])


def same_step(degree: Degree, tuning: Tuning) -> Degree | None:
    """The plainer degree of the same number that a tuning plays on the same step; None if it tells them apart.

    A degree altered by half a sharp gives way to one without halves, at most a sharp or flat away from the plain note.

    >>> from tunelib.pitch import equal
    >>> same_step((3, -1), equal(12)), same_step((3, -1), equal(19)), same_step((3, -1), equal(31))
    ((3, -2), (3, 0), None)
    """
    number, offset = degree
    if offset % 2 == 0:
        return None
    step = degree_step(degree, tuning)
    plain = ((number, other) for other in (0, -2, 2))
    return next((other for other in plain if other in _plain(number) and degree_step(other, tuning) == step), None)


def _plain(number: int) -> tuple[Degree, ...]:
    """The degrees of a number that are written without halves and with one sign at most."""
    offsets = (-2, 0) if (number - 1) % 7 in (2, 6) else (-2, 0, 2)  # no third or seventh is augmented
    return tuple((number, offset) for offset in offsets)


def families(number: int, tuning: Tuning) -> dict[str, int]:
    """The families of the thirds of a tuning, or of its sixths, sevenths and other imperfect degrees: steps by name.

    Two on one step are not told apart. Raises ValueError for the number of a degree that has no families.

    >>> from tunelib.pitch import equal
    >>> families(3, equal(31))
    {'sub': 7, 'minor': 8, 'neutral': 9, 'major': 10, 'super': 11}
    >>> families(3, equal(12))
    {'sub': 3, 'minor': 3, 'neutral': 3, 'major': 4, 'super': 4}
    """
    if (number - 1) % 7 in (0, 3, 4):
        raise ValueError(f"seconds, thirds, sixths and sevenths have families, and {number} is none of them")
    return {word: degree_step((number, offset), tuning) for offset, word in FAMILIES.items()}


def diesis(tuning: Tuning) -> int:
    """Steps by which three major thirds miss the octave, up or down: 1 in thirty-one, 0 where they close it.

    >>> from tunelib.pitch import equal
    >>> [diesis(equal(steps)) for steps in (12, 19, 31, 50)]
    [0, 1, 1, 2]
    """
    return abs(len(tuning) - 3 * degree_step((3, 0), tuning))


def comma(tuning: Tuning) -> int:
    """Steps by which four fifths, two octaves down, miss the major third: 0 in a meantone, 1 in 41 and in 53.

    >>> from tunelib.pitch import equal
    >>> [comma(equal(steps)) for steps in (12, 31, 41, 53)]
    [0, 0, 1, 1]
    """
    if tuning.fifth is None:
        raise ValueError(f"the notes of {tuning.name} have no letters; ask for a step by number")
    return abs(4 * tuning.fifth - 2 * len(tuning) - degree_step((3, 0), tuning))
