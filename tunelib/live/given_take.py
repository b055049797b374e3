"""A take that a learner gave: recorded in the page, or chosen as a file. It comes in parts, and is held in memory."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tunelib.files import PathLike
from tunelib.hearing import Recording
from tunelib.sound import open_recording, save_recording

_LONGEST_NAME = 120


@dataclass(frozen=True)
class GivenTake:
    """A take, and what to call it.

    Parameters
    ----------
    name : str
        A file's name, or ``"recorded at 18:20, 12 s"``, by the reader's clock.
    data : bytes
        A file's contents; or what was recorded, as floats of 32 bits with the little end first, 1 being full scale.
    rate : int
        Samples a second of what was recorded; 0 for a file.
    """

    name: str
    data: bytes = field(repr=False)
    rate: int = 0

    @property
    def recorded(self) -> bool:
        """Whether it was recorded in the page, so that there is no file of it."""
        return self.rate > 0

    def recording(self) -> Recording:
        """It as sound, read in blocks. Raises ValueError or ImportError for a file, as `open_recording` does."""
        if not self.recorded:
            return open_recording(self.data)
        return Recording.of(np.frombuffer(self.data, "<f4"), self.rate)

    def save(self, path: PathLike) -> Path:
        """Save what was recorded as a new file: see `save_recording`, whose errors it raises."""
        return save_recording(path, self.recording())


class Arrival:
    """A take on its way: parts that may come twice or in any order, each from a place on.

    `what` is the name that the page gives it, and `rate` as `GivenTake` has it.
    """

    def __init__(self, number: str, what: str, rate: int) -> None:
        self.number = number
        self.name = "".join(letter for letter in what if letter.isprintable())[:_LONGEST_NAME].strip() or "the take"
        self._rate = rate
        self._bytes = io.BytesIO()
        self._sizes: dict[int, int] = {}  # of the parts that are there, by where they begin

    def add(self, at: int, part: bytes | memoryview) -> None:
        """Put a part in its place."""
        self._bytes.seek(at)
        self._sizes[at] = self._bytes.write(part)

    @property
    def there(self) -> int:
        """How many bytes have come."""
        return sum(self._sizes.values())

    def take(self) -> GivenTake:
        """What has come; without a copy of it."""
        data = self._bytes.getvalue()
        if not self._rate:
            return GivenTake(self.name, data)
        seconds = len(data) / 4 / self._rate
        return GivenTake(
            f"{self.name}, {seconds:.0f} s" if seconds >= 1 else f"{self.name}, {seconds:.1f} s", data, self._rate
        )
