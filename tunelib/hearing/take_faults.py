"""What may be wrong with a recording whose pitch we want to measure: silence, clipping, noise, several notes at once.

Each is told from the sound itself and from its pitch track, on a sample of its loud moments, so that a long take costs
little more than a short one. The bounds were set by hand, on rendered takes and on notes of sampled instruments.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.heard_notes import HeardNote
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.powers import Powers
from tunelib.hearing.recording import Recording
from tunelib.hearing.spectral_peaks import spectral_peaks
from tunelib.pitch import FloatArray

_BLOCK_SECONDS = 0.05

_NEAR_PEAK = 0.9  # of the peak
_FLAT_SAMPLES = 4  # as many equal samples at a peak are a flat top,
_FLAT_STEP = 0.002  # if the wave came up to it in a step of more than this, as a share of the peak,
_ROUNDED = 1e-4  # and more than the three steps of 16 bits by which a gentle crest may be rounded
_FLAT_TOPS = 3  # this many are more than chance

_MOMENTS = 160
_LOUD = 0.06  # of the loudest moment's amplitude
_WINDOW_SECONDS = 0.17
_HIGHEST_HZ = 5000.0
_STEADY = 80.0  # cents within the window
_MISTUNED = 0.03  # of a partial's frequency: strings that resist bending stretch theirs by as much
_STRAY_POWER = 0.05
_ABSENT = 0.27
_OFTEN = 0.25
_UNCLEAR = 0.95
_QUIET_SHARE, _QUIET_FRAMES = 0.2, 20
_FLOOR = 0.1  # of the notes' amplitude
_RESIDUE = 0.1  # the same: 20 dB


class Survey(NamedTuple):
    """What one pass through a recording tells.

    Parameters
    ----------
    samples : int
    loudest_dbfs : float
        Level of the loudest 50 ms, in dB below a square wave of full scale; minus infinity for digital silence.
    clipped : bool
        Whether peaks are cut off: runs of equal samples near the largest, come up to more steeply than a crest is.
    """

    samples: int
    loudest_dbfs: float
    clipped: bool


def survey(recording: Recording) -> Survey:
    """Go through a recording once; raises as its blocks do."""
    powers = Powers(max(1, round(_BLOCK_SECONDS * recording.sample_rate)))
    tops = _FlatTops()
    samples = 0
    for block in recording.blocks():
        samples += block.size
        powers.add(block)
        tops.add(block)
    loudest = powers.values().max(initial=0.0)
    return Survey(samples, 10 * math.log10(loudest) if loudest else -math.inf, tops.found())


class _FlatTops:
    """Looks for runs of equal samples. Which of them are at the peak is known when all has been added.

    A run is a flat top as long as the peak does not pass a bound of its own; so those with the highest bounds decide.
    """

    def __init__(self) -> None:
        self._rest: FloatArray = np.zeros(0)
        self._peak = 0.0
        self._bounds: FloatArray = np.zeros(0)

    def add(self, block: FloatArray) -> None:
        self._peak = max(self._peak, block.max(initial=0.0), -block.min(initial=0.0))
        part = np.concatenate((self._rest, block))
        self._rest = part[-_FLAT_SAMPLES:].copy()  # one sample before a run, and all but the last of it
        still = np.equal(part[1:], part[:-1])
        if still.size < _FLAT_SAMPLES:
            return
        flat = np.asarray(sliding_window_view(still, _FLAT_SAMPLES - 1).all(axis=1))
        first = np.flatnonzero(flat[1:] & ~still[: flat.size - 1]) + 1
        height, step = np.abs(part[first]), np.abs(part[first] - part[first - 1])
        bounds = np.minimum(height / _NEAR_PEAK, step / _FLAT_STEP)[step > _ROUNDED]
        self._bounds = np.sort(np.concatenate((self._bounds, bounds)))[-_FLAT_TOPS:]

    def found(self) -> bool:
        return int(np.sum(self._bounds > self._peak)) >= _FLAT_TOPS


class Faults(NamedTuple):
    """What is wrong with a take, by its sound and its pitch track together.

    Parameters
    ----------
    several : bool
        Whether more than one note sounds at once, in a good part of the loud moments. Another note shows in strong
        partials that are not multiples of the pitch; or, where the two make a simple ratio and the pitch found is that
        of their common period, in a fundamental that is missing among others.
    noisy : bool
        Whether loud moments repeat themselves too poorly, or not at all, or the gaps between notes are too loud.
    """

    several: bool
    noisy: bool


def faults(recording: Recording, track: PitchTrack) -> Faults:
    """Judge a recording by its pitch track, in two passes; a track of less than two frames has no faults."""
    if track.times.size < 2:
        return Faults(False, False)
    samples, loud = _levels(recording, track)
    if not loud.size:
        return Faults(False, False)
    judged = list(_several_at_loud_moments(recording, samples, track, loud))
    return Faults(bool(judged) and float(np.mean(judged)) > _OFTEN, _noisy(track, loud))


def levels(recording: Recording, track: PitchTrack) -> FloatArray:
    """Root mean square from each frame of a track, which has two or more, to the next; none for less sound."""
    return _levels(recording, track)[1]


def _levels(recording: Recording, track: PitchTrack) -> tuple[int, FloatArray]:
    hop = round(float(track.times[1] - track.times[0]) * recording.sample_rate)
    powers = Powers(max(1, hop))
    samples = 0
    for block in recording.blocks():
        samples += block.size
        powers.add(block)
    found = np.sqrt(powers.values())
    frames = np.rint(track.times * recording.sample_rate / max(1, hop)).astype(int)
    return samples, found[np.minimum(frames, found.size - 1)] if found.size else found


def loud_enough(notes: Sequence[HeardNote], levels: FloatArray, track: PitchTrack) -> tuple[HeardNote, ...]:
    """The notes that are not so soft beside the others that they are no more than what was left of something else."""
    if not levels.size:
        return tuple(notes)
    inside = [levels[slice(*np.searchsorted(track.times, (note.onset, note.offset)))] for note in notes]
    loud = np.array([float(np.median(part)) if part.size else 0.0 for part in inside])
    return tuple(note for note, level in zip(notes, loud, strict=True) if level > _RESIDUE * np.median(loud))


def _noisy(track: PitchTrack, levels: FloatArray) -> bool:
    """Whether a take is noisy; `levels` are the root mean squares from each frame to the next."""
    loud, voiced = _loud(levels), np.isfinite(track.hertz)
    if np.sum(loud & voiced) < np.sum(loud) / 2:
        return True
    gaps = levels[~voiced]
    floor = np.quantile(gaps, _QUIET_SHARE) if gaps.size >= _QUIET_FRAMES else 0.0
    unclear = np.median(track.confidence[loud & voiced]) < _UNCLEAR
    return bool(unclear or floor > _FLOOR * np.median(levels[loud & voiced]))


def _loud(levels: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(levels > _LOUD * levels.max(initial=0.0))


def _several_at_loud_moments(
    recording: Recording, samples: int, track: PitchTrack, levels: FloatArray
) -> Iterator[bool]:
    """Whether more than one note sounds, at some loud moments where the pitch holds still."""
    rate = recording.sample_rate
    length = 2 ** round(math.log2(_WINDOW_SECONDS * rate))
    half = max(1, round(length / rate / 2 / (track.times[1] - track.times[0])))
    frames = np.flatnonzero(_loud(levels))
    middles = track.times[frames] * rate
    frames = frames[(middles >= length / 2) & (middles < samples - length / 2)]
    frames = frames[:: max(1, frames.size // _MOMENTS)]
    starts = np.rint(track.times[frames] * rate).astype(int) - length // 2
    window = np.hanning(length)
    for frame, stretch in zip(frames.tolist(), recording.windows(starts.tolist(), length), strict=True):
        around = track.hertz[max(0, frame - half) : frame + half + 1]
        known = np.isfinite(around)
        if known.any() and (not known.all() or 1200 * np.log2(around.max() / around.min()) > _STEADY):
            continue
        spectrum = np.abs(np.fft.rfft(window * stretch))[: int(_HIGHEST_HZ * length / rate)]
        yield _several(spectrum, rate / length, float(np.median(around)) if known.all() else math.nan)


def _several(spectrum: FloatArray, bin_hertz: float, pitch: float) -> bool:
    """Whether the peaks of a spectrum belong to more than one harmonic series."""
    hertz, heights = spectral_peaks(spectrum, bin_hertz)
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
