"""What it costs to take a stretch of pitch for one note: a level that is held, with or without a vibrato about it.

A piece of pitch is a level, a swing, and an error: in cents, frame by frame, ``y = level + swing + error``. The level
is unknown and stays. The swing is a vibrato at one of a few rates, as strong as it likes and a little uneven, as those
of players are: a stochastic cycle (A. C. Harvey, "Forecasting, Structural Time Series Models and the Kalman Filter",
1989). Errors of neighbouring frames go together, since their windows overlap. What a piece costs is minus the logarithm
of its likelihood under this model, in nats, with level and swing summed over; a Kalman filter works it out frame by
frame. How far a frame may move the cost is bounded, so that a stray one does not part a note.

The filter's gains depend on how old a piece is and not on what is heard; so all pieces of one age, from every place at
which one could begin, go through it together.

Published vibratos: 5.5 to 8 Hz, 20 to 35 cents from peak to peak for strings and 60 to 200 for singers (R. Timmers and
P. Desain, "Vibrato: questions and answers from musicians and science", Proc. ICMPC 6, 2000); opera and Lied at 6.4 Hz,
about 138 and 112 cents (Johnson-Read and others, 2015).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tunelib.pitch import FloatArray

LONGEST_PIECE = 2.5  # seconds; a longer note is several pieces, joined afterwards

RATES = np.arange(4.5, 8.1, 0.5)  # hertz
_ERROR, _TIED = 8.0, 0.04  # cents by which a frame errs, and for how many seconds errors go together
_SWING, _EVEN = 60.0, 3.0  # standard deviation of a swing in cents, and for how many seconds it goes on evenly
_SWING_PRICE = -5.0  # nats
_LEAST_CYCLES = 0.8  # of a swing, before it counts
_STRAY = 4.0  # standard deviations from which a frame's cost grows in proportion only


class Gains(NamedTuple):
    """A Kalman filter's numbers for pieces of each age in frames: shapes (ages,) and, for the swing, complex."""

    level: FloatArray
    swing: np.ndarray
    width: FloatArray  # standard deviation of what is foretold
    variance: FloatArray  # of the level


def piece_costs(cents: FloatArray, hop: float, starts: range, longest: int) -> FloatArray:
    """What pieces cost that begin at some frames, by their length.

    Parameters
    ----------
    cents : array, shape (frames,)
        Pitch; NaN where it is not known for a moment.
    hop : float
        Seconds from frame to frame.
    starts : range
        The frames that pieces begin with, one after another.
    longest : int
        Frames of the longest piece.

    Returns an array of shape (starts, longest + 1): the cost in nats of the piece of so many frames, infinite where it
    would go past the end.
    """
    tied, error = _tied(hop), _ERROR * math.sqrt(1 - _tied(hop) ** 2)
    padded = np.pad(cents, (0, max(0, starts.stop + longest - cents.size)), constant_values=np.nan)
    moved = np.append(padded[1:] - tied * padded[:-1], np.nan)  # free of what goes on of the error before
    known = np.isfinite(moved)
    moved = np.where(known, moved, 0.0)
    count = len(starts)
    level = np.repeat(padded[np.newaxis, starts.start : starts.stop], RATES.size + 1, axis=0)
    level[np.isnan(level)] = 0.0
    swing = np.zeros((RATES.size, count), dtype=complex)
    total = np.repeat([[0.0], *([_SWING_PRICE] for _ in RATES)], count, axis=1)
    costs = np.full((count, longest + 1), np.inf)
    costs[:, 1] = 0.0
    plain, swings, turns = _plain_gains(hop, longest), _swing_gains(hop, longest), _turns(hop)
    gain = np.vstack([plain.level, swings.level])
    spread = np.vstack([plain.width, swings.width])
    width = np.log(spread / error)
    swings_from = math.ceil(_LEAST_CYCLES / RATES[0] / hop)
    for age in range(1, longest):
        here = slice(starts.start + age - 1, starts.stop + age - 1)
        swing *= turns
        off = moved[here] - (1 - tied) * level
        off[1:] -= swing.real
        off *= known[here]
        bound = _STRAY * spread[:, age, np.newaxis]
        bounded = np.clip(off, -bound, bound)
        level += gain[:, age, np.newaxis] * bounded
        swing += swings.swing[:, age, np.newaxis] * bounded[1:]
        off *= 2
        off -= bounded
        off *= bounded  # the square within the bounds, a straight line beyond
        off *= (0.5 / spread**2)[:, age, np.newaxis]
        total += off
        total += width[:, age, np.newaxis] * known[here]
        costs[:, age + 1] = total.min(axis=0) if age + 1 >= swings_from else total[0]
    costs[np.isnan(padded[starts.start : starts.stop])] = np.inf
    ends = np.arange(starts.start, starts.stop)[:, np.newaxis] + np.arange(longest + 1)
    costs[ends > cents.size] = np.inf
    return costs


@lru_cache(maxsize=8)
def _tied(hop: float) -> float:
    ways = _TIED / hop
    return max(0.0, (ways - 1) / (ways + 1))


def _turns(hop: float) -> np.ndarray:
    """What a swing is multiplied by from frame to frame, shape (rates, 1)."""
    return np.exp(-hop / _EVEN + 2j * np.pi * RATES * hop)[:, np.newaxis]


@lru_cache(maxsize=8)
def _plain_gains(hop: float, longest: int) -> Gains:
    return _gains(np.zeros((1, 1), dtype=complex), 0.0, hop, longest)


@lru_cache(maxsize=8)
def _swing_gains(hop: float, longest: int) -> Gains:
    return _gains(_turns(hop), _SWING, hop, longest)


def _gains(turns: np.ndarray, strength: float, hop: float, longest: int) -> Gains:
    """Run the filter's variances through all ages; the state is level and swing, the latter as (real, imaginary)."""
    tied, rates = _tied(hop), len(turns)
    noise = _ERROR**2 * (1 - tied**2)
    # The swing is kept as it comes out of the difference that frees the errors: larger by this, and turned.
    by = np.abs(1 - tied / np.where(turns == 0, 1, turns))[:, 0] if strength else np.ones(rates)
    var = (strength * by) ** 2
    states = np.zeros((rates, 3, 3))
    states[:, 0, 0] = strength**2 + _ERROR**2
    states[:, 1, 1] = states[:, 2, 2] = var
    step = np.zeros((rates, 3, 3))
    step[:, 0, 0] = 1
    step[:, 1, 1] = step[:, 2, 2] = turns[:, 0].real
    step[:, 2, 1], step[:, 1, 2] = turns[:, 0].imag, -turns[:, 0].imag
    if strength:
        factor = 1 - tied / turns[:, 0]
        states[:, 0, 1] = states[:, 1, 0] = -(strength**2) * factor.real
        states[:, 0, 2] = states[:, 2, 0] = -(strength**2) * factor.imag
    fresh = var * (1 - np.abs(turns[:, 0]) ** 2)
    seen = np.array([1 - tied, 1.0, 0.0])
    shape = (rates, longest + 1)
    found = Gains(np.zeros(shape), np.zeros(shape, dtype=complex), np.ones(shape), np.zeros(shape))
    found.variance[:, 1] = states[:, 0, 0]
    for age in range(1, longest):
        states = step @ states @ step.transpose(0, 2, 1)
        states[:, 1, 1] += fresh
        states[:, 2, 2] += fresh
        toward = states @ seen
        spread = toward @ seen + noise
        gain = toward / spread[:, np.newaxis]
        states = states - gain[:, :, np.newaxis] * toward[:, np.newaxis, :]
        found.level[:, age], found.swing[:, age] = gain[:, 0], gain[:, 1] + 1j * gain[:, 2]
        found.width[:, age] = np.sqrt(spread)
        found.variance[:, age + 1] = states[:, 0, 0]
    return found
