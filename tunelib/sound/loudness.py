"""Loudness as broadcasters measure it, and matching it between sounds to be compared.

The measure is that of Recommendation ITU-R BS.1770-4: samples weighted for the ear ("K-weighting"), their power in
blocks of 400 ms that overlap by three quarters, and the mean of the blocks that pass two gates. The Recommendation
prints the weighting filters for 48 kHz only; for any rate they are made here from the analogue filters they stand for
(B. De Man, "Evaluation of Implementations of the EBU R128 Loudness Measurement", AES 145th Convention, 2018).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray
from tunelib.sound.limiter import SAMPLE_RATE

BLOCK_SECONDS, HOP_SECONDS = 0.4, 0.1

_CHANNEL_WEIGHTS = (1.0, 1.0, 1.0, 1.41, 1.41)
_SHELF_HZ, _SHELF_DB, _SHELF_Q, _SHELF_BEND = (
    1681.974450955533,
    3.999843853973347,
    0.7071752369554196,
    0.4996667741545416,
)
_PASS_HZ, _PASS_Q = 38.13547087602444, 0.5003270373238773
_ABSOLUTE_GATE = -70.0
_RELATIVE_GATE = -10.0
_PIECE_SECONDS = 20  # filtered at a time, so that ten minutes need no more memory than one
_FINER, _TAPS = 4, 32  # true peak: samples looked at for each one given, and neighbours on either side that make them


def k_weighting(sample_rate: float) -> tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
    """The two filters of K-weighting, each as `(b, a)` of a second-order section: a high shelf, then a high-pass."""
    shelf = math.tan(math.pi * _SHELF_HZ / sample_rate)
    high = 10 ** (_SHELF_DB / 20)
    middle = high**_SHELF_BEND
    shelf_a = np.array([1 + shelf / _SHELF_Q + shelf**2, 2 * (shelf**2 - 1), 1 - shelf / _SHELF_Q + shelf**2])
    shelf_b = np.array(
        [
            high + middle * shelf / _SHELF_Q + shelf**2,
            2 * (shelf**2 - high),
            high - middle * shelf / _SHELF_Q + shelf**2,
        ]
    )
    low = math.tan(math.pi * _PASS_HZ / sample_rate)
    pass_a = np.array([1 + low / _PASS_Q + low**2, 2 * (low**2 - 1), 1 - low / _PASS_Q + low**2])
    return (shelf_b / shelf_a[0], shelf_a / shelf_a[0]), (np.array([1.0, -2.0, 1.0]), pass_a / pass_a[0])


def k_weight(hertz: FloatArray, sample_rate: float = SAMPLE_RATE) -> FloatArray:
    """Factor by which K-weighting changes the amplitude of a sine, for frequencies in hertz."""
    turn = np.exp(-2j * np.pi * np.asarray(hertz) / sample_rate)
    return np.asarray(np.abs(np.prod([_response(b, a, turn) for b, a in k_weighting(sample_rate)], axis=0)))


def _response(b: FloatArray, a: FloatArray, turn: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]:
    """What a second-order section makes of waves that turn by so much from one sample to the next, backwards."""
    return np.asarray((b[0] + turn * (b[1] + turn * b[2])) / (a[0] + turn * (a[1] + turn * a[2])))


def loudness(samples: npt.ArrayLike, sample_rate: int = SAMPLE_RATE) -> float:
    """Gated loudness in LKFS (ITU-R BS.1770-4). A full-scale sine of 997 Hz in one channel measures -3.01.

    Parameters
    ----------
    samples : array, shape (samples,) or (samples, channels)
        Full scale is 1. Channels, up to five, in the Recommendation's order: left, right, centre, left and right
        surround.
    sample_rate : int
        In hertz, 8000 or more.

    Returns minus infinity for silence. A sound shorter than a block of 400 ms, which the Recommendation does not
    foresee, is taken as one block. Raises ValueError for an empty array, samples that are not finite, or more than
    five channels.
    """
    channels = np.asarray(samples, dtype=float)
    if channels.ndim == 1:
        channels = channels[:, np.newaxis]
    if channels.ndim != 2 or not 1 <= channels.shape[1] <= len(_CHANNEL_WEIGHTS) or not channels.size:
        raise ValueError(f"samples have the shape (samples,) or (samples, 1 to 5), not {np.shape(samples)}")
    if not np.all(np.isfinite(channels)):
        raise ValueError("the samples hold values that are not finite numbers")
    if sample_rate < 8000:
        raise ValueError(f"loudness is measured at a sample rate of 8000 Hz or more, not {sample_rate}")
    power = np.zeros(channels.shape[0])
    for channel, weight in zip(channels.T, _CHANNEL_WEIGHTS, strict=False):
        power += weight * _weighted(channel, sample_rate) ** 2
    block = min(power.size, round(BLOCK_SECONDS * sample_rate))
    starts = np.arange(0, power.size - block + 1, max(1, round(HOP_SECONDS * sample_rate)))
    total = np.concatenate(([0.0], np.cumsum(power)))
    return gated_loudness(np.maximum(total[starts + block] - total[starts], 0.0) / block)


def gated_loudness(blocks: FloatArray) -> float:
    """Loudness in LKFS of blocks whose weighted mean power is given, those that pass both gates counted."""
    gated = blocks[_level(blocks) > _ABSOLUTE_GATE]
    if not gated.size:
        return -math.inf
    gated = gated[_level(gated) > _level(gated.mean()) + _RELATIVE_GATE]
    return float(_level(gated.mean()))


def _level(power: npt.ArrayLike) -> FloatArray:
    with np.errstate(divide="ignore"):
        return np.asarray(-0.691 + 10 * np.log10(power))


def _weighted(channel: FloatArray, sample_rate: int) -> FloatArray:
    """One channel through K-weighting, a piece at a time."""
    piece = _PIECE_SECONDS * sample_rate
    return np.concatenate(
        [
            _weighted_piece(channel[max(0, start - sample_rate) : start + piece], sample_rate)[
                min(start, sample_rate) :
            ]
            for start in range(0, channel.size, piece)
        ]
    )


def _weighted_piece(samples: FloatArray, sample_rate: int) -> FloatArray:
    """Samples through K-weighting, as a product of spectra with a second of zeros after them.

    The filters ring for far less than a second, so this is the recursion to within rounding; and a piece that begins a
    second early has forgotten by then that nothing came before.
    """
    padded = -(-(samples.size + sample_rate) // 4096) * 4096
    turn = np.exp(-2j * np.pi * np.arange(padded // 2 + 1) / padded)
    spectrum = np.fft.rfft(samples, padded)
    for b, a in k_weighting(sample_rate):
        spectrum *= _response(b, a, turn)
    return np.fft.irfft(spectrum, padded)[: samples.size]


def true_peak(samples: npt.ArrayLike) -> float:
    """The highest level that a sound reaches, between its samples too, in dB relative to full scale (dBTP).

    As Annex 2 of ITU-R BS.1770-4 asks, the sound is looked at four times as finely as it is sampled, at 48 kHz or more.
    Takes samples as `loudness` does; minus infinity for silence.
    """
    channels = np.asarray(samples, dtype=float)
    channels = channels[:, np.newaxis] if channels.ndim == 1 else channels
    highest = np.abs(channels).max(initial=0.0)
    away = np.arange(-_TAPS, _TAPS + 1)
    for phase in range(1, _FINER):
        place = away - phase / _FINER
        between = np.sinc(place) * np.cos(np.pi * place / (2 * (_TAPS + 1))) ** 2
        for channel in channels.T:
            highest = max(highest, np.abs(np.convolve(channel, between)).max(initial=0.0))
    with np.errstate(divide="ignore"):
        return float(20 * np.log10(highest))


def at_loudness(samples: npt.ArrayLike, lkfs: float, sample_rate: int = SAMPLE_RATE) -> FloatArray:
    """A sound turned up or down as a whole to an integrated loudness in LKFS.

    Raises ValueError for a sound that is silent or too quiet to be measured.
    """
    level = loudness(samples, sample_rate)
    if level == -math.inf:
        raise ValueError("the sound is silent, or too quiet to be given a loudness")
    return np.asarray(samples, dtype=float) * 10 ** ((lkfs - level) / 20)
