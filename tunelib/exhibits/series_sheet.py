"""The player's own sheet: the harmonics of a low note, as one instrument or voice reads them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from tunelib.arrange import Sheet, overtone_sheet
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import Look
from tunelib.exhibits.staff import Staff, engraved_lines, ink
from tunelib.export import StaffDrawing, sheet_files
from tunelib.files import write_set
from tunelib.pitch import INSTRUMENTS, Note, equal, instrument, plain, signed, spell
from tunelib.score import Score, ScoreNote
from tunelib.sound import play_along_timbres

_MOST = 16
_USUAL = 1950.0  # in the unit of engraved drawings, of which 720 are the height of a staff: how high a line is
_SHORT = 0.88  # of the breadth of the picture: the least that a line is long
_A_CENT = 9.0  # in that unit: how long the bar is by which a harmonic misses the written note
NEAR = 10.0  # cents: what is nearer to the written note has no bar
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
        Slider("last", "Harmonics up to", 2, _MOST, 1, _MOST),
        Switch("cents", "Show the cents", True),
    )
    together: ClassVar[tuple[str, ...]] = ("player", "cents")
    makes: ClassVar[str] = "Make my sheet"

    parts: ClassVar[Mapping[str, str]] = {
        "staff": "the staff, and the notes as they are written",
        "numbers": "the numbers of the harmonics",
        "gaps": "how far a harmonic is from the written note",
        "cents": "the same in cents",
        "player": "who reads them, and of which note they are",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("staff", "player"), ("numbers",), ("gaps", "cents"))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Staves(figure, look)

        now: dict[str, Any] = {}

        def update(player: str, fundamental: str, last: int, cents: bool) -> None:
            now.update(player=player, fundamental=fundamental, last=last, cents=cents)
            picture.show(_sheet(player, fundamental, last), f"harmonics of {fundamental}, written for {player}", cents)

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                notes = self.score(**now).notes
                picture.sound([int(notes[i].onset) for i in playing.notes if notes[i].voice == "guide"])

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, player: str, fundamental: str, last: int, cents: bool) -> str:
        sheet = _sheet(player, fundamental, last)
        opening = (
            f"Harmonics 1 to {last} of {fundamental}, as the {player} reads them: {sheet.reached} of {last} are in "
            "comfortable range"
        )
        if not cents:
            return f"{opening}; how far each is from the written note is for you to find out."
        far = [f"{row.number} ({signed(row.cents)})" for row in sheet.rows if abs(row.cents) > _FAR]
        strays = f"harmonics {', '.join(far)}" if len(far) > 1 else f"harmonic {far[0]}" if far else "none"
        return f"{opening}; farther than {plain(_FAR)} hundredths of a semitone from the written note: {strays}."

    def numbers(self, player: str, fundamental: str, last: int, cents: bool) -> Mapping[str, str]:
        rows = _sheet(player, fundamental, last).rows
        farthest = max(rows, key=lambda row: abs(row.cents))
        return {"farthest": str(farthest.number), "off": plain(abs(round(farthest.cents)))}

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
        return write_set(sheet_files(_sheet(player, fundamental, last)), folder, progress=tell)


@lru_cache(maxsize=64)
def _sheet(player: str, fundamental: str, last: int) -> Sheet:
    return overtone_sheet(instrument(player), Note.parse(fundamental), range(1, last + 1))


class _Staves:
    """The sheet on a picture: lines of notes, a number under each, and a bar from each head to where the harmonic is.

    Staves are as large as their highest and lowest notes allow.
    """

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look, self._on_a_line = look, look.fit(8, 4, 8)
        left, bottom, width, height = look.frame
        inches_high = look.inches[1]
        line = 1.3 * look.size("label") / 72 / inches_high
        top = bottom + height
        said = {"color": theme.grey, "va": "top"}
        self._whose = look.text(figure, left, top, **said)
        self._how = look.text(
            figure, look.fit(left + width, left), top - look.fit(0.0, line), ha=look.fit("right", "left"), **said
        )
        top -= look.fit(1.0, 2.0) * line
        lines = _MOST // self._on_a_line
        apart = 0.6 * line
        each = (top - bottom + apart) / lines
        off = (look.fit("name", "label"), "bold")
        self._staves = [
            Staff(
                figure, look, (left, top - (i + 1) * each + apart, width, each - apart), self._on_a_line, [off],
                [("label", "normal")],
            )
            for i in range(lines)
        ]  # fmt: skip
        self._bars, self._fills, self._ends = [], [], []
        for staff in self._staves:
            butt: dict[str, Any] = {"solid_capstyle": "butt"}
            self._bars += staff.axes.plot([], [], color=theme.pure.full, lw=7, **butt)
            self._fills += staff.axes.plot([], [], color=theme.pure.fill, lw=4.6, **butt)
            self._ends += staff.axes.plot([], [], color=theme.pure.full, marker="_", ls="none", ms=11, mew=3)
        self.moving = (
            *(artist for staff in self._staves for artist in staff.artists), *self._bars, *self._fills, *self._ends,
            self._whose, self._how,
        )  # fmt: skip
        self.parts = {
            "staff": [artist for staff in self._staves for artist in staff.artists[: 3 + self._on_a_line]],
            "numbers": [text for staff in self._staves for text in staff.words[1]],
            "gaps": [*self._bars, *self._fills, *self._ends],
            "cents": [text for staff in self._staves for text in staff.words[0]],
            "player": [self._whose, self._how],
        }

    def show(self, sheet: Sheet, whose: str, cents: bool) -> None:
        """Show a sheet; nothing sounds."""
        self._rows = sheet.rows
        theme, breadth = self._look.theme, self._staves[0].width
        written, reach = tuple(row.written for row in sheet.rows), (sheet.player.lowest, sheet.player.highest)
        scale = self._staves[0].room / _USUAL
        while True:
            lines = engraved_lines(
                written, sheet.player.clef, self._on_a_line, self._on_a_line, round(breadth / scale), reach
            )
            reaches = [self._reach(line, self._rows[i * self._on_a_line :]) for i, line in enumerate(lines)]
            fits = min(self._staves[0].room / (low - high) for high, low in reaches)
            if fits >= _SHORT * scale:
                break
            scale = fits  # much smaller, and therefore broader in its own unit: engraved once more
        scale = min(scale, fits)
        for i, staff in enumerate(self._staves):
            line, ends = (lines[i], reaches[i]) if i < len(lines) else (None, None)
            rows = self._rows[i * self._on_a_line : (i + 1) * self._on_a_line]
            strays = [cents and abs(row.cents) > NEAR for row in rows]
            off = [signed(row.cents) if stray else "" for row, stray in zip(rows, strays, strict=True)]
            staff.show(line, scale, list(zip(off, (str(row.number) for row in rows), strict=True)), ends)
            for text, number, stray in zip(*staff.words, strays, strict=False):
                text.set_color(theme.pure.text)
                number.set_color(theme.ink if stray else theme.grey)
            tips = [
                (x + self._aside(scale), y, y + scale * _A_CENT * row.cents)
                for (x, y), row in zip(staff.heads, rows, strict=True)
            ]
            shown = [tip if stray else (np.nan,) * 3 for tip, stray in zip(tips, strays, strict=True)]
            across = [x for tip in shown for x in (tip[0], tip[0], np.nan)]
            up = [y for tip in shown for y in (*tip[1:], np.nan)]
            for bar in (self._bars[i], self._fills[i]):
                bar.set_data(across, up)
            self._ends[i].set_data([tip[0] for tip in shown], [tip[2] for tip in shown])
        crossed = sheet.reached < len(sheet.rows)
        self._whose.set_text(whose)
        self._how.set_text("; ".join(["green: cents off"] * cents + ["crossed: out of range"] * crossed))
        for index in range(_MOST):
            self._colour(index, False)

    def sound(self, harmonics: Sequence[int]) -> None:
        """Light up the harmonic that sounds, counted from 0; the others recede."""
        for index in range(_MOST) if harmonics else ():
            self._colour(index, True, index in harmonics)

    def _colour(self, index: int, others_sound: bool, sounds: bool = False) -> None:
        """Colour a note: bright, or dim where it is out of range or others sound."""
        theme = self._look.theme
        staff = self._staves[index // self._on_a_line]
        out = index < len(self._rows) and not self._rows[index].in_reach
        dim = (out or others_sound) and not sounds
        staff.notes[index % self._on_a_line].set_facecolor(theme.line if dim else theme.ink)

    @staticmethod
    def _aside(scale: float) -> float:
        """How far the bar is to the right of the middle of the head, in points."""
        return 190.0 * scale + 3.5

    @staticmethod
    def _reach(line: StaffDrawing, rows: Sequence[Any]) -> tuple[float, float]:
        """The highest and the lowest that a line comes with its bars, downwards in its unit."""
        high, low = ink(line)
        tips = [y - _A_CENT * row.cents for (_, y), row in zip(line.noteheads, rows, strict=False)]
        return min(high, *(tip - 90 for tip in tips)), max(low, *(tip + 90 for tip in tips))
