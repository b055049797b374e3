"""A tone as samples: a sum of partials, each exact in pitch from the first sample to the last.

The samples are worked out in pieces, and a piece in blocks. A partial that turns by w and dies away by d a sample is
the imaginary part of ``exp(p + (iw - d) n)``, where n is the start of the piece, that of the block within it and the
place in the block together: a product of three factors. Only the first is worked out for each piece, one number a
partial; the other two are tables of the tone. So a piece is the product of two small matrices, (blocks, partials) by
(partials, samples of a block), and sines number far fewer than samples. An amplitude that moves is a straight line
within each block.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray
from tunelib.sound.timbre import Timbre

_PIECE = 16384  # samples that are worked out at once
_BLOCK = 64
_MOVING_BLOCK = 16
_PRODUCTS_ON_ONE_THREAD = 1 << 18  # OpenBLAS: 65536 times its default threshold of 4
_TONES_KEPT, _PIECES_KEPT = 48, 128  # some 10 MB, and 17 MB


class Tones:
    """Tones at one sample rate: those that sounded last are kept, and so are the pieces of them that were made."""

    def __init__(self, sample_rate: int) -> None:
        @lru_cache(_TONES_KEPT)
        def tone(timbre: Timbre, hertz: float) -> _Tone:
            return _Tone(timbre, hertz, sample_rate)

        @lru_cache(_PIECES_KEPT)
        def piece(timbre: Timbre, hertz: float, number: int) -> FloatArray:
            return tone(timbre, hertz).piece(number)

        self._piece = piece

    def stretch(self, timbre: Timbre, hertz: float, first: int, last: int) -> Iterator[tuple[int, FloatArray]]:
        """The samples of a tone from one to before another, in parts: the number of each part's first sample, and them.

        Samples are counted from the onset. The parts are kept, and not to be written into.
        """
        for number in range(first // _PIECE, -(-last // _PIECE)):
            start = number * _PIECE
            at = max(first, start)
            yield at, self._piece(timbre, hertz, number)[at - start : last - start]


class _Tone:
    """A tone at level 1 that begins with its ramp and never ends, of which any piece can be made."""

    def __init__(self, timbre: Timbre, hertz: float, sample_rate: int) -> None:
        self._timbre, self._hertz, self._rate = timbre, hertz, sample_rate
        frequencies, amplitudes, decay_seconds = timbre.partials(hertz)
        self._audible = frequencies < sample_rate / 2
        self._frequencies = frequencies[self._audible]
        # Nepers a sample: 60 dB are a factor of 1000.
        self._damping = math.log(1000) / (decay_seconds[self._audible] * sample_rate)
        block = _MOVING_BLOCK if timbre.moves else _BLOCK
        first = amplitudes[self._audible] * np.exp(1j * timbre.phases(hertz)[self._audible])
        self._starts = first * self._turned(block, _PIECE // block)
        within = self._turned(1, block)
        # The imaginary part of a product is real by imaginary and imaginary by real.
        waves = np.stack([within.imag.T, within.real.T], axis=1).reshape(-1, block)
        self._waves = np.concatenate([waves, waves * (np.arange(block) / block)]) if timbre.moves else waves

    def piece(self, number: int) -> FloatArray:
        """The samples of one piece, the first of which has the number 0."""
        first = number * _PIECE
        starts = (self._starts * self._turn(np.array([float(first)]))).view(np.float64)  # real and imaginary by turns
        if self._timbre.moves:
            edges = np.arange(first, first + _PIECE + 1, _MOVING_BLOCK) / self._rate
            factors = np.repeat(self._timbre.movement(self._hertz, edges)[:, self._audible], 2, axis=1)
            starts = np.concatenate([starts * factors[:-1], starts * np.diff(factors, axis=0)], axis=1)
        tone = _product(starts, self._waves).ravel()
        attack = round(self._timbre.attack * self._rate)
        rising = np.arange(first, min(attack, first + _PIECE))
        tone[: rising.size] *= 0.5 - 0.5 * np.cos(np.pi * rising / attack)
        return tone

    def _turned(self, step: int, count: int) -> npt.NDArray[np.complex128]:
        """How far partials have turned and died away after 0, 1, 2 ... steps of some samples; shape (count, partials).

        Each is the product of one among few that are far apart, and one among few close together.
        """
        few = 1 << (count.bit_length() // 2)
        far = self._turn(step * few * np.arange(-(-count // few), dtype=float))
        near = self._turn(step * np.arange(few, dtype=float))
        return (far[:, np.newaxis] * near).reshape(-1, self._frequencies.size)[:count]

    def _turn(self, samples: FloatArray) -> npt.NDArray[np.complex128]:
        """The same after numbers of samples, each worked out by itself; shape (samples, partials)."""
        angles = 2 * np.pi * _cycles(self._frequencies, samples, self._rate)
        turn = np.empty(angles.shape, dtype=np.complex128)
        turn.real, turn.imag = np.cos(angles), np.sin(angles)
        return turn * np.exp(-self._damping * samples[:, np.newaxis])


def _product(left: FloatArray, right: FloatArray) -> FloatArray:
    """The product of two matrices, a few rows at a time: small enough for BLAS to keep to one thread.

    Threads gain little on matrices of this size, and on a machine that is busy they wait for one another: ten times as
    long for the whole.
    """
    rows = min(len(left), 1 << max(1, _PRODUCTS_ON_ONE_THREAD // right.size).bit_length() - 1)
    return np.asarray((left.reshape(-1, rows, left.shape[1]) @ right).reshape(-1, right.shape[1]))


def _cycles(frequencies: FloatArray, samples: FloatArray, sample_rate: int) -> FloatArray:
    """Turns since sample 0, less the whole ones; shape (samples, frequencies).

    A frequency is split into a part short enough for its product with a sample's number to be exact, and a rest so
    small that its product's rounding does not matter: no phase is lost over hours.
    """
    coarse = frequencies.astype(np.float32).astype(np.float64)
    numbers = samples[:, np.newaxis]
    exact = np.fmod(coarse * numbers, sample_rate)
    return np.asarray((exact + (frequencies - coarse) * numbers) / sample_rate)
