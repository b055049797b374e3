"""Pictures laid out in inches: one set of axes over the whole picture, and how wide words are on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import LoadFlags
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import Headline, Look
from tunelib.exhibits.typeface import as_set, families
from tunelib.pitch import FloatArray, nearest_note, plain, times

_MEASURED = 100.0  # points at which a character is measured
_AFTER_NUMBER = 0.1  # inches between a headline's number and its words
_WELL_OFF = 25.0  # cents, a quarter of a semitone, from a note: less is said to be a little


@dataclass(frozen=True)
class Field:
    """The part of a picture inside the margins and below the title, in inches from the lower left of the picture."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From the left margin to the right one."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From the bottom margin to what the title leaves."""
        return self.top - self.bottom

    @property
    def sides(self) -> tuple[float, float, float, float]:
        """Left, right, bottom and top."""
        return self.left, self.right, self.bottom, self.top


def in_inches(figure: Canvas, look: Look) -> Axes:
    """Axes over a whole picture, whose coordinates are inches from its lower left."""
    axes = look.bare(figure, (0, 0, 1, 1))
    width, height = look.inches
    axes.set(xlim=(0, width), ylim=(0, height))
    return axes


def field_of(look: Look) -> Field:
    """Where the thing itself goes in a picture."""
    left, bottom, across, up = look.frame
    width, height = look.inches
    return Field(left * width, bottom * height, (left + across) * width, (bottom + up) * height)


def width_in_inches(text: Text, words: str) -> float:
    """How wide some words are, set as a text is."""
    return _width(text.get_fontproperties(), as_set(words))


@lru_cache(maxsize=4096)
def _width(font: FontProperties, words: str) -> float:
    ems = sum(_advance(str(font.get_weight()), character) for character in words)
    return ems * font.get_size_in_points() / 72


@lru_cache(maxsize=4096)
def _advance(weight: str, character: str) -> float:
    """How far a character moves the pen, in ems."""
    faces = [get_font(findfont(FontProperties(family=family, weight=weight))) for family in families()]
    face = next((face for face in faces if face.get_char_index(ord(character))), faces[0])
    face.set_size(_MEASURED, 72)
    glyph = face.load_char(ord(character), flags=LoadFlags.NO_HINTING)
    return float(glyph.linearHoriAdvance) / 65536 / _MEASURED


def width_of(text: Text) -> float:
    """How wide a text is, in inches."""
    return width_in_inches(text, text.get_text())


def begin(headline: Headline, left: float, baseline: float) -> None:
    """Put a headline where its number begins at `left`, on axes in inches."""
    headline.move(left + width_of(headline.number), baseline)


def headline_width(headline: Headline) -> float:
    """How wide a headline is on its line, in inches."""
    return width_of(headline.number) + _AFTER_NUMBER + width_of(headline.words)


def strokes(places: Any, starts: Any, ends: Any) -> tuple[FloatArray, FloatArray]:
    """Upright strokes side by side, as the points of one line: along the row that they are in, and across it.

    `places` is where each is in the row, a number or an array of the shape (strokes,); `starts` and `ends` are where
    they begin and end across it, each for all of them or one by one. Both arrays have the shape (3 strokes,), with a
    gap, which is NaN, after each stroke.

    >>> strokes([1, 2], 0, [5, 6])[1].tolist()
    [0.0, 5.0, nan, 0.0, 6.0, nan]
    """
    along = np.atleast_1d(np.asarray(places, dtype=float))
    across = np.column_stack([np.broadcast_to(each, along.shape) for each in (starts, ends, np.nan)])
    return np.repeat(along, 3), across.ravel()


def level_strokes(places: Any, starts: Any, ends: Any) -> tuple[FloatArray, FloatArray]:
    """The same above one another, which go from left to right: where each is in the row is its height."""
    return strokes(places, starts, ends)[::-1]


def near_note(hertz: float) -> str:
    """A frequency with the note that it is or is near, in words alone: for pictures that are shown before the cent is.

    >>> near_note(220), near_note(443), near_note(430)
    ('A3, 220 Hz', '443 Hz, a little above A4', '430 Hz, well below A4')
    """
    return _beside_a_note(hertz, lambda off: "a little" if off < _WELL_OFF else "well")


def with_note(hertz: float) -> str:
    """A frequency with the note that a musician calls it by, or with how far it is from one.

    >>> with_note(220), with_note(443), with_note(438)
    ('A3, 220 Hz', '443 Hz, 12 cents above A4', '438 Hz, 8 cents below A4')
    """
    return _beside_a_note(hertz, lambda off: times(off, "cent", 0))


def _beside_a_note(hertz: float, far: Callable[[float], str]) -> str:
    note, over = nearest_note(hertz)
    if round(over) == 0:
        return f"{note}, {plain(hertz)} Hz"
    return f"{plain(hertz)} Hz, {far(abs(over))} {'above' if over > 0 else 'below'} {note}"
