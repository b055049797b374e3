"""Pitch tracking: which pitch a single voice or instrument sounds, moment by moment.

The period of a sound is the time after which it repeats itself. How well it repeats after a lag is its *clarity*
there: the autocorrelation over the mean power of the two stretches that are compared. That is 1 for an exact repeat,
at any level and for any length of window, and near 0 for noise. It is the normalised square difference of
P. McLeod and G. Wyvill ("A smarter way to find pitch", Proc. ICMC, 2005), which is the difference function of
A. de Cheveigné and H. Kawahara ("YIN, a fundamental frequency estimator for speech and music", J. Acoust. Soc. Am.
111, 2002) turned over. Here a window weighs both stretches, evenly about the middle of the frame, so that a pitch that
glides is caught as it is at that moment.

The sound is first narrowed to the band in which pitch is judged, then gone through three times, in many frames at once:

1. A window of four of the longest periods finds, in every frame, the lags that may be the period. How much a lag speaks
   for itself is its clarity, less a little for each octave down, less what it lacks in the autocorrelation of the
   spectrum's magnitudes (T. Tolonen and M. Karjalainen, "A computationally efficient multipitch analysis model", IEEE
   Trans. Speech Audio Process. 8, 2000): there one strong overtone, such as an overtone singer's, does not drown the
   rest. A lag must also be clear when it is taken several times over, which the ringing of filtered breath is not.
2. The best path through these candidates, and through "no pitch", is found by dynamic programming, at costs for leaps
   and for beginning and ending as in P. Boersma, "Accurate short-term analysis of the fundamental frequency", Proc.
   Inst. Phonetic Sciences 17, Amsterdam, 1993.
3. A shorter window, of some eight periods where that is possible, measures the period once more between the samples, at
   the maximum of the clarity, interpolated by a sinc under a Gaussian.

What comes out is the rate at which the whole sound repeats itself. For a string whose partials are stretched that lies
above partial 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.between_samples import FINE_TAPS, ROUGH_TAPS, between, maximum_near
from tunelib.hearing.pitch_path import best_path
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.pitch import FloatArray

VOICED_CLARITY = 0.6  # what "no pitch" scores: a pitch must be clearer
SILENCE_DBFS = -90.0
SILENCE_BELOW_LOUDEST_DB = -60.0

_LEAST_RATE, _LEAST_RATE_OVER_HIGHEST = 16000.0, 8.0  # hertz, and times the highest pitch, to which a rate may go down
_LONG_WINDOW_PERIODS, _SHORT_WINDOW_SECONDS = 4.0, 0.036
_MARGIN = 2 ** (1 / 24)  # a quarter-tone: how far outside the bounds a pitch is still looked for

_CANDIDATES, _LEAST_CANDIDATE = 7, 0.2  # lags of a frame, and the clarity that each has at least
_REPEATS, _LEEWAY = 4, 0.1  # times that a lag is taken, and by how much it may be less clear then
_MAGNITUDE_SHARE = 0.5  # of what is lacking in the autocorrelation of magnitudes, that counts
_OCTAVE_COST, _OCTAVE_COST_OF_NOISE = 0.04, 0.1  # for each octave down, and more the less clear a frame is
_NEVER = -1e3  # a score that no candidate has
_BRIDGED, _BRIDGED_MOVE = 0.1, (0.025, 0.25)  # seconds of a gap that is looked into again, and octaves across it

_BLOCK = 16  # samples, over which the window is as good as level
_VALUES_AT_A_TIME = 1 << 18
_TINY = 2.0**-64  # a power of two, so that nothing is rounded


class PitchTrack(NamedTuple):
    """A pitch over time: three arrays of equal length, one value for each frame.

    Parameters
    ----------
    times : array
        Middle of each frame in seconds since the first sample, evenly spaced.
    hertz : array
        Pitch at that moment; NaN where there is none.
    confidence : array
        How well the sound repeats itself, from 0 (noise, silence) to 1 (exactly).
    """

    times: FloatArray
    hertz: FloatArray
    confidence: FloatArray


def track_pitch(
    samples: npt.ArrayLike,
    sample_rate: float,
    *,
    lowest: float = 50.0,
    highest: float = 2000.0,
    hop: float = 0.010,
    clarity: float = VOICED_CLARITY,
) -> PitchTrack:
    """The pitch of one voice or instrument over time. What has no pitch (breath, noise, silence) is NaN, never a guess.

    A frame counts as silent when it is 60 dB below the loudest one or 90 dB below full scale. Time resolution is that
    of the window: 80 ms at 50 Hz falling to 36 ms at 400 Hz and above, weighted towards the middle (so a vibrato of
    6 Hz comes out 2 to 5 per cent too narrow). The window grows with ``1 / lowest``.

    Parameters
    ----------
    samples : array, shape (samples,) or (samples, channels)
        Floats, of which 1 is full scale, or whole numbers of which their type's range is. Channels are averaged.
    sample_rate : float
        In hertz, at least four times `highest`.
    lowest, highest : float
        Bounds in hertz between which a pitch is looked for, 10 or more.
    hop : float
        From one frame to the next in seconds, 0.001 to 1; taken to the nearest sample of the narrowed sound.
    clarity : float
        What a frame needs to count as pitched, between 0 and 1.

    Returns
    -------
    PitchTrack
        Unpacks as ``times, hertz, confidence``.

    Raises ValueError for no samples, samples that are not finite numbers, or a value out of these bounds.

    >>> seconds = np.arange(24000) / 48000
    >>> times, hertz, confidence = track_pitch(0.1 * np.sin(2 * np.pi * 440 * seconds), 48000)
    >>> round(float(np.nanmedian(hertz)), 3)
    440.0
    """
    return track_recording(Recording.of(samples, sample_rate), lowest=lowest, highest=highest, hop=hop, clarity=clarity)


def track_recording(
    recording: Recording,
    *,
    lowest: float = 50.0,
    highest: float = 2000.0,
    hop: float = 0.010,
    clarity: float = VOICED_CLARITY,
    progress: Progress | None = None,
) -> PitchTrack:
    """The pitch of a recording that is gone through in blocks, three times; the rest is as for `track_pitch`.

    Memory grows by some 300 bytes a frame, 100 MB for an hour, whatever the sample rate.
    """
    _check(recording.sample_rate, lowest, highest, hop, clarity)
    tell = progress or (lambda share: None)
    level = _levelled(recording, share_of(tell, 0.0, 0.1))
    sound = _narrowed(level, recording.sample_rate, lowest, highest)
    rate = sound.sample_rate
    frames = _Frames(sound, max(1, round(hop * rate)), longest=_long_window(rate, lowest))

    found = _candidates(frames, rate, lowest, highest, share_of(tell, 0.1, 0.6))
    levels = 10 * np.log10(np.maximum(found.power, 1e-300))
    level_of_peak = 20 * math.log10(level.peak) if level.peak else -math.inf
    audible = levels > max(levels.max() + SILENCE_BELOW_LOUDEST_DB, SILENCE_DBFS - level_of_peak)
    middle = math.log2(rate / math.sqrt(lowest * highest))

    def columns(first: int, last: int) -> tuple[FloatArray, FloatArray]:
        part = _Candidates(*(values[first:last] for values in found))
        octaves, scores = _weighed(part, audible[first:last], middle)
        return (
            np.column_stack((np.full(last - first, clarity), scores)),
            np.column_stack((np.full(last - first, np.nan), octaves)),
        )

    path = best_path(columns, frames.count, frames.step / rate)
    hertz = np.full(frames.count, np.nan)
    confidence = np.where(audible, found.clarity.max(axis=1), 0.0)
    lags = np.where(path > 0, found.lag[np.arange(frames.count), np.maximum(path - 1, 0)], np.nan)
    bridges = _bridges(lags, frames.step / rate)
    for lot in frames.lots(share_of(tell, 0.6, 1.0)):
        rows = lot.rows[(path[lot.rows] > 0) | np.isfinite(bridges[lot.rows])]
        bridged = np.isfinite(bridges[rows])
        near = np.where(bridged, bridges[rows], lags[rows])
        period, clear = _measured(lot, rows, near, bridged, rate, lowest)
        pitch = rate / period
        sure = (clear >= clarity) & (pitch >= lowest / _MARGIN) & (pitch <= highest * _MARGIN)
        told = sure | ~bridged
        confidence[rows[told]] = clear[told]
        hertz[rows[sure]] = pitch[sure]
    return PitchTrack(frames.step * np.arange(frames.count) / rate, hertz, np.clip(confidence, 0.0, 1.0))


def _check(sample_rate: float, lowest: float, highest: float, hop: float, clarity: float) -> None:
    if not 10 <= lowest < highest < math.inf:
        raise ValueError(
            f"a pitch is looked for between 10 Hz or more and a higher bound, not from {lowest} to {highest}"
        )
    if not 4 * highest <= sample_rate < math.inf:
        raise ValueError(
            f"pitches up to {highest:g} Hz need a sample rate of {4 * highest:g} Hz or more, not {sample_rate}; "
            "give a lower bound as highest"
        )
    if not 0.001 <= hop <= 1:
        raise ValueError(f"the hop from frame to frame must be from 0.001 to 1 second, not {hop}")
    if not 0 < clarity < 1:
        raise ValueError(f"the clarity that a pitch needs must be between 0 and 1, not {clarity}")


class _Level(NamedTuple):
    """A recording brought to a peak of 1 and a mean of 0; `peak` is what it was, `size` its samples."""

    recording: Recording
    size: int
    peak: float


def _levelled(recording: Recording, progress: Progress) -> _Level:
    size, peak, total = 0, 0.0, 0.0
    for block in recording.told(progress).blocks():
        size += block.size
        peak = max(peak, float(np.abs(block).max(initial=0.0)))
        total += float((block * _TINY).sum())  # no sum of floats that are so much smaller passes the largest
    if not size:
        raise ValueError("there are no samples: give an array of the shape (samples,) or (samples, channels)")
    scale = peak or 1.0
    mean = total / size / (scale * _TINY) if scale * _TINY else 0.0
    return _Level(
        Recording(recording.sample_rate, lambda: (block / scale - mean for block in recording.blocks())), size, peak
    )


def _narrowed(level: _Level, sample_rate: float, lowest: float, highest: float) -> Recording:
    """The band that is listened to, at the lower sample rate that it needs; a product of spectra, block by block.

    It fades in from a quarter to three quarters of the lowest pitch, which leaves out rumble, and out from 0.6 to 0.85
    of half the new rate, so that little interpolation is needed between its samples.
    """
    factor = max(1, int(sample_rate / max(_LEAST_RATE, _LEAST_RATE_OVER_HIGHEST * highest)))
    rate = sample_rate / factor
    margin = math.ceil(12 / lowest * rate)  # in new samples: as long as the filter rings
    kept = 1 << max(15, math.ceil(math.log2(4 * margin)))
    inner = kept - 2 * margin
    hertz = np.arange(kept // 2 + 1) * (rate / kept)
    fade_in = np.clip((hertz - lowest / 4) / (lowest / 2), 0, 1)
    fade_out = np.clip((0.85 - hertz / (rate / 2)) / 0.25, 0, 1)
    response = (np.sin(np.pi / 2 * fade_in) * np.sin(np.pi / 2 * fade_out)) ** 2 / factor
    size = -(-level.size // factor)
    begins = range(0, size, inner)

    def blocks() -> Iterator[FloatArray]:
        windows = level.recording.windows(((begin - margin) * factor for begin in begins), kept * factor)
        for begin, window in zip(begins, windows, strict=True):
            filtered = np.fft.irfft(np.fft.rfft(window)[: kept // 2 + 1] * response, kept)
            yield filtered[margin : margin + min(inner, size - begin)]

    return Recording(rate, blocks, size)


def _long_window(rate: float, lowest: float) -> int:
    return _BLOCK * int(_LONG_WINDOW_PERIODS / lowest * rate / _BLOCK)


class _Frames:
    """Stretches of a sound about evenly spaced centres, the first at sample 0; beyond its ends it is silent.

    They are gone through in lots, which keeps the arrays at hand small.
    """

    def __init__(self, sound: Recording, step: int, longest: int) -> None:
        self.step, self.count = step, -(-sound.expected // step)
        self._sound, self._longest = sound, longest

    def lots(self, progress: Progress) -> Iterator[_Lot]:
        at_a_time = max(1, _VALUES_AT_A_TIME // self._longest)
        firsts = range(0, self.count, at_a_time)
        starts = (first * self.step - self._longest // 2 for first in firsts)
        windows = self._sound.windows(starts, (at_a_time - 1) * self.step + self._longest)
        for first, stretch in zip(firsts, windows, strict=True):
            rows = np.arange(first, min(first + at_a_time, self.count))
            yield _Lot(rows, stretch, self.step, self._longest)
            progress((int(rows[-1]) + 1) / self.count)


class _Lot(NamedTuple):
    """Neighbouring frames, and the sound from the beginning of the first to the end of the last."""

    rows: npt.NDArray[np.intp]
    stretch: FloatArray
    step: int
    longest: int

    def about(self, rows: npt.NDArray[np.intp], length: int) -> FloatArray:
        """Frames of an even length, shape (rows, length)."""
        starts = (rows - self.rows[0]) * self.step + (self.longest // 2 - length // 2)
        return np.asarray(sliding_window_view(self.stretch, length)[starts])


def _window(length: int) -> FloatArray:
    return np.asarray(np.sin(np.pi * np.arange(length) / length) ** 2)


def _transform_size(least: int) -> int:
    """The next even size with no prime factor above 5, which transforms fast."""
    odd_parts = (3**three * 5**five for three in range(least.bit_length()) for five in range(least.bit_length() // 2))
    return int(min(odd << max(1, (-(-least // odd) - 1).bit_length()) for odd in odd_parts))


class _Candidates(NamedTuple):
    """Lags that may be the period, shape (frames, candidates), and each frame's mean power, shape (frames,).

    Lags are in samples, 1 where there is no candidate. `clarity` and `magnitude` are the two autocorrelations there.
    """

    lag: FloatArray
    clarity: FloatArray
    magnitude: FloatArray
    power: FloatArray


def _candidates(frames: _Frames, rate: float, lowest: float, highest: float, progress: Progress) -> _Candidates:
    """The lags at which the clarity has its highest maxima; in single precision, since these are only chosen among."""
    length = _long_window(rate, lowest)
    longest = rate / lowest * _MARGIN
    reach = min(math.ceil(longest) + ROUGH_TAPS.size, length)
    size = _transform_size(length + reach)
    window = _window(length)
    overlap = np.fft.irfft(np.abs(np.fft.rfft(window, size)), size)[:reach]
    overlap = (overlap / overlap[0]).astype(np.float32)
    window_power = float(np.sum(window**2))

    # Power under both windows at every lag: the window is smooth, so the sound's power is taken in small blocks.
    middles = np.arange(_BLOCK // 2, length, _BLOCK)[:, np.newaxis] + reach
    around = np.pad(window, reach)
    spread = (around[middles + np.arange(reach)] + around[middles - np.arange(reach)]).astype(np.float32) / 2

    window = window.astype(np.float32)
    lags = np.arange(1, reach - 1)
    outside = (lags < rate / highest / _MARGIN - 1) | (lags > longest)
    octave_cost = (2 * _OCTAVE_COST * np.log2(lags)).astype(np.float32)

    shape = (frames.count, _CANDIDATES)
    result = _Candidates(np.ones(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape[0]))
    for lot in frames.lots(progress):
        part = lot.rows
        weighted = lot.about(part, length).astype(np.float32)
        blocks = np.empty((part.size, length // _BLOCK), dtype=np.float32)
        squared = weighted * weighted
        squared *= window
        squared.reshape(part.size, -1, _BLOCK).sum(axis=2, out=blocks)
        weighted *= window
        power = np.abs(np.fft.rfft(weighted, size)) ** 2
        both = blocks @ spread
        both = np.maximum(both, 1e-9 * both[:, :1] + np.float32(1e-30))
        clear = np.fft.irfft(power, size)[:, :reach] / both
        magnitude = np.fft.irfft(np.sqrt(power), size)[:, :reach]
        magnitude /= np.maximum(magnitude[:, :1], np.float32(1e-30)) * overlap

        before, here, after = clear[:, :-2], clear[:, 1:-1], clear[:, 2:]
        top = here - (after - before) ** 2 / (8 * np.minimum(before - 2 * here + after, np.float32(-1e-9)))
        rank = np.minimum(top, np.float32(1)) + _MAGNITUDE_SHARE * magnitude[:, 1:-1] - octave_cost
        rank[(here < before) | (here <= after) | (here < _LEAST_CANDIDATE) | outside] = _NEVER
        chosen, found = _highest(rank, _CANDIDATES)

        rows = np.arange(part.size)[:, np.newaxis]
        before, here, after = (clear[rows, lags[chosen] + side].astype(float) for side in (-1, 0, 1))
        bend = np.minimum(before - 2 * here + after, -1e-9)
        lag = np.where(found, lags[chosen] + np.clip(0.5 * (before - after) / bend, -0.5, 0.5), 1.0)
        repeated = np.clip(np.floor(longest / lag), 1, _REPEATS) * lag
        lasting = np.minimum(between(clear, lag, ROUGH_TAPS), between(clear, repeated, ROUGH_TAPS) + _LEEWAY)
        result.lag[part] = lag
        result.clarity[part] = np.where(found, lasting, 0.0)
        result.magnitude[part] = np.where(found, between(magnitude, lag, ROUGH_TAPS), 0.0)
        result.power[part] = both[:, 0] / window_power
    return result


def _highest(rank: npt.NDArray[Any], count: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.bool_]]:
    """Columns of the highest values of each row, and whether they are values at all; uses `rank` up."""
    rows = np.arange(len(rank))
    chosen = np.empty((len(rank), count), dtype=np.intp)
    found = np.empty(chosen.shape, dtype=bool)
    for place in range(count):
        chosen[:, place] = rank.argmax(axis=1)
        found[:, place] = rank[rows, chosen[:, place]] > _NEVER
        rank[rows, chosen[:, place]] = _NEVER
    return chosen, found


def _weighed(found: _Candidates, audible: npt.NDArray[np.bool_], middle: float) -> tuple[FloatArray, FloatArray]:
    """Each candidate's lag in octaves, and what speaks for it; `middle` is the lag in octaves that costs nothing."""
    octaves = np.log2(found.lag)
    clearest = found.clarity.max(axis=1, keepdims=True)
    leading = np.maximum(found.magnitude.max(axis=1, keepdims=True), 1e-9)
    cost = _OCTAVE_COST + _OCTAVE_COST_OF_NOISE * np.clip(1 - clearest, 0, 1)
    scores = found.clarity - _MAGNITUDE_SHARE * (1 - found.magnitude / leading) - cost * (octaves - middle)
    return octaves, np.where(audible[:, np.newaxis] & (found.clarity > 0), scores, _NEVER)


def _bridges(lags: FloatArray, seconds: float) -> FloatArray:
    """Where the period may be in short gaps, from one end of a gap to the other; NaN elsewhere.

    In a wide vibrato the pitch moves so fast between its ends that the long window finds none, and the short one does.
    """
    known = np.flatnonzero(np.isfinite(lags))
    guesses = np.full(lags.size, np.nan)
    ends, begins = known[:-1], known[1:]
    for end, begin in zip(ends.tolist(), begins.tolist(), strict=True):
        gap = (begin - end - 1) * seconds
        if 0 < gap <= _BRIDGED and _BRIDGED_MOVE[0] <= abs(math.log2(lags[begin] / lags[end])) <= _BRIDGED_MOVE[1]:
            share = np.arange(1, begin - end) / (begin - end)
            guesses[end + 1 : begin] = lags[end] ** (1 - share) * lags[begin] ** share
    return guesses


def _measured(
    lot: _Lot, rows: npt.NDArray[np.intp], lag: FloatArray, guessed: npt.NDArray[np.bool_], rate: float, lowest: float
) -> tuple[FloatArray, FloatArray]:
    """Period in samples and clarity in these rows, near lags that are known roughly, under shorter windows.

    Where a lag is only guessed, the highest clarity within a quarter-tone of it is gone to first.
    """
    period, clear = np.ones(rows.size), np.zeros(rows.size)
    octave = np.maximum(np.floor(np.log2(rate / lag / lowest)), 0)
    for group in np.unique(octave):
        seconds = max(_LONG_WINDOW_PERIODS / lowest / 2 ** (group / 2), _SHORT_WINDOW_SECONDS)
        length = min(2 * round(seconds * rate / 2), lot.longest)
        reach = min(math.ceil(rate / (lowest * 2**group) * _MARGIN) + FINE_TAPS.size, length)
        part = np.flatnonzero(octave == group)
        values = _clarity(lot.about(rows[part], length), reach)
        near = lag[part].copy()
        for row in np.flatnonzero(guessed[part]).tolist():
            low, high = int(near[row] / _MARGIN), min(math.ceil(near[row] * _MARGIN), reach - 1)
            near[row] = low + int(values[row, low : high + 1].argmax())
        period[part], clear[part] = maximum_near(values, near)
    return period, clear


def _clarity(frames: FloatArray, reach: int) -> FloatArray:
    """Clarity at lags from 0 to before `reach`, shape (frames, reach)."""
    length = frames.shape[1]
    size = _transform_size(length + reach)
    window = _window(length)
    weighted = frames * window
    spectrum = np.fft.rfft(weighted, size)
    products = np.fft.irfft(spectrum.real**2 + spectrum.imag**2, size)[:, :reach]
    weighted *= frames
    ahead_and_behind = (np.fft.rfft(weighted, size) * np.conj(np.fft.rfft(window, size))).real
    powers = np.fft.irfft(ahead_and_behind, size)[:, :reach]
    return np.asarray(products / np.maximum(powers, 1e-12 * powers[:, :1] + 1e-30))
