"""What may be wrong with a recording whose pitch is to be measured: silence, clipping, noise, several notes at once.

Each is told from the sound itself and from its pitch track, on a sample of its loud moments, so that a long take costs
little more than a short one. The bounds were set by hand, on rendered takes and on notes of sampled instruments.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.pitch import FloatArray

_BLOCK_SECONDS = 0.05
_SAMPLES_AT_A_TIME = 1 << 20

_FLAT_SAMPLES = 4  # as many equal samples at a peak are a flat top,
_FLAT_STEP = 0.002  # if the wave came up to it in a step of more than this, as a share of the peak,
_ROUNDED = 1e-4  # and more than the three steps of 16 bits by which a gentle crest may be rounded
_FLAT_TOPS = 3  # so many of them are more than chance

_MOMENTS = 160
_LOUD = 0.06  # of the loudest moment's amplitude
_WINDOW_SECONDS = 0.17
_HIGHEST_HZ = 5000.0
_STEADY = 80.0  # cents within the window
_PEAK, _TONAL = 0.02, 8.0  # of the strongest peak's amplitude; times the median about it
_MISTUNED = 0.03  # of a partial's frequency: strings that resist bending stretch theirs by as much
_STRAY_POWER = 0.05
_ABSENT = 0.27
_OFTEN = 0.25
_UNCLEAR = 0.95
_QUIET_SHARE, _QUIET_FRAMES = 0.2, 20
_FLOOR = 0.1  # of the notes' amplitude


def loudest_dbfs(sound: FloatArray, sample_rate: float) -> float:
    """Level of the loudest 50 ms, in dB below a square wave of full scale; minus infinity for digital silence."""
    power = _powers(sound, max(1, round(_BLOCK_SECONDS * sample_rate))).max(initial=0.0)
    return 10 * math.log10(power) if power else -math.inf


def _powers(sound: FloatArray, block: int) -> FloatArray:
    """Mean square of each block of samples; what is left over at the end is left out."""
    count = sound.size // block
    blocks = sound[: count * block].reshape(count, block)
    return np.asarray(np.einsum("ij,ij->i", blocks, blocks) / block)


def clipped(sound: FloatArray) -> bool:
    """Whether peaks are cut off: runs of equal samples near the largest, come up to more steeply than a crest is."""
    peak = max(sound.max(initial=0.0), -sound.min(initial=0.0))
    tops = 0
    for start in range(0, sound.size, _SAMPLES_AT_A_TIME):
        part = sound[start : start + _SAMPLES_AT_A_TIME]
        still = np.equal(part[1:], part[:-1])
        if still.size < _FLAT_SAMPLES:
            continue
        flat = np.asarray(sliding_window_view(still, _FLAT_SAMPLES - 1).all(axis=1))
        first = np.flatnonzero(flat[1:] & ~still[: flat.size - 1]) + 1
        height, step = np.abs(part[first]), np.abs(part[first] - part[first - 1])
        tops += int(np.sum((height > 0.9 * peak) & (step > max(_FLAT_STEP * peak, _ROUNDED))))
    return tops >= _FLAT_TOPS


def polyphonic(sound: FloatArray, sample_rate: float, track: PitchTrack) -> bool:
    """Whether more than one note sounds at a time, in a good part of the loud moments.

    Another note shows in strong partials that are no multiples of the pitch; or, where the two make a simple ratio and
    the pitch found is that of their common period, in a fundamental that is missing among others.
    """
    judged = [
        _several(spectrum, sample_rate / length, pitch)
        for spectrum, length, pitch in _loud_spectra(sound, sample_rate, track)
    ]
    return bool(judged) and float(np.mean(judged)) > _OFTEN


def noisy(sound: FloatArray, sample_rate: float, track: PitchTrack) -> bool:
    """Whether loud moments repeat themselves too poorly, or not at all, or the gaps between notes are too loud."""
    if not track.times.size:
        return False
    levels = _levels(sound, sample_rate, track)
    loud, voiced = _loud(levels), np.isfinite(track.hertz)
    if np.sum(loud & voiced) < np.sum(loud) / 2:
        return True
    gaps = levels[~voiced]
    floor = np.quantile(gaps, _QUIET_SHARE) if gaps.size >= _QUIET_FRAMES else 0.0
    unclear = np.median(track.confidence[loud & voiced]) < _UNCLEAR
    return bool(unclear or floor > _FLOOR * np.median(levels[loud & voiced]))


def _levels(sound: FloatArray, sample_rate: float, track: PitchTrack) -> FloatArray:
    """Root mean square of the sound from each frame of the track to the next."""
    block = max(1, round((track.times[1] - track.times[0]) * sample_rate)) if track.times.size > 1 else sound.size
    levels = np.sqrt(_powers(sound, block))
    return np.asarray(levels[np.minimum((track.times * sample_rate / block).astype(int), levels.size - 1)])


def _loud(levels: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(levels > _LOUD * levels.max(initial=0.0))


def _loud_spectra(sound: FloatArray, sample_rate: float, track: PitchTrack) -> list[tuple[FloatArray, int, float]]:
    """Spectra at some loud moments where the pitch stands still: magnitudes, samples of the window, pitch or NaN."""
    length = 2 ** round(math.log2(_WINDOW_SECONDS * sample_rate))
    if track.times.size < 2 or sound.size < length:
        return []
    half = max(1, round(length / sample_rate / 2 / (track.times[1] - track.times[0])))
    frames = np.flatnonzero(_loud(_levels(sound, sample_rate, track)))
    inside = (track.times[frames] * sample_rate >= length / 2) & (
        track.times[frames] * sample_rate < sound.size - length / 2
    )
    frames = frames[inside]
    frames = frames[:: max(1, frames.size // _MOMENTS)]
    window = np.hanning(length)
    found = []
    for frame in frames.tolist():
        around = track.hertz[max(0, frame - half) : frame + half + 1]
        known = np.isfinite(around)
        if known.any() and (not known.all() or 1200 * np.log2(around.max() / around.min()) > _STEADY):
            continue
        start = round(track.times[frame] * sample_rate) - length // 2
        spectrum = np.abs(np.fft.rfft(window * sound[start : start + length]))
        pitch = float(np.median(around)) if known.all() else math.nan
        found.append((spectrum[: int(_HIGHEST_HZ * length / sample_rate)], length, pitch))
    return found


def _several(spectrum: FloatArray, bin_hertz: float, pitch: float) -> bool:
    """Whether the peaks of a spectrum belong to more than one harmonic series."""
    hertz, heights = _peaks(spectrum, bin_hertz)
    if math.isnan(pitch):
        return hertz.size >= 3
    numbers = np.maximum(np.rint(hertz / pitch), 1)
    stray = np.abs(hertz - numbers * pitch) > np.minimum(np.maximum(_MISTUNED * hertz, 2 * bin_hertz), 0.35 * pitch)
    if np.sum(heights[stray] ** 2) > _STRAY_POWER * np.sum(heights**2):
        return True
    present = set(numbers[~stray].astype(int).tolist())
    if not present or 1 in present:
        return False
    expected = range(min(present), min(max(present), 4 * min(present)) + 1)
    if len(expected) <= 3:
        return len(present) > 1
    return 1 - len(present & set(expected)) / len(expected) > _ABSENT


def _peaks(spectrum: FloatArray, bin_hertz: float) -> tuple[FloatArray, FloatArray]:
    """Frequencies and magnitudes of what stands out of a spectrum."""
    middle = spectrum[1:-1]
    around = np.median(sliding_window_view(np.pad(spectrum, 20, mode="reflect"), 41), axis=1)[1:-1]
    tops = (middle > spectrum[:-2]) & (middle >= spectrum[2:])
    tops &= (middle > _PEAK * spectrum.max(initial=0.0)) & (middle > _TONAL * around)
    at = np.flatnonzero(tops) + 1
    left, here, right = (np.log(spectrum[at + side] + 1e-300) for side in (-1, 0, 1))
    shift = 0.5 * (left - right) / np.minimum(left - 2 * here + right, -1e-12)
    return (at + np.clip(shift, -0.5, 0.5)) * bin_hertz, spectrum[at]
