"""The power of a sound over time."""

from __future__ import annotations

import numpy as np

from tunelib.pitch import FloatArray


class Powers:
    """Mean square of what is added, block by block of samples; what is left over at the end is left out."""

    def __init__(self, length: int) -> None:
        self._length = length
        self._rest: FloatArray = np.zeros(0)
        self._values: list[FloatArray] = []

    def add(self, block: FloatArray) -> None:
        """Go on with the next samples."""
        block = np.concatenate((self._rest, block))
        count = block.size // self._length
        whole = block[: count * self._length].reshape(count, self._length)
        self._values.append(np.einsum("ij,ij->i", whole, whole) / self._length)
        self._rest = block[whole.size :].copy()

    def values(self) -> FloatArray:
        """All mean squares up to here."""
        return np.concatenate((np.zeros(0), *self._values))
