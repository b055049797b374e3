"""Progressions between two chords through chords that no piano has, the best first; the search leaves none out.

A *way* leads each voice of one chord to its note of the next through one to three passing chords. What it costs is a
sum over its chords and over its moves, and over voices that turn back; so a bound on what the rest must cost at the
least is at hand (dynamic programming from the far end), and every way that might still be among the best is followed.

What the costs are worth beside each other is set here, once, in the points of `tunelib.harmony.candidates`. They are a
musician's judgement, not a law.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.leading import lead
from tunelib.harmony.meanings import degree_step
from tunelib.harmony.pair_roughness import chord_roughness
from tunelib.harmony.passing_chords import WORDS, Kinds, Placed, kinds_of, placed_within, semitone
from tunelib.harmony.plain_names import plainest_name
from tunelib.harmony.playable import of_thirty_one, playable_division
from tunelib.harmony.ratios import mean_complexity
from tunelib.harmony.voicings import telling_tones
from tunelib.harmony.way import Way, WayCost, reason
from tunelib.harmony.way_in_twelve import keys_of, taken_to_twelve
from tunelib.harmony.way_search import Field, Path
from tunelib.pitch import FloatArray, IntArray, Tuning, listed, shortened, spell_near, spellings, whole_number

LONGEST = 3  # passing chords
_MOST_VOICES = 4
_MIDDLE = 18  # steps of thirty-one above C4: about where the middle of a first chord is put
_WIDEST_MOVE = 8  # steps of thirty-one
_OCTAVES_AWAY = 5  # from C4 to a voice that is given, at the most

# What is worth how much, in points.
_PER_STEP = 1 / 8  # for each step of thirty-one that a voice moves
_PER_SQUARE = 1 / 25  # for its square: a whole tone at a time costs a point, five single steps a fifth of one
_TURN = 1.5  # for a voice that turns back
_PER_CENT_OFF = 1 / 6  # for the root mean square of the errors of a passing chord
_PER_BIT = 0.5  # for pairs of its notes that are more complex, on the mean, than those of the two chords
_ROUGHNESS = 4.0  # for as much again as the rougher of the two
_KNOWN = 0.5  # for a passing chord that a piano has
_PASSING = 0.3  # for each passing chord as such
_ROOT_FIFTH, _ROOT_STEP, _ROOT_THIRD, _ROOT_ELSEWHERE = 0.3, 0.4, 0.6, 1.2  # for a root that moves

_ALIKE = 2  # ways at the most that begin with the same passing chord, or end with it
_DECIMALS = 3  # of a point: ways that differ by less cost the same, and the lower voices come first
_MARGIN, _DEAREST = 1.0, 8.0  # above the least that any way can cost: looked at first, and at the most


def ways_between(
    first: Chord,
    last: Chord,
    tuning: Tuning,
    most: int = LONGEST,
    fewest: int = 1,
    count: int = 5,
    words: Sequence[str] | None = None,
    voicing: Iterable[int] | None = None,
    into: Iterable[int] | None = None,
) -> tuple[Way, ...]:
    """The best ways from one chord to another that no piano has.

    A way is one that *no piano has* if, with each of its notes put on the nearest key of twelve and the root of the
    first chord shared, one of these is lost: a passing chord, since it is of a kind that is not among those of twelve
    (it has a neutral, sub-, supermajor or harmonic degree); or a move, since both its notes are one key.

    Each voice holds or goes on towards its note; it turns back once at most, by no more than a semitone, and goes
    beyond its two notes by no more than that. Voices do not cross, no two of them rub, and no passing chord has a
    semitone on top. No chord comes twice.

    Parameters
    ----------
    first, last : Chord
        Of chords with more than four notes the four that say most are led; a bass is apart.
    tuning : Tuning
        An equal division, from 12 to 72 steps, whose notes have letters.
    most, fewest : int
        Passing chords, from 1 to 3.
    count : int
        How many ways are wanted, 1 to 50. Of those that share more than half of their passing chords only the best is
        given, and two at the most that begin with the same one, or end with it; of several names for the same notes
        that whose root comes most easily.
    words : sequence of str, optional
        What comes after the root in the symbols of chords that may be passed through; `TRIADS` and `SEVENTHS` of
        `tunelib.harmony.passing_chords` unless given.
    voicing, into : iterables of int, optional
        The steps of the voices in the first chord, and those in the last; C4 is 0. Unless given, the first chord is in
        close position, in the middle of the keyboard, whence the last is nearest.

    Returns the ways, the cheapest first; fewer than asked for, or none, where there are no more: in twelve there are
    none. Raises ValueError for what is not a chord, a number that is out of these bounds, voices that are not a chord's
    notes, or a tuning without letters.

    >>> from tunelib.pitch import equal
    >>> best, second = ways_between(Chord.parse("F"), Chord.parse("C"), equal(31), most=1, count=2)
    >>> best.symbols, best.moves.tolist(), best.in_twelve.words
    (('F', 'Fsub', 'C'), [[0, -3, 0], [-3, -2, 0]], 'In twelve Fsub is rounded to another chord.')
    >>> ways_between(Chord.parse("Cmaj7"), Chord.parse("Am7"), equal(12))
    ()
    """
    playable_division(tuning)
    for chord in (first, last):
        if not isinstance(chord, Chord):
            raise ValueError(f"a way leads from a Chord to a Chord, such as Chord.parse('Dm7'), not {shortened(chord)}")
    longest = whole_number(most, "the number of passing chords", 1, LONGEST)
    shortest = whole_number(fewest, "the fewest passing chords", 1, longest)
    wanted = whole_number(count, "the number of ways", 1, 50)
    start, end = _ends(first, last, tuning, voicing, into)
    vocabulary = _vocabulary(words) if words is not None else WORDS[len(start)]
    return _ways(first, last, tuning, shortest, longest, wanted, vocabulary, start, end)


@lru_cache(maxsize=256)
def _ways(
    first: Chord,
    last: Chord,
    tuning: Tuning,
    fewest: int,
    most: int,
    count: int,
    words: tuple[str, ...],
    start: tuple[int, ...],
    end: tuple[int, ...],
) -> tuple[Way, ...]:
    kinds = kinds_of(words, tuning)
    if kinds.steps.shape[1] != len(start):
        raise ValueError(
            f"the voices of {first} and {last} are {len(start)}, and chords such as C{words[0]} have "
            f"{kinds.steps.shape[1]} notes: give words for chords of {len(start)}"
        )
    ground = _Ground(first, last, tuning, kinds, start, end)
    lengths = range(fewest, most + 1)
    least = min(ground.field.least(length) for length in lengths)
    found: list[Way] = []
    margin = 0.0
    while len(found) < count and margin < _DEAREST and np.isfinite(least):
        margin += _MARGIN
        paths = [path for length in lengths for path in ground.field.paths(length, least + margin)]
        found = ground.different(paths, count)
    return tuple(replace(way, reason=reason(place, found)) for place, way in enumerate(found))


def _vocabulary(words: Sequence[str]) -> tuple[str, ...]:
    if isinstance(words, str) or not isinstance(words, Iterable) or not all(isinstance(word, str) for word in words):
        raise ValueError(f"words is a list of what follows a root, such as ['neu', 'harm7'], not {shortened(words)}")
    return tuple(words)


def _ends(
    first: Chord, last: Chord, tuning: Tuning, voicing: Iterable[int] | None, into: Iterable[int] | None
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The voices of the two chords, rising."""
    here, there = (_classes(chord, tuning) for chord in (first, last))
    if voicing is not None:
        start = _given(voicing, here, first, "voicing", tuning)
    if into is not None:
        end = _given(into, there, last, "into", tuning)
    if voicing is not None and into is not None:
        pairs = [(start, end)]
    else:
        count = len(start) if voicing is not None else len(end) if into is not None else max(len(here), len(there), 3)
        starts = [start] if voicing is not None else _close(here, count, tuning)
        pairs = [(one, end if into is not None else _nearest(one, there, tuning)) for one in starts]
    if len(pairs[0][0]) != len(pairs[0][1]) or len(pairs[0][0]) not in WORDS:
        raise ValueError(f"a way is led in {listed(WORDS, 'or')} voices, as many in the one chord as in the other")
    start, end = min(pairs, key=lambda pair: _awkward(pair[0], pair[1], tuning))
    farthest = max(abs(after - before) for before, after in zip(start, end, strict=True))
    if farthest + 2 * semitone(tuning) >= len(tuning):
        raise ValueError(
            f"a voice goes {farthest} steps from {first} to {last}: lay the chords out nearer to each other"
        )
    return start, end


def _classes(chord: Chord, tuning: Tuning) -> tuple[int, ...]:
    """The notes that are led, as steps within the octave, rising."""
    root = chord.root.within(tuning).step(tuning)
    told = telling_tones(chord, _MOST_VOICES)
    steps = (degree_step((interval.letters + 1, interval.offset), tuning) for interval in told)
    return tuple(sorted({(root + step) % len(tuning) for step in steps}))


def _given(steps: Iterable[int], classes: tuple[int, ...], chord: Chord, what: str, tuning: Tuning) -> tuple[int, ...]:
    if isinstance(steps, (str, bytes)) or not isinstance(steps, Iterable):
        raise ValueError(f"{what} is a list of steps, whole numbers such as (0, 10, 18), not {shortened(steps)}")
    farthest = _OCTAVES_AWAY * len(tuning)
    rising = tuple(sorted(whole_number(step, f"a step of {what}", -farthest, farthest) for step in steps))
    if {step % len(tuning) for step in rising} != set(classes):
        raise ValueError(f"{what} {rising} has not the notes of {chord}, which are at {classes} within the octave")
    return rising


def _close(classes: tuple[int, ...], count: int, tuning: Tuning) -> list[tuple[int, ...]]:
    """A chord in close position from each of its notes, in the two octaves around C4; the lowest doubled on top."""
    size = len(tuning)
    found = []
    for octave in (-1, 0):
        for place in range(len(classes)):
            turned = [*classes[place:], *(step + size for step in classes[:place])]
            doubled = [step + size for step in turned[: count - len(classes)]]
            found.append(tuple(step + size * octave for step in (*turned, *doubled)))
    return found


def _nearest(start: tuple[int, ...], classes: tuple[int, ...], tuning: Tuning) -> tuple[int, ...]:
    return tuple(sorted(lead(start, [classes], tuning).voices[1]))


def _awkward(start: tuple[int, ...], end: tuple[int, ...], tuning: Tuning) -> tuple[bool, int, float]:
    """How far two placed chords are from what is wanted: no semitone on top, little motion, in the middle."""
    crowded = min(start[-1] - start[-2], end[-1] - end[-2]) <= semitone(tuning)
    middle = (sum(start) / len(start)) * of_thirty_one(tuning) - _MIDDLE
    return crowded, sum(abs(after - before) for before, after in zip(start, end, strict=True)), abs(middle)


class _Ground:
    """What a search for ways between two placed chords goes over, and how its paths become ways."""

    def __init__(
        self, first: Chord, last: Chord, tuning: Tuning, kinds: Kinds, start: tuple[int, ...], end: tuple[int, ...]
    ) -> None:
        self._first, self._last, self._tuning, self._kinds = first, last, tuning, kinds
        self._start, self._end = start, end
        aside = semitone(tuning)
        low = [min(pair) - aside for pair in zip(start, end, strict=True)]
        high = [max(pair) + aside for pair in zip(start, end, strict=True)]
        placed = placed_within(kinds, low, high, tuning)
        ends = {self._classes_of(start), self._classes_of(end)}
        other = [self._classes_of(steps) not in ends for steps in placed.steps.tolist()]
        self._placed = Placed(placed.steps[other], placed.kinds[other], placed.roots[other])
        steps = np.concatenate([self._placed.steps, [start, end]])
        roots = np.concatenate(
            [self._placed.roots, [chord.root.within(tuning).step(tuning) % len(tuning) for chord in (first, last)]]
        )
        self._alone = self._costs_alone(steps)
        self._moves, self._roots = _moving(steps, tuning), _between_roots(roots, tuning)
        self.field = Field(steps, self._alone.sum(axis=0), self._moves + self._roots, _PASSING, _TURN, aside)

    def _classes_of(self, steps: Sequence[int]) -> frozenset[int]:
        return frozenset(step % len(self._tuning) for step in steps)

    def _costs_alone(self, steps: IntArray) -> FloatArray:
        """What each chord costs, passed through alone: for ratios, roughness and kind; shape (3, chords)."""
        rough = chord_roughness(steps, self._tuning)
        beyond = np.maximum(rough[:-2] / rough[-2:].max() - 1, 0)
        pure = self._kinds.purity[self._placed.kinds]
        plain = np.mean([mean_complexity(chord.ratios(self._tuning)) for chord in (self._first, self._last)])
        more = np.maximum(self._kinds.bits[self._placed.kinds] - plain, 0)
        known = np.where(self._kinds.new[self._placed.kinds], 0.0, _KNOWN)
        return np.stack([_PER_CENT_OFF * pure + _PER_BIT * more, _ROUGHNESS * beyond, known])

    def different(self, paths: Iterable[Path], count: int) -> list[Way]:
        """The cheapest of some paths that are ways no piano has and unlike cheaper ones."""
        rows = [tuple(row) for row in self.field.steps.tolist()]
        ordered = sorted(paths, key=lambda path: (round(path[0], _DECIMALS), [rows[place] for place in path[1]]))
        root = self._first.root.within(self._tuning).step(self._tuning)
        keys = keys_of(self.field.steps, root, self._tuning)
        chosen: list[tuple[int, ...]] = []
        passed: list[tuple[frozenset[int], ...]] = []
        for _, places in ordered:
            whole = [-2, *places, -1]
            moved, heard = np.diff(self.field.steps[whole], axis=0), np.diff(keys[whole], axis=0)
            if self._kinds.new[self._placed.kinds[list(places)]].any() or (moved.astype(bool) & (heard == 0)).any():
                through = tuple(self._classes_of(self._placed.steps[place].tolist()) for place in places)
                if len(set(through)) == len(through) and _unlike(through, passed):
                    chosen.append(places)
                    passed.append(through)
                    if len(chosen) == count:
                        break
        return [self._way(places) for places in chosen]

    def _way(self, places: tuple[int, ...]) -> Way:
        inner = [self._chord(place) for place in places]
        chords = (self._first, *inner, self._last)
        whole = [len(self.field.steps) - 2, *places, len(self.field.steps) - 1]
        voices = tuple(tuple(row) for row in self.field.steps[whole].tolist())
        alone = self._alone[:, list(places)].mean(axis=1)
        cost = WayCost(
            moves=float(sum(self._moves[pair] for pair in pairwise(whole))),
            turns=_TURN * turns_back(np.diff(np.array(voices), axis=0)),
            ratios=float(alone[0]),
            roughness=float(alone[1]),
            known=float(alone[2]),
            roots=float(sum(self._roots[pair] for pair in pairwise(whole))),
            length=_PASSING * len(places),
        )
        return Way(chords, voices, self._tuning, cost, taken_to_twelve(chords, voices, self._tuning))

    def _chord(self, place: int) -> Chord:
        """A passing chord, its root spelled as an end has it or else as plainly as can be."""
        kind, root = self._kinds.chords[int(self._placed.kinds[place])], int(self._placed.roots[place])
        for end in (self._first, self._last):
            if end.root.within(self._tuning).step(self._tuning) % len(self._tuning) == root:
                return kind.on(end.root)
        names = spellings(root, self._tuning) or (spell_near(root, self._tuning),)
        return plainest_name(kind.on(names[0]), self._tuning)


def _unlike(through: tuple[frozenset[int], ...], others: Sequence[tuple[frozenset[int], ...]]) -> bool:
    """Whether the chords of a way are others than those of better ones; as `ways_between` tells it."""
    if any(2 * len(set(through) & set(other)) > min(len(through), len(other)) for other in others):
        return False
    return all(sum(other[place] == through[place] for other in others) < _ALIKE for place in (0, -1))


def _moving(steps: IntArray, tuning: Tuning) -> npt.NDArray[np.float32]:
    """What the moves from each place to each cost; infinite for none, or for one that is too wide."""
    unit = of_thirty_one(tuning)
    size = unit * np.arange(int(np.ptp(steps, axis=0).max()) + 1)
    table = (_PER_STEP * size + _PER_SQUARE * size**2).astype(np.float32)
    table[size > _WIDEST_MOVE] = np.inf
    costs = np.zeros((len(steps), len(steps)), dtype=np.float32)
    for voice in (steps - steps.min(axis=0)).T:
        costs += _each_to_each(table[np.abs(np.subtract.outer(range(voice.max() + 1), range(voice.max() + 1)))], voice)
    costs[costs == 0] = np.inf
    return costs


def _between_roots(roots: IntArray, tuning: Tuning) -> npt.NDArray[np.float32]:
    """What it costs to go from each root to each."""
    size = len(tuning)
    by_interval = np.full(size, _ROOT_ELSEWHERE, dtype=np.float32)
    whole_tone, fifth = degree_step((2, 0), tuning), degree_step((5, 0), tuning)
    thirds = [degree_step((3, -2), tuning), degree_step((3, 0), tuning)]
    for steps, cost in ((range(1, whole_tone + 1), _ROOT_STEP), (thirds, _ROOT_THIRD), ([fifth], _ROOT_FIFTH)):
        for step in steps:
            by_interval[[step, -step]] = cost
    by_interval[0] = 0.0
    return _each_to_each(by_interval[np.subtract.outer(range(size), range(size)) % size], roots)


def _each_to_each(table: npt.NDArray[np.float32], places: IntArray) -> npt.NDArray[np.float32]:
    """A table of few things for many: from each of them to each; whole rows at a time, which is quick."""
    return np.asarray(table[:, places][places], dtype=np.float32)


def turns_back(moves: IntArray) -> int:
    """How often voices turn back, given how far each moves at each change; shape (changes, voices)."""
    count = 0
    for voice in moves.T.tolist():
        going = [move for move in voice if move]
        count += sum(before * after < 0 for before, after in pairwise(going))
    return count
