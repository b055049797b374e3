"""What a chord may become: its degrees in neighbouring families, in the order in which a jazz musician would try them.

First the seventh of a dominant goes to the harmonic one, which every brass player knows; then a sharp eleventh to the
eleventh harmonic; then minor thirds and their sevenths, and major thirds; last all the others. `ORDER` says so, once,
and what comes later in it comes only on top of what comes before. What the writer asked for in the words of thirty-one
stays (Fneu, Cwide7), and a thirteenth chord keeps its third.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise
from typing import NamedTuple, TypeAlias

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step, interval_of, same_step
from tunelib.harmony.playable import widest_rub
from tunelib.harmony.ratios import mean_complexity
from tunelib.harmony.symbols import Degree
from tunelib.pitch import SpelledInterval, Tuning

MOST_MOVED = 2  # degrees of one chord that may leave their families

Moves: TypeAlias = "frozenset[tuple[Degree, int]]"
"""Degrees that leave their families, each with the half-sharps that it has then."""


class Turn(NamedTuple):
    """One kind of change: of which degrees to which half-sharps, from which adventure on, and its price beside others.

    `of_dominants` is True for one that only chords with a major third or none know, False for one of the others.
    """

    adventure: float
    price: float
    degrees: tuple[tuple[Degree, tuple[int, ...]], ...]
    of_dominants: bool | None = None


ORDER = (
    Turn(0.1, 0.1, (((7, -2), (-3,)),), of_dominants=True),
    Turn(0.4, 1.0, (((11, 2), (1,)),)),
    Turn(0.6, 1.0, (((3, -2), (-3, -1)), ((3, 0), (1, -1)))),
    Turn(0.6, 1.0, (((7, -2), (-3,)),), of_dominants=False),
    Turn(0.8, 1.5, (((7, -2), (-1,)),), of_dominants=False),
    Turn(0.8, 1.5, (((7, 0), (1, -1)), ((5, -2), (-3,)), ((13, 0), (-1,)), ((13, -2), (-1,)))),
)  # fmt: skip


@dataclass(frozen=True)
class Variant:
    """A chord with some of its degrees in other families.

    Parameters
    ----------
    chord : Chord
    moves : frozenset
        The degrees that left, as `Moves` has them.
    adventure : float
        From which on the taste for it begins.
    price : float
        What leaving costs, in units of one plain change.
    steps_up : int
        Steps of the tuning by which the degrees went up, all together.
    purity : float
        Root mean square of the errors of its pairs, in cents.
    bits : float
        How complex its pairs are, on the mean.
    """

    chord: Chord
    moves: Moves
    adventure: float
    price: float
    steps_up: int
    purity: float
    bits: float


@lru_cache(maxsize=4096)
def variants(chord: Chord, tuning: Tuning) -> tuple[Variant, ...]:
    """A chord as it is, first, and with one or two of its degrees in families that the tuning tells apart.

    What is in the bass stays.

    >>> from tunelib.pitch import equal
    >>> [variant.chord.symbol for variant in variants(Chord.parse("C7"), equal(31))][:3]
    ['C7', 'Charm7', 'Csupharm7']
    """
    single = list(_single(chord, tuning))
    chosen: list[tuple[tuple[Degree, int, Turn], ...]] = [(), *((one,) for one in single)]
    for count in range(2, MOST_MOVED + 1):
        chosen += [several for several in combinations(single, count) if len({one[0] for one in several}) == count]
    found = []
    for several in chosen:
        moves = frozenset((degree, offset) for degree, offset, _ in several)
        if len({_moved_degree(degree, moves) for degree in chord.degrees}) < len(chord.degrees):
            continue  # one has moved onto another
        changed = moved(chord, moves)
        adventure = max((turn.adventure for _, _, turn in several), default=0.0)
        skipped = {degree for degree, _, turn in single if turn.adventure < adventure} - {one[0] for one in several}
        if not skipped and (not moves or not _rubs_within(changed, tuning)):
            found.append(_weighed(changed, chord, moves, adventure, sum(turn.price for _, _, turn in several), tuning))
    return tuple(sorted(found, key=lambda variant: len(variant.moves)))


def _rubs_within(chord: Chord, tuning: Tuning) -> bool:
    """Whether two degrees of a chord are one step, or so near that they rub, octaves set aside."""
    size, widest = len(tuning), widest_rub(tuning)
    steps = sorted(step % size for step in chord.steps(tuning))
    return any(
        (after - before) % size <= widest for before, after in pairwise([*steps, steps[0] + size]) if len(steps) > 1
    )


def as_chosen(tuned: Chord, meant: Chord, tuning: Tuning) -> Variant:
    """A chord that a player has chosen for another, whatever it is: at no price."""
    return _weighed(tuned, meant, frozenset({((0, 0), 0)}), 0.0, 0.0, tuning)


def moved(chord: Chord, moves: Moves) -> Chord:
    """A chord with the moves made; those of degrees that it does not have are left out."""
    to = dict(moves)
    intervals = tuple(
        SpelledInterval(interval.letters, interval.quartertones + to.get(degree, degree[1]) - degree[1])
        for interval, degree in ((interval, (interval.letters + 1, interval.offset)) for interval in chord.intervals)
    )
    return Chord(chord.root, intervals, chord.bass)


def _moved_degree(degree: Degree, moves: Moves) -> Degree:
    """A degree where the moves take it."""
    return degree[0], dict(moves).get(degree, degree[1])


def _single(chord: Chord, tuning: Tuning) -> Iterator[tuple[Degree, int, Turn]]:
    """Each degree that may leave, and where it may go."""
    dominant = not any(number == 3 and offset < 0 for number, offset in chord.degrees)
    thirteenth = any(number == 13 for number, _ in chord.degrees)
    for turn in ORDER:
        if turn.of_dominants in (None, dominant):
            for degree, offsets in turn.degrees:
                in_the_bass = (
                    chord.bass is not None and chord.root.transpose(interval_of(degree)).name == chord.bass.name
                )
                if degree in chord.degrees and not in_the_bass and not (thirteenth and degree[0] == 3):
                    yield from ((degree, offset, turn) for offset in offsets if _told_apart(degree, offset, tuning))


def _told_apart(degree: Degree, offset: int, tuning: Tuning) -> bool:
    """Whether a degree and its neighbour are two steps, and the neighbour none of the plain ones."""
    other = degree[0], offset
    return same_step(other, tuning) is None and degree_step(other, tuning) != degree_step(degree, tuning)


def _weighed(chord: Chord, meant: Chord, moves: Moves, adventure: float, price: float, tuning: Tuning) -> Variant:
    up = sum(chord.steps(tuning)) - sum(meant.steps(tuning))
    bits = mean_complexity(chord.ratios(tuning))
    return Variant(chord, moves, adventure, price, up, chord.purity(tuning), bits)
