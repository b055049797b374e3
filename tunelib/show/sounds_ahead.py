"""The sounds of an exhibit made beforehand: programs for the player, taken apart so that each tone is kept once.

A program is a head, JSON that says what there is, and 64-bit floats, those of one tone after those of another
(`tunelib.live.program`). Of the floats a part is kept that is far finer than any ear, and the rest is zeros, which can
be compressed.
"""

from __future__ import annotations

import json

import numpy as np
import numpy.typing as npt

_COLUMNS = 5  # of each partial: number, hertz, amplitude, phase, damping
_PITCH_BITS = 28  # kept of the 52 behind the point: 0.000003 cent
_MOVEMENT_BITS = 12  # of the factors that move amplitudes: 0.001 dB


class Sounds:
    """Programs, each kept once, and their tones, each kept once.

    ``heads`` are the programs without their numbers; ``parts`` are, for each program, the indices of its tones in
    ``tones``.
    """

    def __init__(self) -> None:
        self.heads: list[str] = []
        self.parts: list[tuple[int, ...]] = []
        self.tones: list[bytes] = []
        self._found: dict[object, int] = {}

    def add(self, program: bytes) -> int:
        """The index of a program, which is taken in if it is new."""
        length = int.from_bytes(program[:4], "little")
        text = program[4 : 4 + length].decode()
        numbers = np.frombuffer(program, "<f8", offset=-(-(4 + length) // 8) * 8)
        parts = []
        for tone in json.loads(text)["tones"]:
            pitched = _COLUMNS * tone["partials"]
            moving = tone["frames"] * tone["partials"]
            own = numbers[tone["at"] : tone["at"] + pitched + moving + tone["bends"]]
            kept = [_shortened(own[:pitched], _PITCH_BITS), _shortened(own[pitched : pitched + moving], _MOVEMENT_BITS),
                    _shortened(own[pitched + moving :], _PITCH_BITS)]  # fmt: skip
            parts.append(self._index(b"".join(kept), self.tones))
        before = len(self.parts)
        index = self._found.setdefault((text, *parts), before)
        if index == before:
            self.heads.append(text)
            self.parts.append(tuple(parts))
        return index

    def _index(self, tone: bytes, kept: list[bytes]) -> int:
        index = self._found.setdefault(tone, len(kept))
        if index == len(kept):
            kept.append(tone)
        return index


def _shortened(numbers: npt.NDArray[np.float64], bits: int) -> bytes:
    """Floats rounded to so many bits behind the point of their binary form."""
    dropped = np.uint64(52 - bits)
    whole = numbers.view(np.uint64) + (np.uint64(1) << (dropped - np.uint64(1)))
    return (whole >> dropped << dropped).astype("<u8").tobytes()
