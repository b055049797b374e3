"""A click track in a take: found by what a click is, told by its tempo, and taken out.

A click is short, and has all frequencies at once: between the harmonics of a note, where there is little, the level
leaps, and a sixteenth of a second later all is as before. Clicks of a track come at even distances and are alike; a
player's attacks are neither that short nor that even. Since they are alike, the median over all of them, set one upon
another, is the click alone, without what was played at the time; that is taken out wherever there is one.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.recording import Recording
from tunelib.pitch import FloatArray

_HOP_SECONDS, _HOPS_IN_WINDOW = 0.005, 2
_LOWEST_HZ, _HIGHEST_HZ = 700.0, 12_000.0
_BEFORE, _AFTER = 4, 13  # frames from a click: where it has not begun, and where it is over
_BANDS = 18
_RISE, _WEAK, _LOUDER = 6.0, 15.0, 3.0  # decibels: of a band; of one under the whole; of all that follows over before
_FASTEST, _SLOWEST = 0.2, 2.1  # seconds from one to the next
_LEEWAY = 0.012  # seconds
_FEWEST = 8
_SHARE_ON_BEATS, _SHARE_OVER = 0.7, 0.4
_LEAD, _LENGTH = 0.010, 0.090  # seconds of a click: before where it was found, and all of it
_SHARE_KNOWN, _SOFTEST = 0.4, 0.2  # of all beats; of the peaks about the clicks
_MOST_OF_ALL = 0.5  # of a take's energy: what has more is what is played
_ALIKE = 0.5  # natural logarithm of the factor by which one click may be larger than another
_MOST_KINDS = 2  # as where the first beat of a bar is another
_OVER_IN, _LEFT = 1 / 3, 0.15  # of a click's length; of its energy after that: what goes on is a note repeated evenly
_FRAMES_AT_A_TIME = 1 << 12


class Clicks(NamedTuple):
    """A click track.

    Parameters
    ----------
    tempo : float
        In clicks a minute.
    places : array of int, shape (clicks,)
        The first sample of each; rising.
    kinds : array of int, shape (clicks,)
        Which of the shapes each has.
    shapes : array, shape (kinds, samples)
        Clicks as they sound.
    """

    tempo: float
    places: npt.NDArray[np.intp]
    kinds: npt.NDArray[np.intp]
    shapes: FloatArray


def find_clicks(recording: Recording) -> Clicks | None:
    """The click track of a take, or None. Goes at most twice through the recording, whose length it must tell."""
    rate = recording.sample_rate
    hop = round(_HOP_SECONDS * rate)
    rise, over = _rises(recording, hop)
    tops = (rise[1:-1] > _RISE) & (rise[1:-1] >= rise[:-2]) & (rise[1:-1] > rise[2:])
    peaks = _strongest_of_near(np.flatnonzero(tops) + 1, rise)
    found = _beats(np.asarray(peaks * (hop / rate), dtype=float), over[peaks])
    if found is None:
        return None
    begin, period = found
    seconds = np.arange(begin % period, recording.expected / rate, period)
    lead, leeway, length = (round(part * rate) for part in (_LEAD, _LEEWAY, _LENGTH))
    starts = np.rint(seconds * rate).astype(int) - lead - leeway
    stretches = np.array(list(recording.windows(starts.tolist(), length + 2 * leeway)))
    clear = np.zeros(seconds.size, dtype=bool)
    clear[np.rint((peaks[over[peaks]] * (hop / rate) - seconds[0]) / period).astype(int).clip(0, seconds.size - 1)] = (
        True
    )
    kinds, lags, shapes = _sorted_out(stretches, clear, length)
    known = kinds >= 0
    if known.sum() < max(_FEWEST, _SHARE_KNOWN * seconds.size):
        return None
    energies = np.sum(shapes**2, axis=1)
    sharp = np.diff(shapes, axis=1) ** 2  # in which what is left of notes is weaker
    if np.min(np.sum(sharp[:, round(_OVER_IN * length) :], axis=1) / np.sum(sharp, axis=1)) > _LEFT:
        return None
    peak = np.abs(shapes).max()
    if peak < _SOFTEST * np.median(np.abs(stretches).max(axis=1)):
        return None
    whole = sum(float(np.sum(block**2)) for block in recording.blocks())
    if np.sum(energies[kinds[known]]) > _MOST_OF_ALL * whole:
        return None
    return Clicks(60 / period, (starts + lags)[known], kinds[known], shapes)


def without_clicks(recording: Recording, clicks: Clicks) -> Recording:
    """A recording with its click track taken out."""
    length = clicks.shapes.shape[1]

    def blocks() -> Iterator[FloatArray]:
        done = 0
        for block in recording.blocks():
            quiet = block.copy()
            first, last = np.searchsorted(clicks.places, (done - length + 1, done + block.size))
            for place, kind in zip(clicks.places[first:last].tolist(), clicks.kinds[first:last], strict=True):
                low, high = max(place, done), min(place + length, done + block.size)
                quiet[low - done : high - done] -= clicks.shapes[kind, low - place : high - place]
            yield quiet
            done += block.size

    return Recording(recording.sample_rate, blocks, recording.expected)


def _rises(recording: Recording, hop: int) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """For each frame, by how many decibels a band is above what it was, and whether that is over soon."""
    length = _HOPS_IN_WINDOW * hop
    window = np.hanning(length)
    rate = recording.sample_rate
    edges = np.rint(np.geomspace(_LOWEST_HZ, min(_HIGHEST_HZ, 0.45 * rate), _BANDS + 1) * length / rate).astype(int)
    count = max(1, recording.expected // hop)
    rise, over = np.zeros(count), np.zeros(count, dtype=bool)
    firsts = range(0, count, _FRAMES_AT_A_TIME)
    size = _FRAMES_AT_A_TIME + 2 * _AFTER
    stretches = recording.windows(((first - _AFTER) * hop - length // 2 for first in firsts), (size - 1) * hop + length)
    for first, stretch in zip(firsts, stretches, strict=True):
        powers = np.abs(np.fft.rfft(window * sliding_window_view(stretch, length)[::hop], axis=1)) ** 2
        whole = powers.sum(axis=1)
        floor = 1e-9 * whole.max() + 1e-30
        bands = 10 * np.log10(np.add.reduceat(powers, edges[:-1], axis=1) + floor)
        whole = 10 * np.log10(whole + floor)
        here = np.arange(_AFTER, _AFTER + min(_FRAMES_AT_A_TIME, count - first))
        mine = slice(first, first + here.size)
        risen = bands[here] - np.maximum(bands[here - _BEFORE], bands[here - _BEFORE - 2])
        fallen = bands[here] - bands[here + _AFTER]
        weak = bands[here] < whole[here, np.newaxis] - _WEAK
        rise[mine] = np.where(weak, 0.0, risen).max(axis=1)
        louder = whole[here + _AFTER] - np.maximum(whole[here - _BEFORE], whole[here - _BEFORE - 2])
        over[mine] = (louder < _LOUDER) & (np.where(weak, 0.0, np.minimum(risen, fallen)).max(axis=1) > _RISE)
    return rise, over


def _strongest_of_near(peaks: npt.NDArray[np.intp], rise: FloatArray) -> npt.NDArray[np.intp]:
    kept: list[int] = []
    for peak in peaks.tolist():
        if kept and peak - kept[-1] <= _AFTER:
            if rise[peak] > rise[kept[-1]]:
                kept[-1] = peak
        else:
            kept.append(peak)
    return np.array(kept, dtype=np.intp)


def _beats(seconds: FloatArray, over: npt.NDArray[np.bool_]) -> tuple[float, float] | None:
    """Where even beats begin on which what rises lies, and their period; None if that is no click track.

    `over` tells which of them are over at once.
    """
    sure = seconds[over]
    if sure.size < _FEWEST:
        return None
    best: tuple[int, float, float] = (0, 0.0, 0.0)
    for apart in (1, 2, 3):
        for begin, period in zip(sure.tolist(), (sure[apart:] - sure[:-apart]).tolist(), strict=False):
            if not _FASTEST <= period <= _SLOWEST:
                continue
            on = np.zeros(0, dtype=int)
            for _ in range(3):  # a line through the beats that it meets, ever better
                number = np.rint((seconds - begin) / period)
                on = np.flatnonzero(np.abs(seconds - begin - number * period) < _LEEWAY)
                if np.unique(number[on]).size < _FEWEST:
                    break
                period, begin = np.polyfit(number[on], seconds[on], 1).tolist()
            if (on.size, period) > best[:2] and on.size >= _FEWEST:
                beats = np.ptp(number[on]) + 1  # a shorter period meets more, and leaves more of its beats out
                if on.size >= _SHARE_ON_BEATS * beats and np.mean(over[on]) >= _SHARE_OVER:
                    best = on.size, period, begin
    met, period, begin = best
    return (begin, period) if met else None


def _sorted_out(
    stretches: FloatArray, clear: npt.NDArray[np.bool_], length: int
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], FloatArray]:
    """The kind of click in each stretch, -1 for none, where it begins there, and the shape of each kind.

    Shapes are made of the clear ones, as differences from sample to sample, in which notes are weaker than clicks.
    """
    sharp = np.diff(stretches, axis=1)
    room = stretches.shape[1] - length
    kinds, lags, told = np.full(len(sharp), -1), np.zeros(len(sharp), dtype=int), np.zeros(len(sharp))
    shapes: list[FloatArray] = []
    for kind in range(_MOST_KINDS):
        rest = np.flatnonzero(clear & (kinds < 0))
        if rest.size < _FEWEST // 2:
            break
        barest = rest[np.argmin(np.sum(sharp[rest] ** 2, axis=1))]
        shape = sharp[barest, room // 2 : room // 2 + length - 1]
        for _ in range(3):
            lag, gain = _fitted(sharp[rest], shape)
            alike = np.abs(np.log(np.maximum(gain, 1e-9))) < _ALIKE
            if alike.sum() < _FEWEST // 2:
                break
            found = zip(rest[alike].tolist(), lag[alike].tolist(), strict=True)
            shape = np.median([sharp[i, at : at + length - 1] for i, at in found], axis=0)
        else:
            lag, gain = _fitted(sharp, shape)
            explained = gain * np.sum(shape**2)
            better = (np.abs(np.log(np.maximum(gain, 1e-9))) < _ALIKE) & (explained > told)
            kinds[better], lags[better], told[better] = kind, lag[better], explained[better]
            mine = np.flatnonzero(better & clear)
            shapes.append(np.median([stretches[i, lags[i] : lags[i] + length] for i in mine], axis=0) * _faded(length))
            continue
        break
    return kinds, lags, np.array(shapes).reshape(-1, length)


def _faded(length: int) -> FloatArray:
    """Weights that are 1 but for a fade at either end."""
    return np.minimum(1.0, np.minimum(np.arange(length) + 1, length - np.arange(length)) * (20 / length))


def _fitted(stretches: FloatArray, shape: FloatArray) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Where in each stretch a shape fits best, and how many times as large it is there."""
    size = stretches.shape[1] + shape.size
    products = np.fft.irfft(np.fft.rfft(stretches, size) * np.conj(np.fft.rfft(shape, size)), size)
    products = products[:, : stretches.shape[1] - shape.size + 1]
    return products.argmax(axis=1), products.max(axis=1) / max(float(np.sum(shape**2)), 1e-300)
