"""Which degree of a chord each of its notes is: thirds, fifths and sevenths first, and the plainest way of saying it.

Seven steps of thirty-one above a root may be a subminor third or an augmented second, twenty-five a harmonic seventh or
an augmented sixth; a second beside a third is a ninth. So the same notes over the same root can be several chords. All
of them are found here, each with a number for how far it is from a plain one. How much each thing weighs is a
musician's judgement (common practice of jazz), set here once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from tunelib.harmony.meanings import degree_step, interval_of, same_step
from tunelib.harmony.symbols import ALTERED, Degree, has_word
from tunelib.pitch import Tuning, is_whole

_LOW_FIFTH = (5, -3)  # simplest of the names that are not simple: 7/5 in thirty-one


def degree_choices(step: int, tuning: Tuning) -> tuple[Degree, ...]:
    """What a note some steps above a root can be within the octave: numbers 2 to 7, the plainest first.

    Of two degrees that the tuning does not tell apart, the plainer alone. Raises ValueError for a tuning whose notes
    have no letters.

    >>> from tunelib.pitch import equal
    >>> degree_choices(25, equal(31)), degree_choices(13, equal(41))
    (((7, -3), (6, 2)), ((3, 0),))
    """
    return _choices(tuning).get(step % len(tuning), ())


@lru_cache(maxsize=64)
def _choices(tuning: Tuning) -> dict[int, tuple[Degree, ...]]:
    """For each step within the octave what it can be above a root."""
    found: dict[int, list[Degree]] = {}
    simple = [(number, offset) for number in range(2, 8) for offset in range(-2 if number in (4, 5) else -4, 3)]
    for degree in sorted(simple, key=lambda degree: interval_of(degree).plainness):
        if usable(degree) and same_step(degree, tuning) is None:
            found.setdefault(degree_step(degree, tuning), []).append(degree)
    low = found.setdefault(degree_step(_LOW_FIFTH, tuning), [])
    if not any(number == 5 for number, _ in low):
        low.append(_LOW_FIFTH)
    return {step: tuple(degrees) for step, degrees in found.items() if 0 < step < len(tuning)}


def usable(degree: Degree) -> bool:
    """Whether a degree is one of 2 to 7 that a symbol has a word for."""
    return degree[0] <= 7 and has_word(degree)


def degree_sets(choices: Sequence[Iterable[Degree]]) -> Iterator[frozenset[Degree]]:
    """Every chord that notes make, each with its choices of degrees from 2 to 7: one third and one seventh at most.

    Seconds and fourths become ninths and elevenths beside a third, and so do sixths beside a seventh.
    """
    for picked in _picked([tuple(options) for options in choices], ()):
        numbers = {number for number, _ in picked}
        suspended = None if 3 in numbers else _suspension(picked)
        yield frozenset({(1, 0)} | {_raised(degree, suspended, 7 in numbers) for degree in picked})


def _picked(choices: list[tuple[Degree, ...]], picked: tuple[Degree, ...]) -> Iterator[tuple[Degree, ...]]:
    if len(picked) == len(choices):
        yield picked
        return
    for degree in choices[len(picked)]:
        if degree[0] not in (3, 7) or all(degree[0] != number for number, _ in picked):
            yield from _picked(choices, (*picked, degree))


def _suspension(picked: tuple[Degree, ...]) -> Degree | None:
    """The second or fourth that stands for the third: the least altered, a fourth rather than a second."""
    return min(
        (degree for degree in picked if degree[0] in (2, 4)),
        key=lambda one: (abs(one[1]), -one[0], one[1]),
        default=None,
    )


def _raised(degree: Degree, suspended: Degree | None, with_seventh: bool) -> Degree:
    number, offset = degree
    if (number in (2, 4) and degree != suspended) or (number == 6 and with_seventh):
        return number + 7, offset
    return degree


def strangeness(degrees: frozenset[Degree]) -> float:
    """How far a chord is from a plain one: 0 for a major or minor triad, or one with its usual seventh.

    >>> strangeness(frozenset({(1, 0), (3, 0), (5, 0)})), strangeness(frozenset({(1, 0), (3, -1), (7, -2)}))
    (0.0, 2.5)
    """
    if degrees == ALTERED:
        return 2.5
    offsets = {number: [offset for n, offset in degrees if n == number] for number, _ in degrees}
    third = offsets.get(3, [None])[0]
    seventh = offsets.get(7, [None])[0]
    total = _third(third, offsets) + _fifth(third, offsets.get(5, [])) + _seventh(seventh, third, offsets)
    for number, offset in degrees:
        if number in (6, 9, 11, 13):
            total += _addition(number, offset, third, seventh, offsets)
    return total


def _third(third: int | None, offsets: dict[int, list[int]]) -> float:
    if third is not None:
        return {0: 0.0, -2: 0.0, -3: 1.0, -1: 1.0, 1: 1.0}.get(third, 3.5)  # of no family, rarer than a suspension
    suspended = [abs(offset) for number in (2, 4) for offset in offsets.get(number, [])]
    if suspended:
        return 1.0 if suspended == [0] else 3.0
    return 0.5 if set(offsets) == {1, 5} else 2.5


def _fifth(third: int | None, fifths: list[int]) -> float:
    if not fifths:
        return 1.5
    ordinary = {0: 0.0, -2: 0.3 if third in (-2, -3) else 1.2, 2: 0.7 if third == 0 else 1.5}
    return sum(ordinary.get(offset, 1.6) for offset in fifths) + 2.0 * (len(fifths) - 1)


def _seventh(seventh: int | None, third: int | None, offsets: dict[int, list[int]]) -> float:
    if seventh == -4:
        return 0.3 if third == -2 and offsets.get(5) == [-2] else 2.5
    return {None: 0.0, -2: 0.0, 0: 0.1, -3: 0.5}.get(seventh, 1.0)


def _addition(number: int, offset: int, third: int | None, seventh: int | None, offsets: dict[int, list[int]]) -> float:
    if number == 6:
        return 0.5 if not offset and seventh is None and 0 in offsets.get(5, []) else 2.0
    if offset:
        usual = (number, offset) in ((9, -2), (9, 2), (11, 2), (13, -2)) and seventh is not None
        return 0.8 if usual and (third == 0 or number == 11) else 1.6 if abs(offset) <= 2 else 2.4
    stacked = number == 9 or 9 in offsets
    rubs = number == 11 and third is not None and third >= 0  # a minor ninth above the third
    return (0.3 if seventh is not None or 6 in offsets else 0.9) + 0.6 * (not stacked) + 0.8 * rubs


def plainest(steps: Iterable[int], tuning: Tuning) -> frozenset[Degree]:
    """The plainest chord of some steps above a root, octaves set aside.

    Raises ValueError if one is not a degree of a chord, if they make no chord that a symbol can say, or as
    `degree_choices` does.

    >>> from tunelib.pitch import equal
    >>> sorted(plainest([0, 8, 16, 24], equal(31)))
    [(1, 0), (3, -2), (5, -2), (7, -4)]
    """
    above = [_whole(step) for step in steps]
    within = sorted({step % len(tuning) for step in above} - {0})
    choices = [degree_choices(step, tuning) for step in within]
    for step, options in zip(within, choices, strict=True):
        if not options:
            raise ValueError(f"a note {step} steps of {tuning.name} above the root is not a degree of a chord")
    found = min(degree_sets(choices), key=lambda degrees: (strangeness(degrees), sorted(degrees)), default=None)
    if found is None:
        raise ValueError(f"no symbol can say a chord of {', '.join(map(str, above))} steps of {tuning.name}")
    return found


def _whole(step: int) -> int:
    if not is_whole(step) or step < 0:
        raise ValueError(f"the notes of a chord are whole numbers of steps above its root, 0 or more, not {step!r}")
    return int(step)
