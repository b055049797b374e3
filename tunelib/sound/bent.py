"""A tone whose pitch moves while it sounds: a slide or a vibrato, as a table of ratios to the pitch it is named by."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np

from tunelib.pitch import FloatArray
from tunelib.sound.timbre import MOVEMENTS_A_SECOND, Timbre


class BentTone:
    """A tone at level 1 that begins with its ramp, and as many samples of it as are wanted.

    Parameters
    ----------
    timbre : Timbre
        One whose amplitudes stay.
    hertz : float
    bend : array
        Ratios to `hertz`, `MOVEMENTS_A_SECOND` of them a second from the onset on; straight lines between them, and
        the last one stays.
    samples, sample_rate : int

    Raises ValueError for a timbre whose amplitudes move.
    """

    def __init__(self, timbre: Timbre, hertz: float, bend: FloatArray, samples: int, sample_rate: int) -> None:
        if timbre.moves:
            raise ValueError("a tone is bent in a timbre whose amplitudes stay, not in one that moves by itself")
        self._timbre, self._hertz, self._bend = timbre, hertz, np.asarray(bend, dtype=np.float64)
        self._samples, self._rate = samples, sample_rate

    def stretch(self, first: int, last: int) -> Iterator[tuple[int, FloatArray]]:
        """The samples from one to before another, counted from the onset; as `Tones.stretch` gives them."""
        yield first, self._tone[first:last]

    @cached_property
    def _tone(self) -> FloatArray:
        seconds = np.arange(self._samples) / self._rate
        ratios = np.interp(seconds * MOVEMENTS_A_SECOND, np.arange(self._bend.size), self._bend)
        # A partial has turned by the sum of its frequencies so far.
        passed = np.concatenate([[0.0], np.cumsum((ratios[1:] + ratios[:-1]) / 2)]) / self._rate
        frequencies, amplitudes, decay_seconds = self._timbre.partials(self._hertz)
        tone = np.zeros(self._samples)
        for hertz, size, phase, dies in zip(
            frequencies, amplitudes, self._timbre.phases(self._hertz), decay_seconds, strict=True
        ):
            if hertz < self._rate / 2:
                swing = np.sin(2 * np.pi * hertz * passed + phase)
                tone += size * np.exp(-math.log(1000) / dies * seconds) * swing
        attack = round(self._timbre.attack * self._rate)
        rising = np.arange(min(attack, self._samples))
        tone[: rising.size] *= 0.5 - 0.5 * np.cos(np.pi * rising / attack)
        return tone
