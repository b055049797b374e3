"""Bowed strings: how long they are, how they are tuned, and where a finger goes for each pitch.

A finger that is to raise a string from `f` to `g` hertz leaves ``f / g`` of its length to sound, so it goes
``L * (1 - f / g)`` from the nut (Mersenne's law, for an ideal string). What really sounds is a little sharper: pressing
a string stretches it, and a stiff string is the stiffer the shorter it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunelib.pitch.intervals import finite, positive_hertz, shortened
from tunelib.pitch.notes import Note, known_note

_A_HAIR = 1e-9  # by which an open string may be missed through rounding


@dataclass(frozen=True)
class Bowed:
    """The strings of a bowed instrument: from nut to bridge in millimetres, and the open notes as they sound, rising.

    Raises ValueError unless the length is above 0 and the strings rise.
    """

    length: float
    strings: tuple[Note, ...]

    def __post_init__(self) -> None:
        if not np.all(finite(self.length, "the length of a string") > 0):
            raise ValueError(f"a string is some hundred millimetres long, not {shortened(self.length)}")
        pitches = [known_note(string, "an open string").hz() for string in self.strings]
        if not pitches or sorted(set(pitches)) != pitches:
            raise ValueError(
                f"open strings rise, each different, and there is at least one; not {shortened(self.strings)}"
            )

    def string(self, hz: float) -> Note:
        """The string with the highest open note at or below a pitch, on which the hand moves up least.

        Raises ValueError for a pitch below all of them.
        """
        pitch = positive_hertz(hz)
        if pitch.ndim:
            raise ValueError(f"one string at a time is found for a pitch, not for {shortened(hz)}")
        below = [string for string in self.strings if string.hz() <= pitch * (1 + _A_HAIR)]
        if not below:
            raise ValueError(f"{pitch:.2f} Hz is below the lowest string, {self.strings[0]}")
        return below[-1]

    def place(self, string: Note, hz: Any) -> Any:
        """Where a finger goes, in millimetres from the nut, for a pitch in hertz or an array of them.

        The open string is tuned in twelve equal steps at A4 = 440 Hz. Raises ValueError for a pitch below it, or
        a string that is not a `Note`.

        >>> BOWED["violin"].place(Note.parse("A4"), 880.0)
        164.0
        """
        pitch, lowest = positive_hertz(hz), known_note(string, "an open string").hz()
        if np.any(pitch < lowest * (1 - _A_HAIR)):
            raise ValueError(f"{float(np.min(pitch)):.2f} Hz is below the open string {string}")
        result = np.maximum(self.length * (1 - lowest / pitch), 0.0)
        return result if result.ndim else float(result)


def _bowed(length: float, strings: str) -> Bowed:
    return Bowed(length, tuple(map(Note.parse, strings.split())))


BOWED = {
    "violin": _bowed(328.0, "G3 D4 A4 E5"),
    "viola": _bowed(375.0, "C3 G3 D4 A4"),
    "cello": _bowed(690.0, "C2 G2 D3 A3"),
    "double bass": _bowed(1050.0, "E1 A1 D2 G2"),
}
"""Bowed strings by the instrument's name: usual sounding lengths of full-size instruments and usual tuning (common
practice). Violins keep to 328 mm within a few millimetres; violas go from 350 to 390, cellos from 680 to 700, double
basses from 1030 to 1100."""
