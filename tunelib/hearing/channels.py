"""One channel out of several: their average, with those turned back that are upside down, and without the useless.

A cable or a recorder with two wires crossed turns one channel over, and the average of the two is silence. A channel
into which nothing is plugged is silent or hums. So the channels are looked at once from beginning to end: how loud each
is, whether it goes with the loudest or against it, and how well each repeats itself from one period to the next, which
noise does not. Where all are in order, the average is the plain one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

_SILENT = 1e-4  # of the loudest channel's power
_AGAINST = -0.3  # correlation with the loudest channel
_WINDOW = 4096
_LONGEST_LAG = _WINDOW // 2
_LOUD_SHARE = 0.5  # of the windows
_NOISE, _NOISIER = 0.05, 4.0  # of the power, and times as much as in the cleanest channel


class Mix(NamedTuple):
    """How channels are made one: the weight of each, and what there is to say about them."""

    weights: FloatArray
    said: tuple[str, ...]


def mix_of(blocks: Iterator[FloatArray]) -> Mix:
    """Look at the channels of a recording, in blocks of the shape (samples, channels); of one channel no further."""
    products: FloatArray = np.zeros((0, 0))
    sums: FloatArray = np.zeros(0)
    samples = 0
    powers: list[FloatArray] = []
    noises: list[FloatArray] = []
    for block in blocks:
        if block.shape[1] == 1:
            break
        if not products.size:
            products, sums = np.zeros((block.shape[1],) * 2), np.zeros(block.shape[1])
        products += block.T @ block
        sums += block.sum(axis=0)
        samples += len(block)
        if len(block) >= _WINDOW:
            part = block[:_WINDOW] - block[:_WINDOW].mean(axis=0)
            powers.append(np.mean(part**2, axis=0))
            noises.append(_noise(part))
    if not samples:
        return Mix(np.ones(1), ())
    spread = products / samples - np.outer(sums, sums) / samples**2
    return _mix(spread, np.array(powers).reshape(-1, sums.size), np.array(noises).reshape(-1, sums.size))


def _noise(window: FloatArray) -> FloatArray:
    """The share of each channel's power that does not come back after a period, whatever that is."""
    size = 2 * len(window)
    products = np.fft.irfft(np.abs(np.fft.rfft(window, size, axis=0)) ** 2, size, axis=0)[:_LONGEST_LAG]
    ahead = np.cumsum(window**2, axis=0)
    lags = np.arange(_LONGEST_LAG)
    both = ahead[len(window) - 1 - lags] + ahead[-1] - np.where(lags[:, np.newaxis] > 0, ahead[lags - 1], 0.0)
    clarity = 2 * products / np.maximum(both, 1e-300)
    falls = np.argmax(clarity < 0.5, axis=0)  # past the first maximum, which is at lag 0
    clarity[lags[:, np.newaxis] < falls] = 0.0
    return np.asarray(1 - clarity.max(axis=0))


def _mix(spread: FloatArray, powers: FloatArray, noises: FloatArray) -> Mix:
    power = np.diag(spread)
    kept = power > _SILENT * power.max(initial=0.0)
    if not kept.any():
        return Mix(np.full(power.size, 1 / power.size), ())
    said = []
    if len(powers):
        loud = powers[:, kept].max(axis=1) >= np.quantile(powers[:, kept].max(axis=1), _LOUD_SHARE)
        noise = np.median(noises[loud], axis=0)
        noisy = kept & (noise > _NOISE) & (noise > _NOISIER * noise[kept].min())
        kept &= ~noisy
        if noisy.any():
            said.append(
                f"channel {_counted(noisy)} of the recording is mostly noise and was left out. Check its microphone"
            )
    first = int(np.argmax(np.where(kept, power, -1.0)))
    with np.errstate(divide="ignore", invalid="ignore"):
        likeness = spread[first] / np.sqrt(power[first] * power)
    over = kept & (likeness < _AGAINST)
    if over.any():
        said.append(
            f"channel {_counted(over)} of the recording is upside down, and was turned back. "
            "Check the cable, or record one channel"
        )
    weights = np.where(kept, np.where(over, -1.0, 1.0), 0.0) / kept.sum()
    return Mix(weights, tuple(said))


def _counted(which: npt.NDArray[np.bool_]) -> str:
    return " and ".join(str(i + 1) for i in np.flatnonzero(which))


def mixed(blocks: Callable[[], Iterator[FloatArray]], mix: Callable[[], Mix]) -> Iterator[FloatArray]:
    """The blocks of several channels as blocks of one."""
    for block in blocks():
        yield block[:, 0] if block.shape[1] == 1 else np.asarray(block @ mix().weights)
