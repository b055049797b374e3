"""How a rhythm section lays a chord out over the bass: in its register, under the melody, in one of a few styles.

All of it is common practice of jazz arranging. The bass has the root or the bass note, in the octave from E1. The
upper voices are between C3 and C5, under the melody, at most two octaves above the bass; neighbours are within an
octave. Intervals are not below their low limits; no two upper voices are a minor ninth apart, and no semitone is on
top; a sharp ninth is not right under the third.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.comping_styles import STYLES, Style
from tunelib.harmony.comping_tones import upper_tones
from tunelib.harmony.low_limits import too_low
from tunelib.harmony.meanings import degree_step
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
_OVER_THE_THIRD = ((9, 2), (9, 1), (10, -2), (10, -3), (10, -1))  # a sharp ninth, as it may be spelled
_BEST = 8  # layouts of a chord that are weighed


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


class Layouts(NamedTuple):
    """Ways to lay out one chord, those that cost least alone.

    Parameters
    ----------
    voices : array of int, shape (layouts, voices)
        Steps, each row rising; one of fewer voices than others ends with its top voice again.
    counts : array of int, shape (layouts,)
        How many voices there are.
    costs : array, shape (layouts,)
        Points.
    sevenths : array of int, shape (layouts,)
        Which voice has the seventh; -1 where none has.
    spacing : array, shape (layouts,)
        Roughness of the upper voices, all moved to one height.
    """

    voices: Steps
    counts: npt.NDArray[np.int8]
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


@lru_cache(maxsize=8192)
def layouts(chord: Chord, style: str, ceiling: Ceiling, tuning: Tuning, keep: frozenset[int] = frozenset()) -> Layouts:
    """The best ways to lay a chord out under a melody, what they cost alone beside the cost of their spacing.

    Where nothing keeps all the rules, the layouts that break the least are given; those with the steps to `keep` among
    their voices, as far as there are any, go before all others.
    """
    grids = _grids(chord, style, tuning)
    costs = [grid.costs + _under(grid.voices, ceiling, STYLES[style], tuning) for grid in grids]
    for grid, own in zip(grids, costs, strict=True):
        own += _KEPT * sum(np.all(grid.voices != step, axis=1) for step in keep)
    worst = np.sort(np.concatenate(costs))[:_BEST][-1]
    parts, most = [], max(grid.voices.shape[1] for grid in grids)
    for grid, own in zip(grids, costs, strict=True):
        best = np.flatnonzero(own <= worst)
        voices = np.pad(grid.voices[best], ((0, 0), (0, most - grid.voices.shape[1])), mode="edge")
        parts.append(Layouts(voices, grid.counts[best], own[best], grid.sevenths[best], grid.spacing[best]))
    return Layouts(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def laid_out_by_hand(chord: Chord, upper: Sequence[Note], tuning: Tuning) -> Layouts:
    """The one layout that a player has chosen, at no cost."""
    steps = sorted(note.step(tuning) for note in upper)
    voices = np.array([steps], dtype=np.int16)
    root = chord.root.within(tuning).step(tuning)
    sevenths = {(root + degree_step(degree, tuning)) % len(tuning) for degree in chord.degrees if _wants_down(degree)}
    owner = next((place for place, step in enumerate(steps) if step % len(tuning) in sevenths), -1)
    counts, owners = np.array([[len(steps)], [owner]], dtype=np.int8)
    return Layouts(voices, counts, np.zeros(1), owners, _spacing(voices, tuning))


@lru_cache(maxsize=4096)
def smoothest(chord: Chord, style: str, tuning: Tuning) -> float:
    """The least roughness that a layout of a chord has at one height, of those that keep the rules."""
    grid = _grids(chord, style, tuning)[0]
    return float(grid.spacing[grid.costs <= grid.costs.min() + _AVOIDED].min())


@lru_cache(maxsize=4096)
def _grids(chord: Chord, style: str, tuning: Tuning) -> tuple[Layouts, ...]:
    """All ways to put each choice of a chord's tones into the register, with their costs apart from the melody."""
    return tuple(_grid(chord, tones, cost, style, tuning) for tones, cost in upper_tones(chord, style))


def _grid(chord: Chord, tones: tuple[Degree, ...], cost: float, style: str, tuning: Tuning) -> Layouts:
    size, count = len(tuning), len(tones)
    cents = CENTS_PER_OCTAVE / size
    root = chord.root.within(tuning).step(tuning)
    low, high = _SEARCHED_FROM.step(tuning), HIGHEST.step(tuning)
    steps = [root + degree_step(degree, tuning) for degree in tones]
    places = [np.arange(low + (step - low) % size, high + 1, size) for step in steps]
    placed = np.stack(np.meshgrid(*places, indexing="ij"), axis=-1).reshape(-1, count)
    order = np.argsort(placed, axis=1, kind="stable")
    voices = np.take_along_axis(placed, order, axis=1)
    lowest, which = np.unique(voices[:, 0], return_inverse=True)
    bass = np.array([bass_under(chord, voice, tuning).step(tuning) for voice in lowest.tolist()])[which]
    costs = cost + _faults(np.asarray(voices * cents), bass * cents)
    costs += _NEVER * too_low(np.column_stack([bass, voices]), tuning)
    costs += _NEVER * np.any(np.diff(voices, axis=1) == 0, axis=1)
    costs += _NEVER * ((voices[:, 0] < LOWEST.step(tuning)) | (voices[:, 0] <= bass))
    if count > 2:
        costs += _AVOIDED * ~STYLES[style].shaped(np.diff(voices, axis=1) * cents)
    third = next((place for place, degree in enumerate(tones) if degree == (3, 0)), None)
    for place, degree in enumerate(tones):
        if third is not None and degree in _OVER_THE_THIRD:
            above = (placed[:, third] - placed[:, place]) * cents
            costs += _REFUSED * ((above > 0) & (above <= _SEMITONE + _EITHER_WAY))
    owner = next((place for place, degree in enumerate(tones) if _wants_down(degree)), -1)
    sevenths = np.argmax(order == owner, axis=1) if owner >= 0 else np.full(len(voices), -1)
    counts = np.full(len(voices), count, dtype=np.int8)
    return Layouts(voices.astype(np.int16), counts, costs, sevenths.astype(np.int8), _spacing(voices, tuning))


def _wants_down(degree: Degree) -> bool:
    """Whether a degree is a seventh that resolves by falling: not a major one, nor that of a diminished chord."""
    return degree[0] == 7 and -4 < degree[1] < 0


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
    costs = _ABOVE_MELODY * np.where(below < 0, 1 - below / CENTS_PER_OCTAVE, 0.0)
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
