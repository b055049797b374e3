"""All realisations of a chord, and what each costs alone and beside its neighbours.

What the costs are worth beside each other is set here, once, in points: a point is 310 cents of motion, which are eight
steps of thirty-one, or six cents of error. They are a musician's judgement, not a law. What a layout costs for the
places of its voices is set in `tunelib.harmony.comping_layouts`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, product

import numpy as np
import numpy.typing as npt

from tunelib.harmony.best_path import Column
from tunelib.harmony.choices import Choice
from tunelib.harmony.chords import Chord
from tunelib.harmony.comping_layouts import Ceiling, Layouts, bass_under, laid_out_by_hand, layouts, smoothest
from tunelib.harmony.heard import Sign
from tunelib.harmony.playable import of_thirty_one, small_step, widest_rub
from tunelib.harmony.taste import Taste
from tunelib.harmony.variants import Variant, as_chosen, variants
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, Note, Tuning, listed, readable

_REMEMBERED = 400  # pairs of columns: some tens of megabytes at most
_WANDERING = (-2, -1, 0, 1, 2)  # small steps by which a root may be off its place
_AS_PURE = 0.05  # cents: a variant less pure by so little is as pure
_WHOLE_TONE = 230.0  # cents: a seventh that falls farther does not resolve

# What is worth how much, in points.
_PER_CENT_OFF = 1 / 6  # for the root mean square of all pairs' errors
_PER_BIT = 0.5  # for pairs that are more complex, on the mean, than those of the chord as it is meant
_ROUGHNESS = 2.0  # for as much again as the smoothest layout of the chord as it is meant, at one height
_PER_STEP_MOVED = 1 / 8  # for each step of thirty-one
_PER_ALTERATION = 1.5  # for a degree that leaves its family, if taste is plain
_REWARD = 0.9  # the same, for an adventurous taste
_UNRESOLVED = 3.0  # for a seventh after which no voice stays on it or is a step below
_PER_DRIFT = 0.45  # for a root that drifts by a small step from the last; for one that drifts farther, and
_FARTHER = 250.0  # under a held note of the melody that would not go along
_COLOUR = 0.5  # for each step of thirty-one darker or brighter
_CLASH = 1000.0  # for a melody note that rubs against a note of the chord


@dataclass(frozen=True, eq=False)
class Candidates:
    """The realisations of one chord: what they are, and the column that is searched.

    Parameters
    ----------
    variants : tuple of Variant
        The first is the chord as it is meant, or else as it was chosen by hand.
    layouts : tuple of Layouts
        Of each variant.
    clashes : tuple of int
        Of each variant: how many degrees of the melody rub against it.
    which : array of int, shape (realisations, 3)
        The variant, its layout, and steps by which the root has moved.
    column : Column
    tuning : Tuning
    by_hand : tuple of Note or None
        The whole layout, where it was chosen by hand.
    """

    variants: tuple[Variant, ...]
    layouts: tuple[Layouts, ...]
    clashes: tuple[int, ...]
    which: npt.NDArray[np.int16]
    column: Column
    tuning: Tuning
    by_hand: tuple[Note, ...] | None

    def notes(self, place: int) -> tuple[Note, ...]:
        """The bass and the upper voices of a realisation, rising; voices that share a note are one."""
        if self.by_hand is not None:
            return self.by_hand
        number, layout, shift = self.which[place].tolist()
        chord = self.variants[number].chord
        steps = list(dict.fromkeys(self.layouts[number].voices[layout].tolist()))
        notes = (bass_under(chord, steps[0], self.tuning), *named(chord, steps, self.tuning))
        return tuple(shifted(note, shift, self.tuning) for note in notes)


def named(chord: Chord, steps: Iterable[int], tuning: Tuning) -> tuple[Note, ...]:
    """Steps that are notes of a chord, by the names that they have in it."""
    size = len(tuning)
    names = {note.step(tuning) % size: readable(note, tuning) for note in reversed(chord.notes_in(tuning))}
    return tuple(names[step % size].at_step(step, tuning) for step in steps)


def shifted(note: Note, shift: int, tuning: Tuning) -> Note:
    """A note a number of steps higher, on its own letter."""
    return note.sounding(note.step(tuning) + shift, tuning) if shift else note


def candidates(
    sign: Sign, choice: Choice | None, tuning: Tuning, taste: Taste, *, first: bool, open_to_all: bool = False
) -> Candidates:
    """The realisations of a chord sign.

    Parameters
    ----------
    sign : Sign
    choice : Choice or None
        What a player has decided.
    tuning : Tuning
    taste : Taste
    first : bool
        Whether it is the first chord of the tune, which drifts nowhere.
    open_to_all : bool
        Whether also what the taste for adventure would not try.

    Chords that are alike in all that counts share theirs. Raises ValueError, naming the bar, for a choice whose notes
    its chord does not have.
    """
    try:
        return _candidates(
            sign.meant, choice, sign.degrees, sign.ceiling, sign.held_over, first, open_to_all, tuning, taste
        )
    except ValueError as problem:
        raise ValueError(f"bar {sign.timed.bar}: {problem}") from None


@lru_cache(maxsize=4096)
def _candidates(
    meant: Chord,
    choice: Choice | None,
    degrees: frozenset[int],
    ceiling: Ceiling,
    held_over: bool,
    first: bool,
    open_to_all: bool,
    tuning: Tuning,
    taste: Taste,
) -> Candidates:
    unit = small_step(tuning)
    places = _WANDERING if taste.drift and unit and not first and choice is None else (0,)
    tried = [
        variant
        for variant in variants(meant, tuning)
        if open_to_all or not variant.moves or _to_the_taste(variant, meant, taste, tuning)
    ]
    if choice is not None:
        tried = [
            next((v for v in variants(meant, tuning) if v.chord == choice.chord), None)
            or as_chosen(choice.chord, meant, tuning)
        ]
    laid_out = [_layouts_of(variant, choice, ceiling, taste, tuning) for variant in tried]
    clashes = [rubs(variant.chord, degrees, tuning) for variant in tried]
    plain = smoothest(meant, taste.voicing, tuning)
    bits = variants(meant, tuning)[0].bits
    parts: list[tuple[npt.NDArray[np.int16], Layouts, FloatArray]] = []
    for number, (variant, ways) in enumerate(zip(tried, laid_out, strict=True)):
        alone = _alone(variant, bits, taste, tuning) + (0.0 if taste.clashes else _CLASH * clashes[number])
        costs = alone + ways.costs + _ROUGHNESS * (ways.spacing / plain - 1)
        for place in places:
            rows = np.full((len(costs), 3), (number, 0, place), dtype=np.int16)
            rows[:, 1] = np.arange(len(costs))
            parts.append((rows, ways, costs))
    which = np.concatenate([rows for rows, _, _ in parts])
    most = max(ways.voices.shape[1] for ways in laid_out)
    shifts = (unit * which[:, 2:]).astype(np.int16)
    column = Column(
        voices=np.concatenate([_widened(ways.voices, most) for _, ways, _ in parts]) + shifts,
        counts=np.concatenate([ways.counts for _, ways, _ in parts]),
        costs=np.concatenate([costs for _, _, costs in parts]),
        sevenths=np.concatenate([ways.sevenths for _, ways, _ in parts]),
        tunings=which[:, 0],
        clean=frozenset(number for number, count in enumerate(clashes) if not count or taste.clashes),
        drifts=which[:, 2],
        root=meant.root.within(tuning).step(tuning) % len(tuning),
        held_over=held_over,
    )
    which = np.hstack([which[:, :2], shifts])
    by_hand = choice.notes if choice is not None else None
    return Candidates(tuple(tried), tuple(laid_out), tuple(clashes), which, column, tuning, by_hand)


def _to_the_taste(variant: Variant, meant: Chord, taste: Taste, tuning: Tuning) -> bool:
    """Whether a taste tries a variant: none that is less pure than what is meant, but where colour is asked for."""
    purer = variant.purity <= variants(meant, tuning)[0].purity + _AS_PURE
    return 0 < taste.adventure >= variant.adventure and (purer or taste.colour != 0)


def _alone(variant: Variant, bits: float, taste: Taste, tuning: Tuning) -> float:
    """What a variant costs for what it is, laid out anyhow."""
    return (
        _PER_ALTERATION * (1 - taste.adventure) * variant.price
        - _REWARD * taste.adventure * len(variant.moves)
        - _COLOUR * taste.colour * variant.steps_up * of_thirty_one(tuning)
        + _PER_CENT_OFF * variant.purity
        + _PER_BIT * (variant.bits - bits)
    )


def _layouts_of(variant: Variant, choice: Choice | None, ceiling: Ceiling, taste: Taste, tuning: Tuning) -> Layouts:
    if choice is None:
        return layouts(variant.chord, taste.voicing, ceiling, tuning)
    if choice.notes is not None:
        _refuse_strangers(choice.notes, variant.chord, tuning)
        return laid_out_by_hand(variant.chord, choice.notes[1:], tuning)
    _refuse_strangers(choice.keep, variant.chord, tuning)
    return layouts(variant.chord, taste.voicing, ceiling, tuning, frozenset(note.step(tuning) for note in choice.keep))


def _refuse_strangers(notes: Iterable[Note], chord: Chord, tuning: Tuning) -> None:
    own = chord.notes_in(tuning)
    steps = {note.step(tuning) % len(tuning) for note in (*own, chord.bass_in(tuning))}
    for note in notes:
        if note.step(tuning) % len(tuning) not in steps:
            names = listed([one.name for one in own])
            raise ValueError(f"{note} is no note of {chord}, which has {names}")


def rubs(chord: Chord, degrees: Iterable[int], tuning: Tuning) -> int:
    """How many degrees of a melody rub against a note of a chord or its bass, and are none themselves."""
    size = len(tuning)
    root = chord.root.within(tuning).step(tuning)
    own = {(root + step) % size for step in chord.steps(tuning)} | {chord.bass_in(tuning).step(tuning) % size}
    widest = widest_rub(tuning)
    beside = {(step + away) % size for step in own for away in range(-widest, widest + 1)} - own
    return sum(degree in beside for degree in degrees)


def _widened(voices: npt.NDArray[np.int16], count: int) -> npt.NDArray[np.int16]:
    return np.pad(voices, ((0, 0), (0, count - voices.shape[1])), mode="edge")


@lru_cache(maxsize=16)
def moving(tuning: Tuning, drift: bool) -> Callable[[Column, Column], FloatArray]:
    """What it costs to go from one realisation to the next, as `tunelib.harmony.best_path` asks for it.

    Where the number of voices changes, some of the fewer split or meet, in the way that costs least. The last few
    hundred pairs of columns are remembered, for a tune that is retuned again.
    """
    per_step = np.float32(_PER_STEP_MOVED * of_thirty_one(tuning))
    lowest = -_WHOLE_TONE * len(tuning) / CENTS_PER_OCTAVE

    @lru_cache(maxsize=_REMEMBERED)
    def cost(before: Column, after: Column) -> FloatArray:
        found = np.empty((len(after.costs), len(before.costs)), dtype=np.float32)
        for fewer, more in product(np.unique(before.counts).tolist(), np.unique(after.counts).tolist()):
            these, those = np.flatnonzero(before.counts == fewer), np.flatnonzero(after.counts == more)
            one, other = before.voices[these], after.voices[those]
            ways = [_steps_moved(one[:, left], other[:, right]) for left, right in pairings(fewer, more)]
            found[np.ix_(those, these)] = per_step * np.min(ways, axis=0)
        owners = np.flatnonzero(before.sevenths >= 0)
        if len(owners) and before.root != after.root:
            sevenths = before.voices[owners, before.sevenths[owners]]
            steps = after.voices[:, :, np.newaxis] - sevenths
            found[:, owners] += np.float32(_UNRESOLVED) * ~np.any((steps <= 0) & (steps >= lowest), axis=1)
        if drift:
            away = np.abs(after.drifts[:, np.newaxis] - before.drifts[np.newaxis, :])
            found += np.where(away == 0, 0.0, np.where((away > 1) | after.held_over, _FARTHER, _PER_DRIFT))
        return np.asarray(found)

    return cost


def _steps_moved(one: npt.NDArray[np.int16], other: npt.NDArray[np.int16]) -> npt.NDArray[np.int16]:
    """Steps that all voices move together, from each row of one to each of the other; shape (other, one)."""
    moved = np.zeros((len(other), len(one)), dtype=np.int16)
    for left, right in zip(one.T, other.T, strict=True):
        moved += np.abs(right[:, np.newaxis] - left[np.newaxis, :])
    return moved


@lru_cache(maxsize=64)
def pairings(before: int, after: int) -> tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]:
    """Every way in which so many voices go on as so many others, in order, none left out: the places of both.

    >>> pairings(2, 3)
    (((0, 0, 1), (0, 1, 2)), ((0, 1, 1), (0, 1, 2)))
    """
    most, fewest = max(before, after), min(before, after)
    whole = tuple(range(most))
    split = [
        tuple(sorted([*range(fewest), *shared]))
        for shared in combinations_with_replacement(range(fewest), most - fewest)
    ]
    return tuple((places, whole) if before < after else (whole, places) for places in split)


def voices_moved(before: Sequence[int], after: Sequence[int]) -> list[int]:
    """How many steps each voice moves, in the way in which they move least together."""
    ways = [
        [abs(after[right] - before[left]) for left, right in zip(*one, strict=True)]
        for one in pairings(len(before), len(after))
    ]
    return min(ways, key=sum)
