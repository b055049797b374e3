"""The player's own sheet: the harmonics of a low note, as one instrument or voice reads them."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path
from typing import ClassVar

from tunelib.arrange import Sheet, overtone_sheet
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import Look
from tunelib.exhibits.staff import Staff, engraved_lines
from tunelib.export import sheet_files
from tunelib.files import write_set
from tunelib.pitch import INSTRUMENTS, Note, equal, instrument, plain, signed, spell
from tunelib.score import Score, ScoreNote
from tunelib.sound import play_along_timbres

_ON_A_LINE = 8  # harmonics on each of two staves
_BREADTH_WIDE, _BREADTH_TALL = 15000.0, 10500.0  # of an engraved staff, in the drawing's units
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
    together: ClassVar[tuple[str, ...]] = ("player", "cents")
    makes: ClassVar[str] = "Make my sheet"

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        whose = look.text(figure, 0.97, look.fit(0.955, 0.9), ha="right", va="top", weight="bold")
        bottoms, height = look.fit(((0.46, 0.01), 0.42), ((0.5, 0.14), 0.33), ((0.46, 0.04), 0.39))
        breadth = look.fit(_BREADTH_WIDE, _BREADTH_TALL)
        staves = [
            Staff(figure, look, (0.03, bottom, 0.94, height), breadth, _ON_A_LINE, ["bold"], ["bold", "normal"])
            for bottom in bottoms
        ]

        def update(player: str, fundamental: str, last: int, cents: bool) -> None:
            sheet = _sheet(player, fundamental, last)
            whose.set_text(f"{player}, harmonics of {fundamental}")
            written, reach = tuple(row.written for row in sheet.rows), (sheet.player.lowest, sheet.player.highest)
            lines = engraved_lines(written, sheet.player.clef, _ON_A_LINE, _ON_A_LINE, breadth, reach)
            for i, (staff, line) in enumerate(zip_longest(staves, lines)):
                rows = sheet.rows[i * _ON_A_LINE : (i + 1) * _ON_A_LINE]
                staff.show(line, [(signed(row.cents) if cents else "", *row.label.split(" · ")) for row in rows])

        return Scene([whose, *(artist for staff in staves for artist in staff.artists)], update)

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
