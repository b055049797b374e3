"""A stretch of a recording for the player: its samples, which stay with Python until the page asks for them.

They are in no trait of a widget, since those are saved with a notebook, and what a learner has recorded is not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple
from uuid import uuid4

import numpy as np

from tunelib.hearing import Recording
from tunelib.pitch import FloatArray
from tunelib.sound import HEADROOM, REFERENCE_LOUDNESS, SAMPLE_RATE, USUAL_PEAK_DBFS, loudness, resampled

_FULL_SCALE = 32767  # of 16 bits
_FULL_LEVEL = 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM  # of a note at level 1, as in worklet.js


@dataclass(frozen=True)
class Tape:
    """A stretch of a recording.

    Parameters
    ----------
    samples : array, shape (samples,)
        At `SAMPLE_RATE`.
    begins : float
        Where in the recording it begins, in seconds.
    goes_on : bool
        Whether the recording goes on after it.

    ``name`` is unlike that of any other.
    """

    samples: FloatArray = field(repr=False)
    begins: float = 0.0
    goes_on: bool = False
    name: str = field(default_factory=lambda: uuid4().hex)

    @classmethod
    def of(cls, recording: Recording, begins: float, most: float) -> Tape:
        """A recording from a moment on, as many seconds as there are and `most` at most.

        Raises ValueError where there is nothing to be heard, and as the recording does.
        """
        first, length = round(begins * recording.sample_rate), round(most * recording.sample_rate)
        at, parts = 0, []
        for block in recording.blocks():
            parts.append(block[max(0, first - at) : max(0, first + length - at)])
            at += block.size
            if at > first + length:
                break
        tape = cls(resampled(np.concatenate([np.zeros(0), *parts]), recording.sample_rate), begins, at > first + length)
        if not tape.samples.size or tape.loudness(begins, most) == -math.inf:
            raise ValueError("it is too soft, or too short, to be heard")
        return tape

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.samples.size / SAMPLE_RATE

    def loudness(self, begin: float, seconds: float) -> float:
        """The loudness in LKFS of a part of it, which begins at a moment of the recording; minus infinity for none."""
        first = max(0, round((begin - self.begins) * SAMPLE_RATE))
        part = self.samples[first : first + round(seconds * SAMPLE_RATE)]
        return loudness(part) if part.size else -math.inf

    @cached_property
    def data(self) -> bytes:
        """The samples for the page, in 16 bits with the little end first, the highest of them at full scale."""
        return np.round(self.samples * (_FULL_SCALE / self._peak)).astype("<i2").tobytes()

    @cached_property
    def _peak(self) -> float:
        return float(np.abs(self.samples).max())

    def level(self, begin: float, seconds: float) -> float:
        """The level at which a part of it is as loud as all else that is heard."""
        heard = self.loudness(begin, seconds)
        if heard == -math.inf:
            heard = self.loudness(self.begins, self.seconds)
        return self._peak / _FULL_LEVEL * float(10 ** ((REFERENCE_LOUDNESS - heard) / 20))


class Taped(NamedTuple):
    """A part of a tape as it is heard: from `onset` of what is played, in seconds, for so many `seconds`; it begins at
    the moment `begin` of the recording."""

    tape: Tape
    onset: float
    begin: float
    seconds: float
