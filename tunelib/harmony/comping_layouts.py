"""How a rhythm section lays a chord out over the bass: in its register, under the melody, in one of a few styles.

All of it is common practice of jazz arranging. The bass has the root or the bass note, in the octave from E1. The
upper voices are between C3 and C5, under the melody, at most two octaves above the bass; neighbours are within an
octave. They keep what gives the chord its name: third (or what is suspended for it) and seventh or sixth first, then
altered degrees, additions, the fifth. The root is left to the bass where the chord has a seventh; only where four
parts are in the nature of the style may it be one of them.

    shells           third and seventh alone
    rootless         three or four voices for two hands, close or open
    drop 2           a close voicing, its second voice from the top an octave lower
    four-way close   all within an octave, right under the melody
    pads             open, for held chords of horns or strings
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, combinations_with_replacement
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.low_limits import too_low
from tunelib.harmony.meanings import degree_step, interval_of
from tunelib.harmony.pair_roughness import chord_roughness
from tunelib.harmony.symbols import Degree
from tunelib.harmony.voicings import BASS
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, Note, Tuning, equal

Steps = npt.NDArray[np.int16]

LOWEST, HIGHEST = Note.parse("C3"), Note.parse("C5")  # of the upper voices
HIGHEST_BASS = Note.parse("G2")
_SEARCHED_FROM = Note.parse("G2")  # where a low melody leaves no other room
_MIDDLE = Note.parse("A3")  # where the voices are on the mean
_WIDEST_GAP_TO_BASS = 2400.0  # cents
_SEMITONE, _MINOR_NINTH, _EITHER_WAY = 100.0, 1300.0, 45.0  # cents, and by how much both differ from tuning to tuning
_CLUSTER = 325.0  # cents: three notes within a minor third
_UNDER_MELODY = 290.0  # cents: a third
_FIFTH = 750.0  # cents: a wider gap between neighbours is not the best
_IN_CENTS = {_MIDDLE: 100.0 * _MIDDLE.step(equal(12))}

# What a layout costs that breaks a rule, in points: what must not be, what an arranger refuses, and what he avoids.
_NEVER, _REFUSED, _AVOIDED, _NOT_BEST = 60.0, 20.0, 6.0, 0.5
_ABOVE_MELODY = 1000.0
_KEPT = 5000.0  # for a note that is to be kept and is not
_PER_OCTAVE_OFF = 2.0  # for voices whose mean is so far from the middle
_BEST = 8  # layouts of a chord that are weighed


@dataclass(frozen=True)
class Style:
    """One way to lay chords out: how many voices there are at most, and what is asked of their gaps.

    `shaped` takes the gaps between neighbours in cents, shape (layouts, voices - 1), and says which layouts are so.
    """

    name: str
    voices: int
    shaped: Callable[[FloatArray], npt.NDArray[np.bool_]]
    near_melody: bool = False
    with_root: bool = False


def _any(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.full(len(gaps), True)


def _within_an_octave(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(gaps.sum(axis=1) < CENTS_PER_OCTAVE)


def _dropped_second(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether the lowest voice, an octave higher, would be the second from the top of a close voicing."""
    raised = CENTS_PER_OCTAVE - gaps[:, :-1].sum(axis=1)  # of the lowest voice above the second from the top
    return np.asarray((raised > 0) & (raised < gaps[:, -1]) & (gaps[:, 1:].sum(axis=1) < CENTS_PER_OCTAVE))


def _opened(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(gaps.sum(axis=1) > CENTS_PER_OCTAVE)


STYLES = {
    style.name: style
    for style in (
        Style("shells", 2, _any),
        Style("rootless", 4, _any),
        Style("drop 2", 4, _dropped_second, with_root=True),
        Style("four-way close", 4, _within_an_octave, near_melody=True, with_root=True),
        Style("pads", 4, _opened),
    )
}
"""The styles by their names."""


@dataclass(frozen=True)
class Ceiling:
    """What the melody leaves for the voices under it.

    Parameters
    ----------
    lowest : int or None
        Its lowest note while the chord sounds, in steps from C4; None where there is no melody.
    weighty : frozenset of int
        The notes that last a beat or more, or begin on a strong beat.
    """

    lowest: int | None = None
    weighty: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Layouts:
    """Ways to lay out one chord, those that cost least alone.

    Parameters
    ----------
    voices : array of int, shape (layouts, voices)
        Steps, each row rising. Where a chord has fewer notes than others two voices share one.
    costs : array, shape (layouts,)
        Points.
    sevenths : array of int, shape (layouts,)
        Which voice has the seventh; -1 where none has.
    spacing : array, shape (layouts,)
        Roughness of the upper voices, all moved to one height.
    """

    voices: Steps
    costs: FloatArray
    sevenths: npt.NDArray[np.int8]
    spacing: FloatArray


def bass_under(chord: Chord, lowest: int, tuning: Tuning) -> Note:
    """The bass of a chord under its lowest upper voice, which is given in steps.

    In the octave from E1 or, where it would be more than two octaves under the voice, one higher, up to G2.
    """
    low = chord.bass_in(tuning).above(BASS, tuning)
    high = replace(low, octave=low.octave + 1)
    too_far = (lowest - low.step(tuning)) * CENTS_PER_OCTAVE / len(tuning) > _WIDEST_GAP_TO_BASS
    return high if too_far and high.step(tuning) <= HIGHEST_BASS.step(tuning) else low


def upper_tones(chord: Chord, style: str) -> tuple[tuple[Degree, ...], ...]:
    """Which degrees the upper voices have: one choice, or several that are as good.

    >>> upper_tones(Chord.parse("C13"), "rootless")
    (((3, 0), (7, -2), (9, 0), (13, 0)),)
    >>> [upper_tones(Chord.parse("Cmaj7"), style)[0] for style in ("rootless", "shells", "drop 2")]
    [((3, 0), (5, 0), (7, 0)), ((3, 0), (7, 0)), ((1, 0), (3, 0), (5, 0), (7, 0))]
    """
    voices = STYLES[style].voices
    degrees = chord.degrees
    numbers = {number for number, _ in degrees}
    with_seventh = 7 in numbers
    thirds = [degree for degree in degrees if degree[0] in (3, 2, 4)]
    if (3, 0) in degrees and (11, 0) in degrees:  # a minor ninth apart, and the eleventh says more
        thirds = []
    essential = [*sorted(thirds), *(degree for degree in degrees if degree[0] in (6, 7))]
    if chord.bass is not None:
        bass = [degree for degree in essential if _name(chord, degree) == chord.bass.name]
        essential = [degree for degree in essential if degree not in bass]
    fifths = [degree for degree in degrees if degree[0] == 5]
    altered = [degree for degree in fifths if degree[1] and voices > 2]
    if with_seventh and (7, -4) in degrees:
        altered = fifths
    additions = sorted(degree for degree in degrees if degree[0] >= 9)
    plain = [degree for degree in fifths if degree not in altered and not _against(degree, additions)]
    root = [(1, 0)] if STYLES[style].with_root or not with_seventh or chord.bass is not None else []
    if voices == 2 and not with_seventh and 6 not in numbers:
        additions, root = [], root if chord.bass is not None or not fifths else []
    found = []
    for ninths in _one_of_each(additions):
        order = [*essential, *altered, *_altered_first(ninths), *(root if chord.bass else []), *plain, *root]
        found.append(tuple(sorted(dict.fromkeys(order[:voices]))))
    return tuple(dict.fromkeys(found)) or (((1, 0),),)


def _name(chord: Chord, degree: Degree) -> str:
    return chord.root.transpose(interval_of(degree)).name


def _against(fifth: Degree, additions: Iterable[Degree]) -> bool:
    """Whether a fifth is a semitone from one of the additions: 5 with ♭13, or with ♯11."""
    return fifth == (5, 0) and any(degree in ((13, -2), (13, -1)) for degree in additions)


def _one_of_each(additions: Sequence[Degree]) -> list[list[Degree]]:
    """The additions with one ninth of several: ♭9 beside ♯9 is a cluster."""
    ninths = [degree for degree in additions if degree[0] in (9, 10)]
    others = [degree for degree in additions if degree[0] not in (9, 10)]
    return [[*others, ninth] for ninth in ninths] or [others]


def _altered_first(additions: Iterable[Degree]) -> list[Degree]:
    """A flat thirteenth before an altered ninth, and those before what is plain or a sharp eleventh."""

    def rank(degree: Degree) -> tuple[int, Degree]:
        number, offset = degree
        return (
            0 if number == 13 and offset else 1 if number in (9, 10) and offset else 2 if number != 11 else 3
        ), degree

    return sorted(additions, key=rank)


@lru_cache(maxsize=8192)
def layouts(chord: Chord, style: str, ceiling: Ceiling, tuning: Tuning, keep: frozenset[int] = frozenset()) -> Layouts:
    """The best ways to lay a chord out under a melody, what they cost alone beside the cost of their spacing.

    Where nothing keeps all the rules, the layouts that break the least are given; those with the steps to `keep` among
    their voices, as far as there are any, go before all others.
    """
    grid = _grid(chord, style, tuning)
    costs = grid.costs + _under(grid.voices, ceiling, STYLES[style], tuning)
    costs += _KEPT * sum(np.all(grid.voices != step, axis=1) for step in keep)
    best = np.argsort(costs, kind="stable")[:_BEST]
    return _filled(grid.voices[best], costs[best], grid.sevenths[best], grid.spacing[best], STYLES[style].voices)


def laid_out_by_hand(chord: Chord, upper: Sequence[Note], style: str, tuning: Tuning) -> Layouts:
    """The one layout that a player has chosen, at no cost."""
    voices = np.array([sorted(note.step(tuning) for note in upper)], dtype=np.int16)
    root = chord.root.within(tuning).step(tuning)
    seventh = {(root + degree_step(degree, tuning)) % len(tuning) for degree in chord.degrees if degree[0] == 7}
    owners = [place for place, step in enumerate(voices[0].tolist()) if step % len(tuning) in seventh]
    spacing = _spacing(voices, tuning)
    return _filled(
        voices, np.zeros(1), np.array([owners[0] if owners else -1], dtype=np.int8), spacing, STYLES[style].voices
    )


@lru_cache(maxsize=4096)
def smoothest(chord: Chord, style: str, tuning: Tuning) -> float:
    """The least roughness that a layout of a chord has at one height, of those that keep the rules."""
    grid = _grid(chord, style, tuning)
    return float(grid.spacing[grid.costs <= grid.costs.min() + _AVOIDED].min())


@lru_cache(maxsize=4096)
def _grid(chord: Chord, style: str, tuning: Tuning) -> Layouts:
    """All ways to put a chord's tones into the register, with their costs apart from the melody; no voices shared."""
    size = len(tuning)
    cents = CENTS_PER_OCTAVE / size
    root = chord.root.within(tuning).step(tuning)
    low, high = _SEARCHED_FROM.step(tuning), HIGHEST.step(tuning)
    choices = upper_tones(chord, style)
    count = max(map(len, choices))
    parts = []
    for tones in (tones for tones in choices if len(tones) == count):
        steps = [root + degree_step(degree, tuning) for degree in tones]
        places = [np.arange(low + (step - low) % size, high + 1, size) for step in steps]
        placed = np.stack(np.meshgrid(*places, indexing="ij"), axis=-1).reshape(-1, count)
        order = np.argsort(placed, axis=1, kind="stable")
        voices = np.take_along_axis(placed, order, axis=1)
        owner = next((place for place, degree in enumerate(tones) if degree[0] == 7 and degree[1] != -4), -1)
        seventh = np.argmax(order == owner, axis=1) if owner >= 0 else np.full(len(voices), -1)
        bass = np.array([bass_under(chord, lowest, tuning).step(tuning) for lowest in voices[:, 0].tolist()])
        costs = _faults(np.asarray(voices * cents), bass * cents)
        costs += _NEVER * too_low(np.column_stack([bass, voices]), tuning)
        costs += _NEVER * ((voices[:, 0] < LOWEST.step(tuning)) | (voices[:, 0] <= bass))
        if count > 2:
            costs += _AVOIDED * ~STYLES[style].shaped(np.diff(voices, axis=1) * cents)
        parts.append((voices.astype(np.int16), costs, seventh.astype(np.int8), _spacing(voices, tuning)))
    return Layouts(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _faults(voices: FloatArray, bass: FloatArray) -> FloatArray:
    """What the gaps of layouts cost, all in cents."""
    costs = _PER_OCTAVE_OFF * np.abs(voices.mean(axis=1) - _IN_CENTS[_MIDDLE]) / CENTS_PER_OCTAVE
    costs += _REFUSED * (voices[:, 0] - bass > _WIDEST_GAP_TO_BASS)
    for low, high in combinations(range(voices.shape[1]), 2):
        costs += _REFUSED * _near(voices[:, high] - voices[:, low], _MINOR_NINTH)
    gaps = np.diff(voices, axis=1)
    costs += _REFUSED * np.any(gaps > CENTS_PER_OCTAVE + _EITHER_WAY, axis=1)
    costs += _NOT_BEST * np.sum(gaps > _FIFTH, axis=1)
    if gaps.shape[1]:
        costs += _REFUSED * _near(gaps[:, -1], _SEMITONE)
    if gaps.shape[1] > 1:
        clusters = gaps[:, 1:] + gaps[:, :-1] <= _CLUSTER
        costs += _REFUSED * clusters[:, -1] + _AVOIDED * clusters.sum(axis=1)
    return np.asarray(costs)


def _near(sizes: FloatArray, interval: float) -> npt.NDArray[np.bool_]:
    return np.asarray(np.abs(sizes - interval) <= _EITHER_WAY)


def _under(voices: Steps, ceiling: Ceiling, style: Style, tuning: Tuning) -> FloatArray:
    """What layouts cost for where they are under a melody."""
    cents = CENTS_PER_OCTAVE / len(tuning)
    top = voices[:, -1] * cents
    melody = HIGHEST.step(tuning) * cents + _UNDER_MELODY if ceiling.lowest is None else ceiling.lowest * cents
    below = melody - top
    costs = np.where(below < 0, _ABOVE_MELODY - below, 0.0)
    costs += _NOT_BEST * ((below > 0) & (below < _UNDER_MELODY))
    if style.near_melody:
        costs += _PER_OCTAVE_OFF * np.abs(below) / CENTS_PER_OCTAVE
    for note in ceiling.weighty:
        for interval in (_SEMITONE, _MINOR_NINTH):
            costs += _AVOIDED * np.any(_near(np.abs(note - voices) * cents, interval), axis=1)
    return np.asarray(costs)


def _spacing(voices: npt.NDArray[Any], tuning: Tuning) -> FloatArray:
    """Roughness of the upper voices at one height, so that high is not smooth for being high."""
    middle = _MIDDLE.step(tuning)
    return chord_roughness(voices + np.rint(middle - voices.mean(axis=1)).astype(int)[:, np.newaxis], tuning)


def _filled(
    voices: Steps, costs: FloatArray, sevenths: npt.NDArray[np.int8], spacing: FloatArray, count: int
) -> Layouts:
    """The same layouts with as many voices as the style has: every way to let some of them share a note."""
    missing = count - voices.shape[1]
    if missing <= 0:
        return Layouts(voices, costs, sevenths, spacing)
    parts = []
    for shared in combinations_with_replacement(range(voices.shape[1]), missing):
        places = sorted([*range(voices.shape[1]), *shared])
        moved = np.array([*(places.index(place) for place in range(voices.shape[1])), -1])
        parts.append((voices[:, places], costs, moved[sevenths].astype(np.int8), spacing))
    return Layouts(*(np.concatenate(column) for column in zip(*parts, strict=True)))
