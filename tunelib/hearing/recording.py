"""A recording of any length, read in blocks, so that only one block of it need be in memory.

An hour at 48 kHz takes 1.4 GB as an array. What is measured here can be measured block by block instead, in several
passes: a `Recording` gives its blocks afresh each time.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.hearing.channels import mix_of, mixed
from tunelib.pitch import FloatArray

MOST_CHANNELS = 64
_SAMPLES_AT_A_TIME = 1 << 18
_LARGEST = 1e100  # times full scale: far beyond any recording, and sums of its squares are still numbers

Progress = Callable[[float], None]
"""Told now and then what share of the work is done, from 0 to 1."""


def _nothing() -> tuple[str, ...]:
    return ()


@dataclass(frozen=True)
class Recording:
    """One channel of sound, as often as it is asked for.

    Parameters
    ----------
    sample_rate : float
        In hertz.
    blocks : callable
        Gives the samples from the first on: an iterator over arrays of shape (samples,), of any lengths. May raise
        ValueError for what is damaged further on.
    expected : int
        How many samples there should be, as far as is known beforehand.
    said : callable
        Gives what there is to say of its channels, in lines; may go through the recording for that.
    """

    sample_rate: float
    blocks: Callable[[], Iterator[FloatArray]]
    expected: int = 0
    said: Callable[[], tuple[str, ...]] = _nothing

    @classmethod
    def of_channels(
        cls, sample_rate: float, blocks: Callable[[], Iterator[FloatArray]], expected: int = 0
    ) -> Recording:
        """Several channels made one, as `tunelib.hearing.channels` tells; blocks of the shape (samples, channels).

        Where there are several, they are gone through once more, when the first block is asked for.
        """
        mix = cache(lambda: mix_of(blocks()))
        return cls(sample_rate, lambda: mixed(blocks, mix), expected, lambda: mix().said)

    @classmethod
    def of(cls, samples: npt.ArrayLike, sample_rate: float) -> Recording:
        """Samples that are in memory already, without making a copy of their whole length.

        Parameters
        ----------
        samples : array, shape (samples,) or (samples, channels)
            Floats, of which 1 is full scale, or whole numbers of which their type's range is. Channels are averaged,
            those turned back that are upside down, and those left out that are mostly noise.
        sample_rate : float
            In hertz.

        Raises ValueError for another shape or type; while it is read, for samples that are not finite or far too large.
        """
        raw = np.asarray(samples)
        if raw.ndim not in (1, 2):
            raise ValueError(f"samples have the shape (samples,) or (samples, channels), not {raw.shape}")
        if raw.ndim == 2 and raw.shape[1] > MOST_CHANNELS:
            raise ValueError(
                f"samples of the shape {raw.shape} would be {raw.shape[1]} channels; "
                f"the shape is (samples, channels), of which {MOST_CHANNELS} at most"
            )
        if raw.size and raw.dtype.kind not in "iuf":
            raise ValueError(f"samples are floats or whole numbers, not of the type {raw.dtype}")
        channels = raw if raw.ndim == 2 else raw[:, np.newaxis]
        return cls.of_channels(sample_rate, lambda: _floats(channels), len(raw) if raw.size else 0)

    def windows(self, starts: Iterable[int], length: int) -> Iterator[FloatArray]:
        """`length` samples from each of some places on, in one pass. The places rise, and may overlap or leave gaps.

        Before the first sample and after the last there are zeros.
        """
        blocks = self.blocks()
        kept: deque[tuple[int, FloatArray]] = deque()
        end = 0
        for start in starts:
            while end < start + length and (block := next(blocks, None)) is not None:
                if end + block.size > start:
                    kept.append((end, block))
                end += block.size
            while kept and kept[0][0] + kept[0][1].size <= start:
                kept.popleft()
            window = np.zeros(length)
            for first, block in kept:
                low, high = max(first, start), min(first + block.size, start + length)
                window[low - start : max(low, high) - start] = block[low - first : max(low, high) - first]
            yield window

    def told(self, progress: Progress) -> Recording:
        """The same recording, reporting the progress of every pass."""

        def blocks() -> Iterator[FloatArray]:
            done = 0
            for block in self.blocks():
                yield block
                done += block.size
                progress(min(1.0, done / self.expected) if self.expected else 0.0)

        return Recording(self.sample_rate, blocks, self.expected, self.said)


def share_of(progress: Progress, begin: float, end: float) -> Progress:
    """A function to call with the progress of one part of the work, the stretch from `begin` to `end` of the whole.

    >>> share_of(print, 0.5, 0.75)(0.5)
    0.625
    """
    return lambda share: progress(begin + (end - begin) * share)


def _floats(channels: npt.NDArray[Any]) -> Iterator[FloatArray]:
    """Blocks of floats, from an array of shape (samples, channels)."""
    zero, full = 0.0, 1.0
    if channels.dtype.kind in "iu":
        bounds = np.iinfo(channels.dtype)
        full = (float(bounds.max) - float(bounds.min) + 1) / 2
        zero = full if channels.dtype.kind == "u" else 0.0
    for first in range(0, len(channels) if channels.size else 0, _SAMPLES_AT_A_TIME):
        with np.errstate(over="ignore"):  # what is too large for a float64 is told below
            values = channels[first : first + _SAMPLES_AT_A_TIME].astype(np.float64)
        unfit = ~(np.abs(values) <= _LARGEST)
        if unfit.any():
            row, channel = (int(i) for i in np.argwhere(unfit)[0])
            raise ValueError(
                f"sample {first + row} of channel {channel + 1} is {values[row, channel]}; samples are numbers, "
                f"of which 1 is full scale, up to {_LARGEST:g}"
            )
        if full != 1:
            values = (values - zero) / full
        yield values
