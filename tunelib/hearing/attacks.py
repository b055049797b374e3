"""Where a note may begin, by the level of a sound, its brightness, and how well it repeats itself.

A struck, tongued or bowed beginning shows in three ways: within some hundredths of a second the level rises, and that
of the high partials and of the noise above them rises more; and the sound stops repeating itself for a moment, since
what rings on and what begins are not in step. Each is taken beyond what is usual in the second about it, so that a
vibrato's swelling, a drone's beats or a noisy bow are no attacks; and only differences within a tenth of a second
count, since recorders ride the level.

Together they give the logarithm of the odds that a note begins there. The weights are a logistic regression on takes of
sampled instruments with known beginnings, in two sound fonts; others are kept for judging them (`FRESH` in
`tests/takes.py`).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.powers import Powers
from tunelib.hearing.recording import Recording
from tunelib.pitch import FloatArray

SURE_ATTACK = 8.0  # nats from which an attack is taken for one
MOST = 18.0  # nats that an attack is worth at most

_BIAS, _RISE, _BRIGHTER, _LOST = -2.1, 0.5, 1.05, 60.0  # nats: of the odds, for a decibel, and for all of the clarity
_MOST_RISE, _MOST_LOST = 15.0, 0.3
_BESIDE, _CLEAR_BESIDE, _APART, _USUAL = 0.04, 0.06, 0.09, 0.5  # seconds either way
_QUIETEST = -70.0  # decibels of full scale
_DULLEST = -90.0  # decibels of the second difference


class Attacks(NamedTuple):
    """Evidence of attacks in a take: two arrays with a value for each frame of its track.

    Parameters
    ----------
    worth : array
        Nats by which a note is more likely to begin there than at another frame; 0 for most.
    level_db : array
        Level within 10 ms either way, in decibels of full scale.
    """

    worth: FloatArray
    level_db: FloatArray


def attacks_of(recording: Recording, track: PitchTrack) -> Attacks:
    """Evidence of attacks in a recording whose pitch is known; one pass, in blocks."""
    hop = float(track.times[1] - track.times[0]) if track.times.size > 1 else 0.01
    level, bright = _levels(recording, track.times, hop)
    return Attacks(_worth(level, bright, track.confidence, hop), level)


def attacks_by_clarity(clarity: FloatArray, hop: float) -> Attacks:
    """Evidence of attacks from how well a sound repeats itself alone; levels are NaN."""
    same = np.zeros(clarity.size)
    return Attacks(_worth(same, same, clarity, hop), np.full(clarity.size, np.nan))


def _levels(recording: Recording, times: FloatArray, hop: float) -> tuple[FloatArray, FloatArray]:
    """Levels of a sound and of its second difference, which is its brightness, in decibels about each frame."""
    part = max(1, round(0.5 * hop * recording.sample_rate))
    sound, differences = Powers(part), Powers(part)
    last = np.zeros(2)
    for block in recording.blocks():
        sound.add(block)
        joined = np.concatenate((last, block))
        differences.add(np.diff(joined, 2))
        last = joined[-2:]
    middles = np.rint(times * recording.sample_rate / part).astype(int)
    return _about(sound.values(), middles, _QUIETEST), _about(differences.values(), middles, _DULLEST)


def _about(powers: FloatArray, middles: npt.NDArray[np.intp], least: float) -> FloatArray:
    """Decibels of the mean of two parts either way, but no less than `least`."""
    around = sliding_window_view(np.pad(powers, 2), 4).mean(axis=1)
    return np.asarray(np.maximum(10 * np.log10(around[np.minimum(middles, around.size - 1)] + 1e-30), least))


def _worth(level: FloatArray, bright: FloatArray, clarity: FloatArray, hop: float) -> FloatArray:
    odds = _BIAS + _RISE * _risen(level, hop) + _BRIGHTER * _risen(bright, hop) + _LOST * _lost(clarity, hop)
    apart = max(1, round(_APART / hop))
    ranked = odds + 1e-6 * np.arange(odds.size)  # so that no two are equal
    peaks = ranked == _highest(ranked, apart, apart)
    return np.where(peaks & (odds > 0) & (level > _QUIETEST), np.minimum(odds, MOST), 0.0)


def _risen(level: FloatArray, hop: float) -> FloatArray:
    """By how many decibels a level rises about each frame, beyond what it usually does there."""
    reach = max(1, round(_BESIDE / hop))
    rise = _highest(level, 0, reach) + _highest(-level, reach, 0)
    stays = _middle(level, -1, reach + 1) > _middle(level, reach + 1, -1)
    return np.clip(np.where(stays, rise, 0.0) - _usual(rise, hop), 0.0, _MOST_RISE)


def _lost(clarity: FloatArray, hop: float) -> FloatArray:
    """How much of its clarity a sound loses between two clear moments, beyond what it usually does there."""
    reach = max(1, round(_CLEAR_BESIDE / hop))
    sides = np.minimum(_highest(clarity, reach, 0), _highest(clarity, 0, reach))
    lost = sides + _highest(-clarity, 2, 2)
    return np.clip(lost - _usual(lost, hop), 0.0, _MOST_LOST)


def _around(values: FloatArray, before: int, after: int) -> FloatArray:
    """The frames about each frame, from `before` before it to `after` after it, shape (frames, any)."""
    left, right = max(before, 0), max(after, 0)
    windows = sliding_window_view(np.pad(values, (left, right), mode="edge"), before + after + 1)
    return np.asarray(windows[left - before : left - before + values.size])


def _highest(values: FloatArray, before: int, after: int) -> FloatArray:
    return np.asarray(_around(values, before, after).max(axis=1))


def _middle(values: FloatArray, before: int, after: int) -> FloatArray:
    return np.asarray(np.median(_around(values, before, after), axis=1))


def _usual(values: FloatArray, hop: float) -> FloatArray:
    reach = round(_USUAL / hop)
    return _middle(values, reach, reach)
