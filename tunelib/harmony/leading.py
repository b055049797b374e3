"""Voice leading: from one chord to the next with the least motion in all, and chains in which every step is small.

A voice leading sends each voice of a chord to a note of the next, so that every note of the next is sung. How far the
voices go, added up in steps, is its size. The smallest one is found exactly, by two facts about distances in a circle
of octaves. Holding a common tone never makes the sum larger: if x went to y, and z came to x, then z may go to y
instead, no farther than by way of x. And undoing a crossing of voices never makes it larger (D. Tymoczko, "The geometry
of musical chords", *Science* 313, 2006): so the voices that do move keep their order round the circle, and of n voices
there are only n ways to do that, not n factorial.

Where a chord has fewer notes than there are voices, some are doubled. Which ones also bears on the chords that follow,
so over a progression all doublings are weighed against each other, chord by chord (dynamic programming).
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, count
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    IntArray,
    Note,
    Tuning,
    is_whole,
    shortened,
    signed,
    spell_near,
    spellings,
    whole_number,
)

ChordLike: TypeAlias = "Chord | Iterable[int]"
"""A chord by its letters, or by steps of the tuning, octaves set aside."""

_Cost: TypeAlias = tuple[int, int, int]  # steps in all, tones not held, squares of the steps: to be added up
_Places: TypeAlias = tuple[int, ...]  # steps within the octave, rising, doubled notes among them
_Way: TypeAlias = tuple[_Cost, tuple[tuple[int, ...], ...]]  # what it costs to get somewhere, and the moves on the way


@dataclass(frozen=True)
class Leading:
    """How voices go through a progression.

    Parameters
    ----------
    voices : tuple of tuples of int
        For each chord the step of each voice, C4 being 0; the voices always in the same order.
    tuning : Tuning
    """

    voices: tuple[tuple[int, ...], ...]
    tuning: Tuning

    @property
    def motion(self) -> IntArray:
        """Steps by which each voice moves into each chord after the first; shape (chords - 1, voices)."""
        steps = np.array(self.voices, dtype=np.int64)
        return steps[1:] - steps[:-1]

    @property
    def total(self) -> int:
        """All motion added up, up and down alike, in steps."""
        return int(np.abs(self.motion).sum())

    @property
    def largest(self) -> int:
        """The largest move of any voice, in steps; 0 if there is only one chord."""
        return int(np.abs(self.motion).max(initial=0))

    def notes(self, chords: Sequence[Chord] | None = None) -> tuple[tuple[Note, ...], ...]:
        """The voices as notes, spelled as `chords` (the first among them) spell them, or as plainly as possible.

        Raises ValueError unless there are as many chords as here.
        """
        if chords is None:
            return tuple(tuple(spell_near(step, self.tuning) for step in steps) for steps in self.voices)
        if len(chords) != len(self.voices):
            raise ValueError(f"{len(self.voices)} chords are led through, so give as many to spell, not {len(chords)}")
        return tuple(self._spelled(steps, chord) for steps, chord in zip(self.voices, chords, strict=True))

    def _spelled(self, steps: tuple[int, ...], chord: Chord) -> tuple[Note, ...]:
        size = len(self.tuning)
        letters = {note.step(self.tuning) % size: note for note in chord.notes_in(self.tuning)}
        found = []
        for step in steps:
            note = letters.get(step % size)
            if note is None:
                raise ValueError(f"{chord} has no note at step {step} of {self.tuning.name}")
            found.append(note.at_step(step, self.tuning))
        return tuple(found)

    def report(self, chords: Sequence[Chord] | None = None) -> tuple[str, ...]:
        """One line for each voice, from the first: its notes, and the steps by which it moves between them.

        `chords` and errors are those of `notes`.

        >>> from tunelib.pitch import equal
        >>> dominant, tonic = Chord.parse("Gharm7"), Chord.parse("Cmaj7")
        >>> print(*lead((18, 28, 36, 43), [tonic], equal(31)).report([dominant, tonic]), sep="\\n")
        G4 held G4
        B4 held B4
        D5 −5 C5
        F½♭5 −2 E5
        """
        lines = []
        for names, moves in zip(zip(*self.notes(chords), strict=True), self.motion.T.tolist(), strict=True):
            words = [str(names[0])]
            for move, name in zip(moves, names[1:], strict=True):
                words += ["held" if move == 0 else signed(move), str(name)]
            lines.append(" ".join(words))
        return tuple(lines)


def lead(voicing: Iterable[int], chords: Iterable[ChordLike], tuning: Tuning) -> Leading:
    """Lead voices from a first chord through others, with the least motion in all; as many tones held as possible.

    The sum over the whole progression is the smallest possible, each voice free to go to any note of the next chord in
    any octave, and every note of it sung. Among equally small ways it takes the one that holds more tones, and among
    these the one with more even moves.

    Parameters
    ----------
    voicing : iterable of int
        The step of each voice in the first chord, C4 being 0.
    chords : iterable of Chord, or of iterables of int
        Those that follow. A chord's bass, where it is another note than its root, is not among its notes.
    tuning : Tuning
        Of the octave, in equal steps.

    Raises ValueError for no voices, a step that is not a whole number, a chord without notes or with more notes than
    there are voices, or a tuning that is not equal steps of the octave.

    >>> from tunelib.pitch import equal
    >>> leading = lead((0, 10, 18, 25), [Chord.parse("Fmaj7")], equal(31))
    >>> leading.voices[1], leading.motion.tolist(), leading.total
    ((0, 10, 13, 23), [[0, 0, -5, -2]], 7)
    """
    size = _equal_size(tuning)
    start = _whole_steps(voicing, "a voicing")
    states: dict[_Places, _Way] = {tuple(sorted(step % size for step in start)): ((0, 0, 0), ())}
    if isinstance(chords, Chord) or not isinstance(chords, Iterable):
        raise ValueError(
            f"voices are led through a list of chords, such as [Chord.parse('C')], not {shortened(chords)}"
        )
    for chord in chords:
        reached: dict[_Places, _Way] = {}
        for target in _doublings(_classes(chord, tuning), len(start)):
            ways = []
            for source, (spent, before) in states.items():
                cost, moves = _smallest(source, target, size)
                ways.append((_added(spent, cost), (*before, moves)))
            reached[target] = min(ways)
        states = reached
    _, moves_of_chords = min(states.values())
    found = [start]
    for moves in moves_of_chords:
        here = list(found[-1])
        by_class = sorted(range(len(here)), key=lambda voice: (here[voice] % size, here[voice]))
        for voice, move in zip(by_class, moves, strict=True):
            here[voice] += move
        found.append(tuple(here))
    return Leading(tuple(found), tuning)


def _added(one: _Cost, other: _Cost) -> _Cost:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


@lru_cache(maxsize=65536)
def _smallest(source: tuple[int, ...], target: tuple[int, ...], size: int) -> tuple[_Cost, tuple[int, ...]]:
    """The least motion between two chords of as many places in a circle of `size`, both rising: cost, and each move."""
    held = Counter(source) & Counter(target)
    staying, going = held.copy(), []
    moves = [0] * len(source)
    for place, step in enumerate(source):
        if staying[step]:
            staying[step] -= 1
        else:
            going.append(place)
    n = len(going)
    if n:
        low = np.array([source[place] for place in going])
        high = np.array(sorted((Counter(target) - held).elements()))
        octaves, along = np.divmod(np.arange(-n, n + 1)[:, np.newaxis] + np.arange(n), n)
        ways = high[along] + size * octaves - low  # every way round the circle in order, one to a row
        best = min(ways.tolist(), key=lambda way: (sum(map(abs, way)), sum(move * move for move in way)))
        for place, move in zip(going, best, strict=True):
            moves[place] = move
    return (sum(map(abs, moves)), n, sum(move * move for move in moves)), tuple(moves)


def smooth_chain(
    first: Chord,
    families: Sequence[str],
    moves: int,
    tuning: Tuning,
    most: int = 2,
    held: int = 2,
    home: int = 0,
) -> tuple[Chord, ...]:
    """The purest chain of chords in which no voice moves more than a few steps, from a chord back to itself.

    Of all chains of that many moves, with no root twice but the last, it finds the one whose chords come nearest to
    their ratios, taken all together (the sum of the root-mean-square errors of their pairs). The search goes on from
    whichever beginning can still become the best of all, so there is no better one.

    Parameters
    ----------
    first : Chord
    families : sequence of str
        What comes after the root in the symbols of the chords that may be used, such as ``["maj7", "harm7"]``; each
        with as many notes as `first`, to whose own family the last chord belongs.
    moves : int
        1 to 16.
    tuning : Tuning
        Of the octave, in equal steps.
    most : int
        The largest move of a voice, in steps.
    held : int
        How many tones are held at the least in every move; with none, chords slide up and down in parallel.
    home : int
        Where the chain ends: this many steps above the first chord. 1 is a diesis higher in thirty-one.

    Returns `moves` + 1 chords, their roots spelled so that the notes have the fewest signs.

    Raises ValueError if there is no such chain, or a family has another number of notes.

    >>> from tunelib.pitch import equal
    >>> [chord.symbol for chord in smooth_chain(Chord.parse("Cmaj7"), ["neumid7", "m7"], 3, equal(31))]
    ['Cmaj7', 'Ch#neumid7', 'C#m7', 'Cmaj7']
    """
    size = _equal_size(tuning)
    length = whole_number(moves, "the number of moves in a chain", 1, 16)
    whole_number(most, "the largest move of a voice", 0, size)
    whole_number(held, "the number of tones held", 0, size)
    whole_number(home, "the place where a chain ends", -size, size)
    kinds = [first, *(Chord.parse(f"C{family}") for family in families)]
    for kind in kinds:
        if len(_classes(kind, tuning)) != len(_classes(first, tuning)):
            raise ValueError(f"{kind} does not have as many notes as {first}: each voice needs one of its own")
    impure = np.repeat([kind.purity(tuning) for kind in kinds], size)
    near = _smooth_moves([kind.steps(tuning) for kind in kinds], size, most, held)
    begin = first.root.step(tuning) % size  # a chord is a number: its family times `size`, and the step of its root
    end = (begin + home) % size
    left = np.full((length + 1, len(impure)), np.inf)  # what the rest costs at the least, after a number of moves
    left[length, end] = 0.0
    for move in range(length - 1, -1, -1):
        left[move] = np.where(near, impure + left[move + 1], np.inf).min(axis=1)
    onward = [np.flatnonzero(row).tolist() for row in near]
    order = count()
    open_still: list[tuple[float, int, float, tuple[int, ...]]] = [(float(left[0, begin]), next(order), 0.0, (begin,))]
    while open_still:
        _, _, spent, path = heapq.heappop(open_still)
        if len(path) > length:
            return tuple(_plainly_on(kinds[k // size], k % size, tuning) for k in path)
        taken = {k % size for k in path} | ({end} if len(path) < length else set())
        for k in onward[path[-1]]:
            if np.isfinite(left[len(path), k]) and (k == end if len(path) == length else k % size not in taken):
                cost = spent + float(impure[k])
                heapq.heappush(open_still, (cost + float(left[len(path), k]), next(order), cost, (*path, k)))
    raise ValueError(f"no chain of {length} moves leads from {first} to {home} steps above it: allow larger moves")


def _smooth_moves(shapes: Sequence[tuple[int, ...]], size: int, most: int, held: int) -> npt.NDArray[np.bool_]:
    """Whether each chord leads to each other smoothly: for every shape on every root, shape by shape."""
    table = np.zeros((len(shapes), size, len(shapes), size), dtype=bool)
    roots = np.arange(size)
    for one, shape in enumerate(shapes):
        source = tuple(sorted(step % size for step in shape))
        for other, goal in enumerate(shapes):
            for up in range(size):
                _, moves = _smallest(source, tuple(sorted((step + up) % size for step in goal)), size)
                smooth = max(map(abs, moves)) <= most and moves.count(0) >= held
                table[one, roots, other, (roots + up) % size] = smooth
    return table.reshape(len(shapes) * size, -1)


def _plainly_on(kind: Chord, step: int, tuning: Tuning) -> Chord:
    """A chord on the root at a step, spelled so that its notes have the fewest signs."""
    chords = [kind.on(root) for root in spellings(step, tuning) or [spell_near(step, tuning)]]
    return min(chords, key=lambda chord: sum(abs(note.half_sharps) for note in chord.notes))


def _classes(chord: ChordLike, tuning: Tuning) -> tuple[int, ...]:
    """The notes of a chord as steps within the octave, rising, each once."""
    if isinstance(chord, Chord):
        root = chord.root.within(tuning).step(tuning)
        steps: Sequence[int] = [root + step for step in chord.steps(tuning)]
    else:
        steps = _whole_steps(chord, "a chord")
    return tuple(sorted({step % len(tuning) for step in steps}))


def _doublings(classes: tuple[int, ...], voices: int) -> list[tuple[int, ...]]:
    """Every way to share out a chord's notes among voices, each note sung at least once."""
    if len(classes) > voices:
        raise ValueError(
            f"{voices} voices cannot sing the {len(classes)} notes of a chord: leave notes out, or add voices"
        )
    extra = combinations_with_replacement(classes, voices - len(classes))
    return [tuple(sorted((*classes, *doubled))) for doubled in extra]


def _whole_steps(steps: Iterable[int], what: str) -> tuple[int, ...]:
    listed = tuple(steps) if isinstance(steps, Iterable) and not isinstance(steps, (str, bytes)) else ()
    if not listed or not all(is_whole(step) for step in listed):
        raise ValueError(f"{what} is a list of steps, whole numbers such as (0, 10, 18), not {shortened(steps)}")
    return tuple(int(step) for step in listed)


def _equal_size(tuning: Tuning) -> int:
    even = np.arange(len(tuning)) * CENTS_PER_OCTAVE / len(tuning)
    if tuning.period_cents != CENTS_PER_OCTAVE or not np.allclose(tuning.cents, even):
        raise ValueError(f"motion is counted in equal steps of the octave, and {tuning.name} has others")
    return len(tuning)
