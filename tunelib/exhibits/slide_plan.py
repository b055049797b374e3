"""Where the parts of a trombone's slide are in its picture, in inches: tube, positions, and rows of notes below."""

from __future__ import annotations

from typing import Any

import numpy as np

from tunelib.exhibits.inches import field_of, strokes
from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray, slide_travel

_APART = 90.0  # mm between the two legs of a tenor's slide (common practice)
_BORE = 14.0  # mm across a leg


class SlidePlan:
    """Places are given as (along, across): along from 0, slide in, to 1, seventh position; across in inches.

    Along is level, or downwards in an upright picture. The tube is drawn to scale with its travel.
    """

    def __init__(self, look: Look, harmonics: int) -> None:
        field = field_of(look)
        self._field, self._harmonics = field, harmonics
        self.upright, self._square = look.tall and not look.square, look.square
        self.whole_words = not look.tall
        if self.upright:
            self._start, self.length = field.top - 0.55, field.height - 0.55 - 1.5
        else:
            self._start = field.left + look.fit(1.05, 0.0, 0.4)
            self.length = field.right - self._start - 0.12
        inch = self.length / slide_travel()  # of a millimetre
        self.bore, apart = 72 * inch * _BORE - 2.5, inch * _APART
        self.brace = inch * 45.0 / self.length
        if self.upright:
            left = field.left + 0.62
            self.legs = left, left + apart
            self.numbers, self.ticks = field.left + 0.08, (field.left + 0.26, field.left + 0.36)
            self._rows = left + apart + 0.36, field.right
            self._thick = 0.86, 0.3  # of the chosen row, and of those that have the same note
            self.name_off, self.counts = 0.2, -0.035
            self.name_style: dict[str, Any] = {"ha": "left", "va": "center"}
            self.count_style: dict[str, Any] = {"ha": "center", "va": "center"}
        else:
            top = field.top - 0.1
            self.numbers, self.ticks = top, (top - 0.3, top - 0.2)
            high = top - look.fit(0.56, 0.0, 0.5)
            self.legs = high, high - apart
            self._rows = high - apart - look.fit(0.3, 0.0, 1.22), field.bottom
            self._thick = look.fit((0.6, 0.26), (0.0, 0.0), (0.62, 0.28))
            self.name_off, self.counts = look.fit(0.26, 0.0, 0.27), (field.left - self._start) / self.length
            self.name_style = {"ha": "center", "va": "center"}
            self.count_style = {"ha": "left", "va": "center"}

    def point(self, along: Any, across: Any) -> tuple[Any, Any]:
        """A place, or arrays of places, in inches."""
        along, across = self._start + (-1 if self.upright else 1) * np.asarray(along) * self.length, np.asarray(across)
        return (across, along) if self.upright else (along, across)

    def strokes(self, along: Any, low: float, high: float) -> tuple[Any, Any]:
        """Places of strokes across, for one line."""
        return self.point(*strokes(along, low, high))

    def levels(self, chosen: int, same: list[int]) -> FloatArray:
        """Where across the middle of each harmonic's row is, the second harmonic first; level, it is at the bottom.

        The chosen row has room for names, and those with the same note have room for their number.
        """
        start, end = self._rows
        thick = np.full(self._harmonics, np.nan)
        thick[same] = self._thick[1]
        thick[chosen] = self._thick[0]
        rest = np.isnan(thick)
        thick[rest] = (abs(end - start) - np.nansum(thick)) / rest.sum()
        ends = np.cumsum(thick)
        middles = ends - thick / 2
        if self.upright:
            middles[chosen] -= 0.32 * thick[chosen]
            return np.asarray(start + middles)
        middles[chosen] -= 0.18 * thick[chosen]
        return np.asarray(end + middles)

    def bow(self, at: float) -> tuple[Any, Any]:
        """The slide's outline: two legs from the player and the bow at its end."""
        (one, other), radius = self.legs, abs(self.legs[0] - self.legs[1]) / 2
        turn = np.linspace(np.pi / 2, -np.pi / 2, 41)
        middle = (one + other) / 2
        far = -0.5 / self.length if self.upright else -2.0  # at the title, or beyond the picture
        along = np.concatenate([[far], at + radius / self.length * (np.cos(turn) - 1), [far]])
        across = np.concatenate([[one], middle + (one - middle) * np.sin(turn), [other]])
        return self.point(along, across)

    def pointer(self, at: float, level: float) -> tuple[list[float], list[float]]:
        """From the bow to the note, past the reading and short of the note's name."""
        if self.upright:
            return [at, at], [self.legs[1], level]
        start = self.legs[1] - 1.14 if self._square else (self.legs[0] + self.legs[1]) / 2
        end = level + self.name_off + 0.16
        return [at, at], [max(start, end), end]

    def tie(self, at: float, level: float, other_at: float, other_level: float) -> list[tuple[float, float]]:
        """From the note to the same one on another harmonic: across at the note, then along that harmonic."""
        start = level
        if self.upright and other_level > level:
            start = level + self.name_off + 0.48
        if not self.upright and other_level > level:
            start = level + self.name_off + 0.16
        return [(at, start), (at, other_level), (other_at, other_level), (np.nan, np.nan)]

    def unit(self, note: str) -> str:
        """What is said after the millimetres."""
        return "mm out" if self.upright else f"mm out: {note}"

    def headline(self, at: float) -> tuple[float, float]:
        """Where the number is: below the bow, or beside it, on the side that has room."""
        x, y = (float(place) for place in self.point(at, (self.legs[0] + self.legs[1]) / 2))
        field = self._field
        if self.upright:
            return self.legs[0] - 0.1, y - 0.75
        if self._square:
            return float(np.clip(x + 0.4, field.left + 1.15, field.right - 2.0)), self.legs[1] - 0.62
        return x + 1.3 if at < 0.5 else x - self.brace * self.length - 2.65, y - 0.1

    def where(self, at: float) -> tuple[float, float]:
        """Where it is said which position that is."""
        x, y = self.headline(at)
        if self.upright:
            return self._field.left, self._field.bottom + 0.04
        if self._square:
            return self._field.left, self.legs[1] - 1.07
        return x + 0.1, y - 0.28
