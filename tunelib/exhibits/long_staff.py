"""One long staff that goes by: thirty-one notes on it, the chosen one always in the middle."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.inches import level_strokes
from tunelib.exhibits.look import Look
from tunelib.exhibits.staff import HALF_A_NOTEHEAD, engraved_lines
from tunelib.pitch import Note

_BREADTH = 24000.0  # of all notes on one line, in the unit of engraved drawings: 720 are the height of a staff
_KNOWN = (-2, 0, 2)  # half-sharps of the signs that every player reads
_LETTERS = "CDEFGAB"
_AN_OCTAVE = 31
_DOTS_AT = 5.0  # points: the height of the dots
_LETTERS_AT = 14.5  # points: the foot of the letters above them


class LongStaff:
    """A staff from margin to margin with a clef, on which the notes go by, and under it all of them at a glance.

    It is laid out in points from the lower left corner of the frame. `middle` is where the chosen note is across, and
    `foot` the height above which the staff and its names are; below it is room for words, and at the bottom a row of
    dots, one for each note, or, in an upright picture, a table of their names, a row for each sign.
    """

    def __init__(self, figure: Canvas, look: Look, count: int) -> None:
        theme = look.theme
        self._look, self._count = look, count
        self.width, self.height = (72 * side * part for side, part in zip(look.inches, look.frame[2:], strict=True))
        left, bottom, width, height = look.frame
        self._scale = look.fit(0.088, 0.092, 0.061)  # points to the unit of the drawing
        self._clef_to = 820 * self._scale
        self.middle = (self._clef_to + self.width) / 2
        free = look.fit(2.92, 3.05)  # from the top to the middle of the staff, in halves of a staff
        self._line = self.height - free * 360 * self._scale - 3
        self._row = self._line - 900 * self._scale - 0.9 * look.size("label")
        self.foot = self._row - 0.8 * look.size("label")
        self.axes = look.bare(figure)
        part = self._clef_to / self.width
        self._window = look.bare(figure, (left + part * width, bottom, (1 - part) * width, height))
        self.axes.set(xlim=(0, self.width), ylim=(0, self.height))
        self._window.set(xlim=(self._clef_to, self.width), ylim=(0, self.height))
        half = 430 * self._scale
        self._band = self.axes.fill(
            self.middle + np.array([-half, half, half, -half]),
            [self.foot, self.foot, self.height + 3, self.height + 3],
            color=theme.ground, lw=0, clip_on=False,
        )[0]  # fmt: skip
        self._lines = self.axes.plot(
            *level_strokes(self._line + 180 * self._scale * np.arange(-2, 3), 0, self.width), color=theme.grey, lw=1.2
        )[0]
        nothing = Outline(np.zeros((1, 2)))
        self._clef = PathPatch(nothing, fc=theme.grey, ec="none", lw=0)
        self.axes.add_patch(self._clef)
        (self._ledgers,) = self._window.plot([], [], color=theme.grey, lw=1.4, solid_capstyle="butt")
        self._notes = [PathPatch(nothing, ec="none", lw=0) for _ in range(count)]
        for patch in self._notes:
            self._window.add_patch(patch)
        middle: dict[str, Any] = {"ha": "center", "va": "center"}
        self._names = [look.text(self.axes, 0, self._row, **middle) for _ in range(count)]
        self._dots = [
            self.axes.plot([], [], "o", color=colour, ms=look.fit(8, 7, 6), clip_on=False)[0]
            for colour in (theme.line, theme.thirty_one.full)
        ]
        (self._here,) = self.axes.plot([], [], "o", ms=look.fit(15, 15, 13), clip_on=False, **look.ring())
        (self._lit,) = self.axes.plot(
            [], [], "o", ms=look.fit(15, 15, 13), color=theme.ink, clip_on=False, **look.ring()
        )
        self._letters = [look.text(self.axes, 0, _LETTERS_AT, color=theme.grey, ha="center") for _ in _LETTERS]
        self._table = [look.text(self.axes, 0, 0, **middle) for _ in range(count)] if self.has_table else []
        self._cell = look.text(self.axes, 0, 0, size="name", **middle)
        self.moving: tuple[Artist, ...] = (
            self._clef, self._ledgers, *self._notes, *self._names, *self._dots, self._here, self._lit, *self._letters,
            *self._table, self._cell,
        )  # fmt: skip
        self.parts: dict[str, Sequence[Artist]] = {
            "staff": (self._lines, self._clef),
            "notes": (self._ledgers, *self._notes, *self._names),
            "chosen": (self._band,),
            "all": (*self._dots, self._here, *self._letters, *self._table, self._cell),
        }

    @property
    def has_table(self) -> bool:
        """Whether all notes are shown by their names, in place of a row of dots."""
        return self._look.tall and not self._look.square

    def show(self, written: tuple[Note, ...], clef: str, step: int) -> None:
        """Show the notes with one of them in the middle; nothing sounds."""
        self._written, self._step = written, step
        [drawing] = engraved_lines(written, clef, len(written), len(written), _BREADTH)
        scale, theme = self._scale, self._look.theme
        along = [x + HALF_A_NOTEHEAD for x, _ in drawing.noteheads]
        right = self.middle - scale * along[step]
        up = self._line + scale * drawing.staff_lines[2]
        sign = np.asarray(drawing.clefs[0].vertices)
        self._clef.set_path(
            Outline((sign - (sign[:, 0].min() - 120, 0)) * (scale, -scale) + (0, up), drawing.clefs[0].codes)
        )
        places = [right + scale * x for x in along]
        for k, (patch, outline, text) in enumerate(zip(self._notes, drawing.notes, self._names, strict=True)):
            patch.set_path(Outline(np.asarray(outline.vertices) * (scale, -scale) + (right, up), outline.codes))
            patch.set_visible(self._is_whole(places[k] - 500 * scale, places[k] + 170 * scale))
            text.set_text(written[k].name)
            text.set_position((places[k], self._row))
            text.set_visible(k != step and patch.get_visible())
        ledgers = [(right + scale * start, right + scale * end) for start, end, *_ in drawing.ledgers]
        self._ledgers.set_data(
            [x for ends in ledgers for x in ((*ends, np.nan) if self._is_whole(*ends) else (np.nan,) * 3)],
            [up - scale * y for _, _, y, _ in drawing.ledgers for _ in range(3)],
        )
        new = [note.half_sharps not in _KNOWN for note in written]
        for dots, kind in zip(self._dots, (False, True), strict=True):
            shown = [k for k in range(self._count) if new[k] is kind]
            dots.set_data([self._dot(k) for k in shown], [_DOTS_AT] * len(shown))
            dots.set_visible(not self.has_table)
        plain = [k for k, note in enumerate(written[:_AN_OCTAVE]) if not note.half_sharps]
        for text, k in zip(self._letters, plain, strict=True):
            text.set_text(written[k].name)
            text.set_x(self._dot(k))
            text.set_visible(not self._look.tall)
        self._here.set_data([self._dot(step)], [_DOTS_AT])
        self._here.set(visible=not self.has_table, color=theme.thirty_one.full if new[step] else theme.grey)
        self._here.set_markeredgecolor(theme.behind_text)
        self._lit.set_visible(False)
        self._show_table(written, step)
        self._colour(())

    def sound(self, steps: Sequence[int]) -> None:
        """Light up the notes that sound."""
        self._colour(steps)
        if not self.has_table:
            self._lit.set_data([self._dot(step) for step in steps], [_DOTS_AT] * len(steps))
            self._lit.set_visible(True)

    def _colour(self, sounding: Sequence[int]) -> None:
        """Known signs soft, the new ones bright, the chosen one and what sounds brighter."""
        theme = self._look.theme
        for k, note in enumerate(self._written):
            new = note.half_sharps not in _KNOWN
            lit = k in sounding or (k == self._step and not new)
            self._notes[k].set_facecolor(theme.ink if lit else theme.thirty_one.full if new else theme.grey)
            colour = theme.ink if lit or k == self._step else theme.thirty_one.text if new else theme.grey
            self._names[k].set_color(colour)
            if self._table:
                self._table[k].set_color(colour)

    def _is_whole(self, left: float, right: float) -> bool:
        """Whether what reaches from one place to another is all between the clef and the margin."""
        return self._clef_to <= left and right <= self.width

    def _dot(self, step: int) -> float:
        """Where the dot of a note is across."""
        return 8 + (self.width - 16) * step / (self._count - 1)

    def _show_table(self, written: tuple[Note, ...], step: int) -> None:
        """The names of all notes, a column for each letter and a row for each sign, sharps on top."""
        signs = sorted({note.half_sharps for note in written}, reverse=True)
        across, down = self.width / len(_LETTERS), 2.7 * self._look.size("label")
        for k, (text, note) in enumerate(zip(self._table, written, strict=False)):
            place = (
                across * (_LETTERS.index(note.letter) + 0.5),
                down * (len(signs) - 0.5 - signs.index(note.half_sharps)),
            )
            here = k % _AN_OCTAVE == step % _AN_OCTAVE
            text.set_text(note.name)
            text.set_position(place)
            text.set_visible(k < _AN_OCTAVE and not here)
            if here:
                self._cell.set_text(note.name)
                self._cell.set_position(place)
        self._cell.set_visible(self.has_table)
