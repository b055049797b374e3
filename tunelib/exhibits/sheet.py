"""The player's own sheet: the harmonics of a low note, as one instrument or voice reads them."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import Look
from tunelib.export.engrave import engrave_svg
from tunelib.export.musicxml import musicxml_text
from tunelib.export.outlines import StaffDrawing, staff_drawing
from tunelib.export.sheet import Sheet, SheetRow, overtone_sheet, play_along_timbres, write_sheet
from tunelib.pitch.instruments import INSTRUMENTS, Instrument, instrument
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.tunings import equal
from tunelib.pitch.words import plain, signed
from tunelib.score import Score, ScoreNote

_ON_A_LINE = 8  # harmonics on each of two staves
_BREADTH_WIDE, _BREADTH_TALL = 15000.0, 10500.0  # of an engraved staff, in the drawing's units
_HALF_A_NOTEHEAD = 140.0
_FAR = 25.0  # cents: a quarter of the way to the next key
_TWELVE = equal(12)
_LOWEST = Note.parse("C1")
_LOW_NOTES = tuple(str(spell(step, _TWELVE, home=-2)) for step in range(_LOWEST.step(_TWELVE), 1))  # up to C4
_PLAYERS = tuple(name for name, player in INSTRUMENTS.items() if player.written(_LOWEST).octave >= 0)


class SeriesSheet(Exhibit):
    """The first harmonics of a note on the staff of an instrument, with their distance from twelve."""

    name: ClassVar[str] = "series_sheet"
    title: ClassVar[str] = "Your own sheet"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("player", "Instrument", _PLAYERS, "alto saxophone"),
        Choice("fundamental", "Fundamental", _LOW_NOTES, "B♭1", ordered=True),
        Slider("last", "Harmonics up to", 2, 2 * _ON_A_LINE, 1, 2 * _ON_A_LINE),
        Switch("cents", "Show the cents", True),
    )
    makes: ClassVar[str] = "Make my sheet"

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        whose = look.text(figure, 0.97, 0.955 if not look.tall else 0.9, ha="right", va="top", weight="bold")
        bottoms, height = ((0.46, 0.01), 0.42) if not look.tall else ((0.5, 0.14), 0.33)
        staves = [_Staff(figure, look, bottom, height) for bottom in bottoms]

        def update(player: str, fundamental: str, last: int, cents: bool) -> None:
            sheet = _sheet(player, fundamental, last)
            whose.set_text(f"{player}, harmonics of {fundamental}")
            for i, staff in enumerate(staves):
                staff.show(sheet, slice(i * _ON_A_LINE, (i + 1) * _ON_A_LINE), cents)

        return Scene([whose, *(artist for staff in staves for artist in staff.artists)], update)

    def sentence(self, player: str, fundamental: str, last: int, cents: bool) -> str:
        sheet = _sheet(player, fundamental, last)
        opening = (
            f"Harmonics 1 to {last} of {fundamental}, as the {player} reads them: {sheet.reached} of {last} lie in "
            "comfortable reach"
        )
        if not cents:
            return f"{opening}; how far each lies from the written note is for you to find out."
        far = [f"{row.number} ({signed(row.cents)})" for row in sheet.rows if abs(row.cents) > _FAR]
        strays = f"harmonics {', '.join(far)}" if len(far) > 1 else f"harmonic {far[0]}" if far else "none"
        return f"{opening}; farther than {plain(_FAR)} hundredths of a semitone from the written note: {strays}."

    def score(self, player: str, fundamental: str, last: int, cents: bool) -> Score:
        rows = _sheet(player, fundamental, last).rows
        guide = (
            ScoreNote(onset=i, duration=0.9, hertz=row.hertz, name=row.sounding, voice="guide", level=0.6)
            for i, row in enumerate(rows)
        )
        drone = ScoreNote(
            onset=0, duration=len(rows), hertz=rows[0].hertz, name=rows[0].sounding, voice="drone", level=0.3
        )
        return Score((*guide, drone), tempo=75)

    def timbre(self, player: str, fundamental: str, last: int, cents: bool) -> Voicing:
        return play_along_timbres(instrument(player))

    def make(
        self, folder: Path, tell: Callable[[str], None], player: str, fundamental: str, last: int, cents: bool
    ) -> list[Path]:
        return write_sheet(_sheet(player, fundamental, last), folder, progress=tell)


class _Staff:
    """One line of the sheet: an engraved staff, and over and under each note what belongs to it."""

    def __init__(self, figure: Canvas, look: Look, bottom: float, height: float) -> None:
        axes = look.bare(figure, (0.03, bottom, 0.94, height))
        pixels = axes.get_window_extent()
        self._breadth = _BREADTH_TALL if look.tall else _BREADTH_WIDE
        depth = self._breadth * pixels.height / pixels.width
        axes.set(xlim=(0, self._breadth), ylim=(-depth, 0))
        point = depth / (pixels.height / figure.figure.dpi * 72)  # in the drawing's units
        self._heights = (-8 * point, -depth + 22 * point, -depth + 8 * point)
        self._middle = (self._heights[0] + self._heights[1]) / 2
        nothing = Outline(np.zeros((1, 2)))
        self._ink = [PathPatch(nothing, fc=look.theme.ink, ec="none", lw=0) for _ in range(3)]
        for patch in self._ink:
            axes.add_patch(patch)
        self._words = [
            [look.text(axes, 0, 0, ha="center", va="center", weight=weight) for _ in range(_ON_A_LINE)]
            for weight in ("bold", "bold", "normal")
        ]

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [*self._ink, *(text for row in self._words for text in row)]

    def show(self, sheet: Sheet, which: slice, cents: bool) -> None:
        """Show some rows of the sheet, with their cents or without; nothing if there are none."""
        for artist in self.artists:
            artist.set_visible(False)
        rows = sheet.rows[which]
        if not rows:
            return
        drawing = _engraved(rows, sheet.player, round(self._breadth / 10))
        shift = (0, self._middle + drawing.staff_lines[2])
        for patch, outline in zip(self._ink, drawing.outlines, strict=False):
            upright = np.asarray(outline.vertices) * (1, -1) + shift
            patch.set(path=Outline(upright, outline.codes), visible=True)
        for row, (x, _), *texts in zip(rows, drawing.noteheads, *self._words, strict=False):
            said = (
                signed(row.cents) if cents else "",
                str(row.number),
                f"{row.ratio.numerator}/{row.ratio.denominator}",
            )
            for text, words, y in zip(texts, said, self._heights, strict=True):
                text.set(text=words, position=(x + _HALF_A_NOTEHEAD, y), visible=True)


@lru_cache(maxsize=64)
def _sheet(player: str, fundamental: str, last: int) -> Sheet:
    return overtone_sheet(instrument(player), Note.parse(fundamental), range(1, last + 1))


@lru_cache(maxsize=128)
def _engraved(rows: tuple[SheetRow, ...], player: Instrument, page_width: int) -> StaffDrawing:
    """Some rows of a sheet on a player's staff, one note a row, in one bar."""
    notes = tuple(
        ScoreNote(onset=4 * i, duration=4, hertz=row.hertz, name=row.sounding, voice="guide")
        for i, row in enumerate(rows)
    )
    text = musicxml_text(Score(notes, beats_per_bar=4 * len(rows)), player, bare=True)
    [svg] = engrave_svg(text, page_width=page_width, encoded_lines=True)
    return staff_drawing(svg)
