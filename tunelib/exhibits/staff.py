"""An engraved staff on a picture: its ink in the colours of the theme, and words over and under each of its notes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, TypeAlias

import numpy as np
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import Look, Place
from tunelib.export import StaffDrawing, engrave_svg, line_drawings, musicxml_text
from tunelib.pitch import Instrument, Note, equal
from tunelib.score import Score, ScoreNote

_QUARTERTONES = equal(24)
HALF_A_NOTEHEAD = 152.0  # Bravura's whole note is 1.69 staff spaces wide, and a space is 180
_TO_PAGE = 10.0  # the drawing's units to the tenths of a millimetre in which a page is as wide
_LINE, _CLEAR = 1.25, 0.3  # of the size of words: how much height they take, and how far they are from ink

Row: TypeAlias = tuple[str, str]
"""How a row of words is set: one of the sizes of type, and a weight (``"bold"``, ``"normal"``)."""


class Staff:
    """One line of music in its place on the picture, laid out in points from the place's lower left corner.

    Parameters
    ----------
    figure, look
    place : four floats
        Left, bottom, width and height, each a fraction of the picture.
    columns : int
        The most notes that it shows.
    above, below : sequence of Row
        The rows of words over and under the staff, from the top down.
    """

    def __init__(
        self,
        figure: Canvas,
        look: Look,
        place: Place,
        columns: int,
        above: Sequence[Row] = (),
        below: Sequence[Row] = (),
    ) -> None:
        self._look = look
        self.axes = look.bare(figure, place)
        self.width, height = (72 * side * part for side, part in zip(look.inches, place[2:], strict=True))
        self.axes.set(xlim=(0, self.width), ylim=(0, height))
        self._over, self._top = _rows([look.size(size) for size, _ in above], height, -1)
        self._under, self._bottom = _rows([look.size(size) for size, _ in reversed(below)], 0, 1)
        self._under.reverse()
        nothing = Outline(np.zeros((1, 2)))
        # Not snapped to whole pixels: the two edges of a thin line may be rounded to the same one, and it is gone.
        plain: dict[str, Any] = {"ec": "none", "lw": 0, "snap": False}
        self._rest = [PathPatch(nothing, fc=look.theme.grey, **plain) for _ in range(3)]
        self.notes = [PathPatch(nothing, fc=look.theme.ink, **plain) for _ in range(columns)]
        for patch in (*self._rest, *self.notes):
            self.axes.add_patch(patch)
        self.words = [
            [look.text(self.axes, 0, 0, size=size, weight=weight, ha="center", va="center") for _ in range(columns)]
            for size, weight in (*above, *below)
        ]
        """The texts, row by row from the top."""
        self.heads: list[tuple[float, float]] = []
        """The middle of each notehead that is shown."""
        self.scale = 1.0
        """How many points the unit of the drawing is."""

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [*self._rest, *self.notes, *(text for row in self.words for text in row)]

    @property
    def room(self) -> float:
        """How high the ink can be, in points."""
        return self._top - self._bottom

    def show(
        self,
        drawing: StaffDrawing | None,
        scale: float = 1.0,
        words: Sequence[Sequence[str]] = (),
        reach: tuple[float, float] | None = None,
    ) -> None:
        """Show a line of music with its words, a sequence of as many as there are rows for each note; or nothing.

        `scale` is how many points the unit of the drawing is. `reach` is the highest and the lowest that anything
        comes, in that unit and downwards as in the drawing, if that is not its ink alone.
        """
        for artist in self.artists:
            artist.set_visible(False)
        self.heads, self.scale = [], scale
        if drawing is None:
            return
        up = self._raised(drawing, reach or ink(drawing))
        for patches, outlines in ((self._rest, drawing.others), (self.notes, drawing.notes)):
            for patch, outline in zip(patches, outlines, strict=False):
                upright = np.asarray(outline.vertices) * (scale, -scale) + (0, up)
                patch.set(path=Outline(upright, outline.codes), visible=True)
        self.heads = [(scale * (x + HALF_A_NOTEHEAD), up - scale * y) for x, y in drawing.noteheads]
        heights = [*self._over, *self._under]
        for (x, _), said, *texts in zip(self.heads, words, *self.words, strict=False):
            for text, line, y in zip(texts, said, heights, strict=True):
                text.set(text=line, position=(x, y), visible=True)

    def row(self, index: int) -> float:
        """The height of a row of words, counted from the top one."""
        return [*self._over, *self._under][index]

    def _raised(self, drawing: StaffDrawing, reach: tuple[float, float]) -> float:
        """Where the drawing's top is: its middle line halfway between the words, unless ink would touch them."""
        highest, lowest = (self.scale * height for height in reach)
        up = (self._top + self._bottom) / 2 + self.scale * drawing.staff_lines[2]
        return float(min(max(up, self._bottom + lowest), self._top + highest))


def _rows(sizes: Sequence[float], edge: float, way: int) -> tuple[list[float], float]:
    """The middles of rows of words from an edge inwards, and where ink can begin."""
    middles, place = [], edge
    for size in sizes:
        middles.append(place + way * _LINE * size / 2)
        place += way * _LINE * size
    return middles, place + way * (_CLEAR * sizes[-1] if sizes else 0.0)


def ink(drawing: StaffDrawing) -> tuple[float, float]:
    """The highest and the lowest ink of a drawing, downwards in its unit."""
    heights = [np.asarray(outline.vertices)[:, 1] for outline in drawing.outlines]
    return float(min(ys.min() for ys in heights)), float(max(ys.max() for ys in heights))


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
        Of a line, in the drawing's unit: 720 are the height of a staff.
    reach : two Notes
        The lowest and the highest that are not crossed.
    """
    notes = (ScoreNote(4 * i, 4, _nominal_hertz(note), note) for i, note in enumerate(written))
    score = Score(tuple(notes), beats_per_bar=4 * min(in_a_bar, len(written)))
    bars = range(1, -(-len(written) // in_a_bar) + 1)
    reader = Instrument("", "", clef, "P1", *reach, midi_program=0)
    text = musicxml_text(score, reader, new_lines=bars[on_a_line // in_a_bar :: on_a_line // in_a_bar], bare=True)
    [svg] = engrave_svg(text, page_width=round(breadth / _TO_PAGE), encoded_lines=True)
    return line_drawings(svg, notes=True)


@lru_cache(maxsize=512)
def _nominal_hertz(written: Note) -> float:
    return written.hz(_QUARTERTONES)
