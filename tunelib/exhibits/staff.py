"""An engraved staff on a picture: its ink in the colour of the theme, and words over and under each of its notes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import SMALL, Look
from tunelib.export import StaffDrawing, engrave_svg, line_drawings, musicxml_text
from tunelib.pitch import Instrument, Note, equal
from tunelib.score import Score, ScoreNote

_QUARTERTONES = equal(24)
_HALF_A_NOTEHEAD = 152.0  # Bravura's whole note is 1.69 staff spaces wide, and a space is 180
_TO_PAGE = 10.0  # the drawing's units to the tenths of a millimetre in which a page is as wide
# In the size of the words: from the edge to their middle, from line to line, and from their middle to the ink.
_EDGE, _LINE, _CLEAR = 8 / SMALL, 14 / SMALL, 6 / SMALL


class Staff:
    """One line of music, as broad as its place on the picture.

    Parameters
    ----------
    figure, look
    place : four floats
        Left, bottom, width and height, each a fraction of the picture.
    breadth : float
        How much music the place holds, in the unit of engraved drawings: 720 are the height of a staff.
    columns : int
        The most notes that it shows.
    above, below : sequence of str
        A weight (``"bold"``, ``"normal"``) for each row of words over and under the staff, from the top down.
    size : float
        Of the words, in points.
    """

    def __init__(
        self,
        figure: Canvas,
        look: Look,
        place: tuple[float, float, float, float],
        breadth: float,
        columns: int,
        above: Sequence[str] = (),
        below: Sequence[str] = (),
        size: float = SMALL,
    ) -> None:
        self.axes = look.bare(figure, place)
        pixels = self.axes.get_window_extent()
        depth = breadth * pixels.height / pixels.width
        self.axes.set(xlim=(0, breadth), ylim=(-depth, 0))
        unit = size * depth / (pixels.height / figure.figure.dpi * 72)  # the size of the words, in the drawing's unit
        self._over = [-(_EDGE + _LINE * i) * unit for i in range(len(above))]
        self._under = [(_EDGE + _LINE * i) * unit - depth for i in reversed(range(len(below)))]
        self._top = self._over[-1] - _CLEAR * unit if above else 0.0
        self._bottom = self._under[0] + _CLEAR * unit if below else -depth
        nothing = Outline(np.zeros((1, 2)))
        self._ink = [PathPatch(nothing, fc=look.theme.ink, ec="none", lw=0) for _ in range(3)]
        for patch in self._ink:
            self.axes.add_patch(patch)
        self._words = [
            [look.text(self.axes, 0, 0, ha="center", va="center", weight=weight, fontsize=size) for _ in range(columns)]
            for weight in (*above, *below)
        ]
        self.line_height = _LINE * unit
        """From one row of words to the next, in the data of `axes`."""
        self.columns: list[float] = []
        """The middle of each notehead that is shown, across, in the data of `axes`."""

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [*self._ink, *(text for row in self._words for text in row)]

    def row(self, index: int) -> float:
        """The height of a row of words, counted from the top one, in the data of `axes`."""
        return [*self._over, *self._under][index]

    def show(self, drawing: StaffDrawing | None, words: Sequence[Sequence[str]] = ()) -> None:
        """Show a line of music with its words, a sequence of as many as there are rows for each note; or nothing."""
        for artist in self.artists:
            artist.set_visible(False)
        self.columns = []
        if drawing is None:
            return
        raised = self._raised(drawing)
        for patch, outline in zip(self._ink, drawing.outlines, strict=False):
            upright = np.asarray(outline.vertices) * (1, -1) + (0, raised)
            patch.set(path=Outline(upright, outline.codes), visible=True)
        self.columns = [x + _HALF_A_NOTEHEAD for x, _ in drawing.noteheads]
        heights = [*self._over, *self._under]
        for x, said, *texts in zip(self.columns, words, *self._words, strict=False):
            for text, line, y in zip(texts, said, heights, strict=True):
                text.set(text=line, position=(x, y), visible=True)

    def _raised(self, drawing: StaffDrawing) -> float:
        """How far to raise a drawing: its middle line halfway between the words, unless ink would touch them."""
        heights = [np.asarray(outline.vertices)[:, 1] for outline in drawing.outlines]
        highest, lowest = -min(ys.min() for ys in heights), -max(ys.max() for ys in heights)
        raised = (self._top + self._bottom) / 2 + drawing.staff_lines[2]
        raised = max(raised, self._bottom - lowest)
        return float(min(raised, self._top - highest))


@lru_cache(maxsize=128)
def engraved_lines(
    written: tuple[Note, ...],
    clef: str,
    on_a_line: int,
    in_a_bar: int,
    breadth: float,
    reach: tuple[Note, Note] = (Note("C", 0, 0), Note("B", 0, 9)),
) -> tuple[StaffDrawing, ...]:
    """Notes in lines of music, in the order given, as whole notes without a metre.

    Parameters
    ----------
    written : tuple of Note
    clef : str
        One that an `Instrument` can have.
    on_a_line, in_a_bar : int
        How many notes at most; a line holds whole bars. An accidental holds for its bar.
    breadth : float
        Of a line, in the drawing's unit.
    reach : two Notes
        The lowest and the highest that are not crossed.
    """
    notes = (ScoreNote(4 * i, 4, _nominal_hertz(note), note) for i, note in enumerate(written))
    score = Score(tuple(notes), beats_per_bar=4 * min(in_a_bar, len(written)))
    bars = range(1, -(-len(written) // in_a_bar) + 1)
    reader = Instrument("", "", clef, "P1", *reach, midi_program=0)
    text = musicxml_text(score, reader, new_lines=bars[on_a_line // in_a_bar :: on_a_line // in_a_bar], bare=True)
    [svg] = engrave_svg(text, page_width=round(breadth / _TO_PAGE), encoded_lines=True)
    return line_drawings(svg)


@lru_cache(maxsize=512)
def _nominal_hertz(written: Note) -> float:
    return written.hz(_QUARTERTONES)
