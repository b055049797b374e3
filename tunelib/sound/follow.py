"""A sound that follows knobs as they move: tones that glide, without a click and without losing their phase.

What sounds is given as it would be at moments a hundredth of a second apart. Between two of them each partial's
frequency and amplitude go in straight lines, and its phase is their integral, so where nothing moves every pitch is
exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from tunelib.pitch import FloatArray
from tunelib.score import Score, ScoreNote
from tunelib.sound.limiter import SAMPLE_RATE, limit
from tunelib.sound.render import HEADROOM, USUAL_PEAK_DBFS, check_gain, timbre_of
from tunelib.sound.timbre import HIGHEST_PARTIAL_HZ, Timbre

MOMENTS_A_SECOND = 100

_STEP = SAMPLE_RATE // MOMENTS_A_SECOND
_RAMP_SECONDS = 0.02
_SINES_AT_A_TIME = 1 << 21

Moment: TypeAlias = tuple[Score, Timbre | Mapping[str, Timbre], float]
"""A score, what plays it, and its gain."""

_Partials: TypeAlias = dict[tuple[str, int, int], tuple[float, float, float]]
"""Hertz, amplitude and first phase of each partial, by voice, the note's place in its voice, and the partial's
number."""


def chord_of(score: Score) -> tuple[ScoreNote, ...]:
    """The notes of a score that sound together where most do; of several such places, the last.

    >>> from tunelib.score import sequence
    >>> [note.hertz for note in chord_of(sequence([(220, None), (330, None)]))]
    [330]
    """
    sounding = [note for note in score.notes if note.level > 0]
    chords = [tuple(note for note in sounding if note.onset <= one.onset < note.end) for one in sounding]
    return max(reversed(chords), key=len, default=())


def follow(moments: Sequence[Moment], peak_dbfs: float = USUAL_PEAK_DBFS) -> FloatArray:
    """The sound of scores that follow one another a hundredth of a second apart, each held as the chord it comes to.

    Parameters
    ----------
    moments : sequence of (Score, timbre, gain)
        Timbres and gains as `render` takes them. The same three again and again, as one object, costs little.
    peak_dbfs : float
        The largest peak that may come out, in dB below full scale.

    Returns
    -------
    array of float64, shape (480 * (len(moments) - 1),), at 48 kHz
        Notes are as loud as `render` has them, and do not die away. A note that comes or goes does so within a
        hundredth of a second; the whole begins and ends in silence.

    Raises ValueError for fewer than two moments, a voice without a timbre, or a gain that is not above 0.
    """
    if len(moments) < 2:
        raise ValueError(f"a sound that follows needs two moments at least, not {len(moments)}")
    ceiling = 10 ** (peak_dbfs / 20)
    frames: list[_Partials] = []
    for number, moment in enumerate(moments):
        still = number > 0 and moment is moments[number - 1] and not _moves(moment)
        frames.append(frames[-1] if still else _partials(moment, number / MOMENTS_A_SECOND, ceiling / HEADROOM))
    out = _summed(frames)
    ramp = min(round(_RAMP_SECONDS * SAMPLE_RATE), out.size // 2)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(ramp) / ramp)
    out[:ramp] *= rise
    out[out.size - ramp :] *= rise[::-1]
    return limit(out, ceiling, SAMPLE_RATE)


def _moves(moment: Moment) -> bool:
    score, timbre, _ = moment
    return any(timbre_of(note, timbre).moves for note in chord_of(score))


def _partials(moment: Moment, seconds: float, full_level: float) -> _Partials:
    score, timbre, gain = moment
    found: _Partials = {}
    counted: dict[str, int] = {}
    for note in chord_of(score):
        of = timbre_of(note, timbre)
        place = counted[note.voice] = counted.get(note.voice, 0) + 1
        hertz, amplitudes, _ = of.partials(note.hertz)
        if of.moves:
            amplitudes = amplitudes * of.movement(note.hertz, np.array([seconds]))[0]
        level = full_level * check_gain(gain) * note.level
        rows = zip(of.numbers(note.hertz), hertz, level * amplitudes, of.phases(note.hertz), strict=True)
        for number, frequency, amplitude, phase in rows:
            found[note.voice, place, int(number)] = (float(frequency), float(amplitude), float(phase))
    return found


def _summed(frames: Sequence[_Partials]) -> FloatArray:
    """Partials that go in straight lines from moment to moment, added up."""
    out = np.zeros(_STEP * (len(frames) - 1))
    keys = list(dict.fromkeys(key for frame in frames for key in frame))
    hertz = np.full((len(frames), len(keys)), np.nan)
    strength = np.zeros((len(frames), len(keys)))
    phases = np.zeros(len(keys))
    column = {key: number for number, key in enumerate(keys)}
    before: _Partials = {}
    begun: set[tuple[str, int, int]] = set()
    for number, frame in enumerate(frames):
        if frame is before:
            hertz[number], strength[number] = hertz[number - 1], strength[number - 1]
            continue
        before = frame
        for key, (frequency, amplitude, phase) in frame.items():
            at = column[key]
            if key not in begun:
                phases[at] = phase
                begun.add(key)
            hertz[number, at], strength[number, at] = frequency, amplitude
    _fill_gaps(hertz)
    turns = np.cumsum((hertz[:-1] + hertz[1:]) / 2 / MOMENTS_A_SECOND, axis=0)
    starts = np.concatenate([np.zeros((1, len(keys))), turns[:-1]]) % 1.0 + phases / (2 * np.pi)
    at_once = max(1, _SINES_AT_A_TIME // (_STEP * max(1, len(keys))))
    time = np.arange(_STEP) / SAMPLE_RATE
    share = np.arange(_STEP) / _STEP
    for first in range(0, len(frames) - 1, at_once):
        last = min(first + at_once, len(frames) - 1)
        live = (strength[first : last + 1] > 0).any(axis=0)
        f, a = hertz[first : last + 1, live], strength[first : last + 1, live]
        bend = (f[1:] - f[:-1]) * MOMENTS_A_SECOND / 2
        cycles = starts[first:last, live, np.newaxis] + time * (f[:-1, :, np.newaxis] + bend[:, :, np.newaxis] * time)
        # Phases stay in double precision until less than a turn is left; their sines, in single, are good to 140 dB.
        waves = np.sin((2 * np.pi * (cycles - np.floor(cycles))).astype(np.float32))
        loud = (a[:-1, :, np.newaxis] + (a[1:] - a[:-1])[:, :, np.newaxis] * share).astype(np.float32)
        out[first * _STEP : last * _STEP] = np.einsum("mps,mps->ms", waves, loud).ravel()
    return out


def _fill_gaps(hertz: FloatArray) -> None:
    """Where a partial does not sound it keeps the frequency that it had last, or will have first; in place."""
    for column in hertz.T:
        known = np.flatnonzero(~np.isnan(column))
        nearest = np.maximum(np.searchsorted(known, np.arange(column.size), side="right") - 1, 0)
        column[:] = column[known[nearest]]
    np.minimum(hertz, HIGHEST_PARTIAL_HZ, out=hertz)
