"""A drone under a take: found, named, and taken out, so that the player alone is heard.

A drone is what goes on all the time while something else comes and goes. Spectra of two thirds of a second are taken
all through a take; what stands out of the level that a frequency has in all but the quietest tenth of them, and has
nearly at the half of them as well, is a partial of a drone. A note that a player holds all the time would look the
same; so there is a drone only where in a good part of the take something sounds beside its partials.

What is taken out of a take is what the partials measure in it in blocks of a second under a Hann window, by least
squares. A player in tune with the drone sounds at the same frequencies, though for a time only: so for each partial
the median over some seconds about a block is taken, real and imaginary part apart, if the drone is steady enough for
that. Neighbouring blocks overlap by half, and the window makes one curve of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.powers import Powers
from tunelib.hearing.recording import Recording
from tunelib.hearing.spectral_peaks import spectral_peaks
from tunelib.pitch import FloatArray

_WINDOW_SECONDS, _MOST_WINDOWS = 0.68, 400
_SHORTEST_TAKE = 6.0  # seconds, in which there is hardly time for anything to go on all through
_LOWEST_HZ, _HIGHEST_HZ, _HIGHEST_NOTE = 30.0, 8000.0, 1000.0
_ALWAYS, _MOSTLY = 10.0, 50.0  # per cent of the windows
_LEAST_SWELL = 2.5  # a partial of a drone is at half the windows no more than so many times as strong as always
_LASTING, _COHERENT = 7, 0.85  # blocks of half a second; share of the amplitude that is left in their mean
_MOMENT_SECONDS, _SOFT_MOMENTS, _FLOOR = 0.08, 1.0, 0.3  # the last: share of a drone's power that is always there
_IN_TUNE = 0.006  # of its frequency, by which a partial may be beside a multiple
_MOST_PARTIALS, _MOST_NOTES = 32, 3
_LEFT_OUT = 0.05  # of the power of all partials: what is less is no note more
_BESIDE = 0.04  # of a partial's frequency: what is further off is no part of it
_OTHER, _OTHER_OFTEN = 0.03, 0.25  # of the drone's power, and of the windows
_SOFTEST, _SOFTEST_BARE, _BARE = (
    -24.0,
    -10.0,
    2,
)  # decibels beside what else sounds; with no more partials than the last

_BLOCK_SECONDS = 1.0
_SPANS = (8, 4, 2)  # blocks to either side of one, half a second apart
_STEADY = 0.15
_OFTEN_STEADY = 40.0  # per cent of the blocks


@dataclass(frozen=True)
class Drone:
    """What sounds all through a take.

    Parameters
    ----------
    hertz : tuple of float
        Its notes, the strongest first.
    partials : array
        All frequencies in hertz that are part of it.
    decibels : float
        Its level beside that of what else sounds.
    """

    hertz: tuple[float, ...]
    partials: FloatArray
    decibels: float


def find_drone(recording: Recording) -> Drone | None:
    """The drone of a take, or None. Goes a few times through the recording, whose length it must tell."""
    rate, size = recording.sample_rate, recording.expected
    length = 2 ** round(math.log2(_WINDOW_SECONDS * rate))
    if size < length:
        return None
    hop = max(length // 2, (size - length) // _MOST_WINDOWS)
    starts = list(range(0, size - length + 1, hop))
    kept = slice(int(_LOWEST_HZ * length / rate), int(min(_HIGHEST_HZ, 0.45 * rate) * length / rate))
    window = np.hanning(length)
    spectra = np.array(
        [np.abs(np.fft.rfft(window * stretch))[kept] for stretch in recording.windows(starts, length)], dtype=np.float32
    )
    powers = np.sum(spectra**2, axis=1)
    spectra = spectra[_from_first_to_last(powers > 1e-4 * powers.max())]
    if len(spectra) * hop < _SHORTEST_TAKE * rate:
        return None
    always, mostly = np.percentile(spectra, (_ALWAYS, _MOSTLY), axis=0)
    step = rate / length
    places, heights = spectral_peaks(always, 1.0)
    steady = mostly[np.rint(places).astype(int)] < _LEAST_SWELL * heights
    if not steady.any():
        return None
    strongest = np.flatnonzero(steady)[np.argsort(-heights[steady])][:_MOST_PARTIALS]
    blocks = _Blocks(recording, (np.sort(places[strongest]) + kept.start) * step)
    blocks = _Blocks(recording, blocks.refined(blocks.measured()))
    sure, heights = _lasting(blocks.measured())
    notes = _notes(blocks.partials[sure], heights[sure])
    if not notes:
        return None
    mine = np.any([_harmonic(blocks.partials, note) for note in notes], axis=0)
    if _least_power(recording) < _FLOOR * np.sum(heights[mine & sure] ** 2) / 2:
        return None
    partials = blocks.partials[mine]
    return _beside_others(notes, partials, spectra, np.arange(kept.start, kept.stop) * step)


def _lasting(amplitudes: npt.NDArray[np.complex128]) -> tuple[npt.NDArray[np.bool_], FloatArray]:
    """Which partials go on with one phase for some seconds at a time, as a drone's do, and how strong they are."""
    around = sliding_window_view(amplitudes, min(_LASTING, len(amplitudes)), axis=0)
    heights = np.median(np.abs(around.mean(axis=2)), axis=0)
    lasting = np.median(np.abs(around.mean(axis=2)) / np.maximum(np.abs(around).mean(axis=2), 1e-300), axis=0)
    return lasting > _COHERENT, heights


def _least_power(recording: Recording) -> float:
    """The power of the softest moments between the first loud one and the last."""
    powers = Powers(round(_MOMENT_SECONDS * recording.sample_rate))
    for block in recording.blocks():
        powers.add(block)
    found = powers.values()
    return float(np.percentile(found[_from_first_to_last(found > 1e-2 * found.max())], _SOFT_MOMENTS))


def _from_first_to_last(loud: npt.NDArray[np.bool_]) -> slice:
    places = np.flatnonzero(loud)
    return slice(int(places[0]), int(places[-1]) + 1) if places.size else slice(0, 0)


def _notes(hertz: FloatArray, heights: FloatArray) -> tuple[float, ...]:
    """The notes whose harmonics these are, the strongest first."""
    notes: list[float] = []
    left = np.ones(hertz.size, dtype=bool)
    whole = float(np.sum(heights**2))
    while left.any() and len(notes) < _MOST_NOTES and np.sum(heights[left] ** 2) > _LEFT_OUT * whole:
        strongest = hertz[left][np.argmax(heights[left])]
        trials = [strongest / number for number in range(1, 9) if _LOWEST_HZ < strongest / number < _HIGHEST_NOTE]
        if not trials:
            break
        best, mine = max(
            ((trial, _harmonic(hertz, trial) & left) for trial in trials),
            key=lambda found: _fit(found[0], hertz[found[1]], heights[found[1]]),
        )
        numbers = np.rint(hertz[mine] / best)
        notes.append(float(np.average(hertz[mine] / numbers, weights=numbers * heights[mine])))
        left &= ~mine & ~_harmonic(hertz, notes[-1], _BESIDE)
    return tuple(notes)


def _harmonic(hertz: FloatArray, fundamental: float, leeway: float = _IN_TUNE) -> npt.NDArray[np.bool_]:
    """Which frequencies are multiples of one, give or take a share of themselves."""
    numbers = np.rint(hertz / fundamental)
    off = np.abs(hertz - numbers * fundamental)
    return np.asarray((numbers >= 1) & (off < np.minimum(leeway * hertz, 0.2 * fundamental)))


def _fit(fundamental: float, hertz: FloatArray, heights: FloatArray) -> float:
    """How well a note explains its harmonics: their amplitudes, less the gaps among them."""
    numbers = np.rint(hertz / fundamental)
    share = numbers.size / numbers.max() if numbers.size else 0.0
    return float(np.sum(heights) * share**0.5)


def _beside_others(
    notes: tuple[float, ...], partials: FloatArray, spectra: npt.NDArray[np.float32], hertz: FloatArray
) -> Drone | None:
    """The drone, if something else sounds beside it often enough."""
    number = np.maximum(np.rint(hertz[:, np.newaxis] / np.array(notes)), 1)
    beside = np.all(np.abs(hertz[:, np.newaxis] - number * np.array(notes)) > _BESIDE * hertz[:, np.newaxis], axis=1)
    near = np.min(np.abs(hertz[:, np.newaxis] - partials), axis=1) < 3 * (hertz[1] - hertz[0])
    own = np.percentile(np.sum(spectra[:, near] ** 2, axis=1), _ALWAYS)
    others = np.sum(spectra[:, beside] ** 2, axis=1)
    if np.mean(others > _OTHER * own) < _OTHER_OFTEN:
        return None
    level = 10 * math.log10(max(own, 1e-300) / max(float(np.percentile(others, 75)), 1e-300))
    return Drone(notes, partials, level) if level > (_SOFTEST if partials.size > _BARE else _SOFTEST_BARE) else None


def without_drone(recording: Recording, drone: Drone) -> Recording:
    """A recording with its drone taken out; goes through it twice, and then again whenever it is read."""
    blocks = _Blocks(recording, drone.partials)
    blocks = _Blocks(recording, blocks.refined(blocks.measured()))
    taken = blocks.smoothed(blocks.measured())
    return Recording(recording.sample_rate, lambda: blocks.without(taken), recording.expected)


class _Blocks:
    """Blocks of a second, half overlapped, in which partials are measured."""

    def __init__(self, recording: Recording, partials: FloatArray) -> None:
        self._recording, self.partials = recording, partials
        rate = recording.sample_rate
        self._hop = round(_BLOCK_SECONDS * rate / 2)
        turns = 2 * np.pi * np.outer(np.arange(2 * self._hop) / rate, partials)
        self._waves = np.concatenate((np.cos(turns), np.sin(turns)), axis=1)
        self._window = np.sin(np.pi * (np.arange(2 * self._hop) + 0.5) / (2 * self._hop)) ** 2
        weighted = self._waves * self._window[:, np.newaxis]
        self._solve = np.linalg.pinv(self._waves.T @ weighted, rcond=1e-6) @ weighted.T
        self._count = -(-recording.expected // self._hop) + 1

    def _windows(self) -> Iterator[FloatArray]:
        return self._recording.windows((self._hop * (i - 1) for i in range(self._count)), 2 * self._hop)

    def _since(self) -> FloatArray:
        """How far the phases of the partials have turned by the beginning of each block, as unit complex numbers."""
        seconds = self._hop * (np.arange(self._count) - 1) / self._recording.sample_rate
        return np.asarray(np.exp(-2j * np.pi * np.outer(seconds, self.partials)))

    def measured(self) -> npt.NDArray[np.complex128]:
        """Complex amplitudes, shape (blocks, partials), with the phase that each has at the take's first sample."""
        fits = np.array([self._solve @ window for window in self._windows()])
        here = fits[:, : self.partials.size] - 1j * fits[:, self.partials.size :]
        return np.asarray(here * self._since())

    def refined(self, amplitudes: npt.NDArray[np.complex128]) -> FloatArray:
        """The frequencies, made better by how fast the phases turn from block to block."""
        partials = self.partials.copy()
        for lag in (1, 4):
            if len(amplitudes) <= 3 * lag:
                break
            turned = amplitudes[lag:] * np.conj(amplitudes[:-lag])
            turned /= np.maximum(np.abs(turned), 1e-300)
            angle = np.angle(np.sum(turned, axis=0))
            move = angle / (2 * np.pi * lag * self._hop / self._recording.sample_rate)
            partials += move
            blocks = np.arange(len(amplitudes))[:, np.newaxis]
            amplitudes = amplitudes * np.exp(-1j * blocks * angle / lag)
        return partials

    def smoothed(self, amplitudes: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]:
        """Each partial by its median over as many blocks as it is steady for."""
        taken = amplitudes.copy()
        open_ = np.ones(self.partials.size, dtype=bool)
        for span in _SPANS:
            padded = np.pad(amplitudes, ((span, span), (0, 0)), mode="reflect" if len(amplitudes) > span else "edge")
            around = sliding_window_view(padded, 2 * span + 1, axis=0)
            middle = np.median(around.real, axis=2) + 1j * np.median(around.imag, axis=2)
            off = np.percentile(np.abs(amplitudes - middle) / np.maximum(np.abs(middle), 1e-300), _OFTEN_STEADY, axis=0)
            steady = open_ & (off < _STEADY)
            taken[:, steady] = middle[:, steady]
            open_ &= ~steady
        return taken

    def without(self, amplitudes: npt.NDArray[np.complex128]) -> Iterator[FloatArray]:
        """The recording less its partials, in blocks."""
        here = amplitudes * np.conj(self._since())
        fits = np.concatenate((here.real, -here.imag), axis=1)
        late: FloatArray = np.zeros(self._hop)
        left = self._recording.expected + self._hop  # the first block begins before the first sample
        for window, fit in zip(self._windows(), fits, strict=True):
            drone = self._window * (self._waves @ fit)
            block = window[: self._hop] - late - drone[: self._hop]
            late = drone[self._hop :]
            if left <= self._recording.expected:
                yield block[:left]
            left -= self._hop
