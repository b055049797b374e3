"""A sheet to play along with: the overtones of one note, for one instrument or voice.

After a bar of ticks each harmonic takes two bars. In the first it sounds; the second is a gap to play in. A drone
on the fundamental lies under it all. The printed part shows the first bar small, as a cue, and the second full size, at
the player's pitch: the nearest note of twelve, over it the cents by which the true harmonic lies away from that, under
it the harmonic's number and its ratio to the octave of the fundamental at or below it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from tunelib.export.cautions import CAUTIONS_TITLE, LOW_VOLUME, RINGING
from tunelib.export.engrave import engrave_svg
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import musicxml_text
from tunelib.export.page import Drawing, Page, page_pdf, paper_width
from tunelib.files import refuse_existing, write_together
from tunelib.pitch.counts import is_whole
from tunelib.pitch.instruments import Instrument
from tunelib.pitch.intervals import cents, octave_reduce
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.tunings import equal
from tunelib.pitch.words import aligned, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes
from tunelib.sound.casting import timbre_for
from tunelib.sound.render import render
from tunelib.sound.timbre import Timbre, timbre

HIGHEST_HARMONIC = 64
SLOWEST, FASTEST = 20.0, 200.0
LOWEST_HZ, HIGHEST_HZ = 16.0, 16_000.0  # C0 and up; few adults hear a tone above (common practice)
BEATS_PER_BAR = 4
SUFFIXES = (".pdf", ".svg", ".musicxml", ".mid", ".wav")

CAUTIONS = (
    LOW_VOLUME,
    RINGING,
    "Rest lips, voice and hands often. Strain or pain means stop; ask a teacher before you go on.",
    "At work and in class, keep to the local rules on noise.",
)

_TICK_HZ = (1320.0, 880.0, 880.0, 880.0)
_HARMONICS_PER_LINE = 4
_STAFF_SCALE = 0.93  # of 7.2 mm: a staff of 6.7 mm, as parts are printed
_TWELVE = equal(12)
_UNEVEN_FAMILIES = ("plucked", "struck")  # die away within the bar, or have stretched partials
_DRONE_LEVEL = 0.5  # with bright harmonics, so that a player's note has something to beat against
_WOODBLOCK, _DRAWBAR_ORGAN, _STRINGS = 115, 16, 48  # General MIDI programs, counted from 0


@dataclass(frozen=True)
class SheetRow:
    """One harmonic of a sheet.

    `ratio` is to the octave of the fundamental at or below it; `sounding` and `written` name the nearest of twelve
    equal steps; `cents` is how far the harmonic, at `hertz`, lies above it; `in_reach` says whether it lies in the
    player's comfortable range.
    """

    number: int
    ratio: Fraction
    sounding: Note
    written: Note
    hertz: float
    cents: float
    in_reach: bool

    @property
    def label(self) -> str:
        """Number and ratio as they stand under the note, such as ``"7 · 7/4"``."""
        return f"{self.number} · {_fraction(self.ratio)}"


@dataclass(frozen=True)
class Sheet:
    """A play-along sheet: what `overtone_sheet` makes and `write_sheet` writes.

    The score has the voices ``"count"``, ``"guide"``, ``"player"`` and, if there is one, ``"drone"``.
    """

    title: str
    player: Instrument
    fundamental: Note
    rows: tuple[SheetRow, ...]
    score: Score

    @property
    def slug(self) -> str:
        """The title as a file name, without its suffix."""
        return f"{self.player.slug}-{self.series}"

    @property
    def series(self) -> str:
        """The fundamental and its harmonics as a part of file names, such as ``"b-flat-1-harmonics-1-16"``."""
        note = f"{self.fundamental.letter}{_SPOKEN[self.fundamental.half_sharps]}-{self.fundamental.octave}"
        return f"{note.lower()}-harmonics-{_in_runs([row.number for row in self.rows])}"

    @property
    def files(self) -> tuple[str, ...]:
        """The names of the files that `write_sheet` writes."""
        return tuple(self.slug + suffix for suffix in SUFFIXES)

    @property
    def reached(self) -> int:
        """How many of the harmonics lie in the player's comfortable range."""
        return sum(row.in_reach for row in self.rows)


_SPOKEN = {-4: "-double-flat", -2: "-flat", 0: "", 2: "-sharp", 4: "-double-sharp"}


def overtone_sheet(
    player: Instrument,
    fundamental: Note,
    harmonics: Sequence[int] = range(1, 17),
    drone: bool = True,
    tempo: float = 60.0,
) -> Sheet:
    """Make a sheet of the harmonics of a note.

    Parameters
    ----------
    player : Instrument
    fundamental : Note
        As it sounds, in twelve equal steps at A4 = 440 Hz.
    harmonics : sequence of int
        Their numbers from 1 to 64, rising; 1 is the fundamental itself.
    drone : bool
        Whether the fundamental sounds throughout.
    tempo : float
        Beats a minute, 20 to 200. A bar has four.

    Raises ValueError for values out of these bounds, a fundamental below C0, a harmonic above 16 000 Hz, which few
    could hear, or one that this player's part cannot be written for.

    >>> from tunelib.pitch.instruments import instrument
    >>> sheet = overtone_sheet(instrument("trumpet"), Note.parse("B♭2"), range(2, 9))
    >>> [f"{row.written} {signed(row.cents)}" for row in sheet.rows[4:6]]
    ['G5 +2', 'B♭5 −31']
    """
    numbers = list(harmonics)
    if not numbers:
        raise ValueError("a sheet needs at least one harmonic, such as range(1, 17)")
    for number in numbers:
        if not is_whole(number) or not 1 <= number <= HIGHEST_HARMONIC:
            raise ValueError(f"harmonics are numbered from 1 to {HIGHEST_HARMONIC}; {number} is not among them")
    if any(after <= before for before, after in pairwise(numbers)):
        raise ValueError("the harmonics must rise, each number given once")
    if not SLOWEST <= tempo <= FASTEST:
        raise ValueError(f"the tempo lies from {SLOWEST:g} to {FASTEST:g} beats a minute, not at {tempo:g}")
    base = fundamental.hz(_TWELVE)
    if base < LOWEST_HZ:
        raise ValueError(f"the fundamental {fundamental} lies at {base:.3g} Hz; take one from C0 (16.35 Hz) up")
    if base * numbers[-1] > HIGHEST_HZ:
        raise ValueError(
            f"harmonic {numbers[-1]} of {fundamental} lies at {base * numbers[-1]:.0f} Hz, above {HIGHEST_HZ:.0f} Hz, "
            "where few can hear it; take fewer harmonics or a lower fundamental"
        )
    rows = _rows(player, fundamental, numbers)
    for row in rows:
        if not 0 <= row.written.octave <= 9:
            raise ValueError(
                f"harmonic {row.number} of {fundamental} would be written {row.written} for {player.name}, "
                "and written notes go from C0 to B9; take another fundamental"
            )
    title = f"Overtones of {fundamental} for {player.name}"
    score = Score(tuple(_play_along(rows, fundamental, drone)), tempo, BEATS_PER_BAR, title)
    return Sheet(title, player, fundamental, rows, score)


def write_sheet(
    sheet: Sheet,
    folder: str | os.PathLike[str],
    paper: str = "a4",
    overwrite: bool = False,
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write a sheet as PDF, SVG, MusicXML, MIDI and WAV, and return the paths in that order.

    Parameters
    ----------
    sheet : Sheet
    folder : str or path
        Made if it is missing.
    paper : str
        ``"a4"`` or ``"letter"``.
    overwrite : bool
        Whether files of these names may be replaced.
    progress : function, optional
        Called with a few words before each step.

    All five are made before the first is written. Raises FileExistsError, before anything is made, if one of them is
    there; ValueError for a paper that is not known; ImportError, with what to install, where Typst is missing.
    """
    tell = progress or (lambda step: None)
    if not overwrite:
        refuse_existing(Path(folder) / name for name in sheet.files)
    contents = sheet_files(sheet, paper, tell)
    tell("saving the files")
    return write_together(folder, contents, overwrite)


def sheet_files(sheet: Sheet, paper: str, tell: Callable[[str], None]) -> dict[str, bytes]:
    """The files of a sheet by name, made and not yet written; parameters and errors as for `write_sheet`."""
    paper_width(paper)  # refuses one that is not known
    tell("writing the notes")
    part = part_musicxml(sheet)
    tell("engraving the staff")
    [whole] = _engraved(part, paper)
    tell("setting the page")
    pdf = page_pdf(sheet_page(sheet, paper), paper)
    tell("writing the MIDI file")
    midi = play_along_midi(sheet)
    tell("rendering the sound")
    wav = play_along_wav(sheet)
    contents = (pdf, _titled(whole, sheet).encode(), part.encode(), midi, wav)
    return dict(zip(sheet.files, contents, strict=True))


def part_musicxml(sheet: Sheet) -> str:
    """The player's part as MusicXML: the guide as cues, the player's notes full size, four harmonics a line."""
    bars = range(2, 2 + 2 * len(sheet.rows), 2 * _HARMONICS_PER_LINE)
    part = sheet.score.only("guide", "player")
    return musicxml_text(part, sheet.player, cues=("guide",), new_lines=bars[1:])


def play_along_midi(sheet: Sheet, together: bool = False) -> bytes:
    """What there is to play along with, as a MIDI file; `together` for a band, to whom an organ gives the notes."""
    return midi_bytes(sheet.score, program_of=_programs(None if together else sheet.player))


def play_along_wav(sheet: Sheet, together: bool = False) -> bytes:
    """The same as a recording, a WAV file."""
    return wav_bytes(render(sheet.score, play_along_timbres(None if together else sheet.player)))


def play_along_timbres(player: Instrument | None) -> dict[str, Timbre]:
    """The timbres of the voices of a sheet's score; for a band if there is no one player."""
    guide = timbre_for(player) if player and player.family not in _UNEVEN_FAMILIES else timbre("organ")
    return {"count": timbre("tick"), "guide": guide, "player": guide, "drone": timbre("bowed")}


def _programs(player: Instrument | None) -> dict[str, int]:
    guide = player.midi_program if player and player.family not in _UNEVEN_FAMILIES else _DRAWBAR_ORGAN
    return {"count": _WOODBLOCK, "guide": guide, "player": guide, "drone": _STRINGS}


def _rows(player: Instrument, fundamental: Note, numbers: Sequence[int]) -> tuple[SheetRow, ...]:
    hertz = fundamental.hz(_TWELVE) * np.array(numbers)
    home = player.written(fundamental).fifths
    rows = []
    for number, frequency, in_reach in zip(numbers, hertz.tolist(), player.reaches(hertz).tolist(), strict=True):
        steps, away = _above(number)
        nearest = spell(fundamental.step(_TWELVE) + steps, _TWELVE, fundamental.fifths)
        written = _plain(player.written(nearest), home)
        sounding = player.sounding(written)
        rows.append(SheetRow(number, octave_reduce(number), sounding, written, frequency, away, in_reach))
    return tuple(rows)


@lru_cache(maxsize=HIGHEST_HARMONIC)
def _above(number: int) -> tuple[int, float]:
    """The step of twelve nearest to a harmonic, counted from its fundamental, and the cents left over."""
    step, error = _TWELVE.nearest(cents(number))
    return step, -error


def _plain(written: Note, home: float) -> Note:
    """A note as a player likes to read it: no double accidental, and no E♯, B♯, C♭ or F♭."""
    if abs(written.half_sharps) <= 2 and (written.letter, written.half_sharps) not in _AWKWARD:
        return written
    return spell(written.step(_TWELVE), _TWELVE, home)


_AWKWARD = {("E", 2), ("B", 2), ("C", -2), ("F", -2)}


def _play_along(rows: Sequence[SheetRow], fundamental: Note, drone: bool) -> list[ScoreNote]:
    bar = BEATS_PER_BAR
    notes = [ScoreNote(beat, Fraction(1, 4), hertz, None, "count") for beat, hertz in enumerate(_TICK_HZ)]
    for i, row in enumerate(rows):
        start = bar + 2 * bar * i
        notes.append(ScoreNote(start, bar, row.hertz, row.sounding, "guide", level=0.7))
        notes.append(ScoreNote(start + bar, bar, row.hertz, row.sounding, "player", row.label, level=0))
    if drone:
        length = 2 * bar * len(rows)
        notes.append(ScoreNote(bar, length, fundamental.hz(_TWELVE), fundamental, "drone", level=_DRONE_LEVEL))
    return notes


def sheet_page(sheet: Sheet, paper: str = "a4") -> Page:
    """The printed page of a sheet, engraved to the width of a paper; ValueError for one that is not known."""
    lines = _engraved(part_musicxml(sheet), paper, lines_per_page=1)
    drone = " over a drone" if "drone" in sheet.score.voices else ""
    answer = "sing" if sheet.player.family == "voice" else "play"
    introduction = (
        f"A bar of four ticks, then two bars for each harmonic{drone}: listen to the small note, {answer} the large "
        "one. Above it, in cents (hundredths of a semitone), how far the true harmonic lies from the written note; "
        "below it, the harmonic's number and its ratio to the octave of the fundamental at or below it. "
        f"{sheet.reached} of {len(sheet.rows)} harmonics are in comfortable reach"
        + ("." if sheet.reached == len(sheet.rows) else "; to those with a crossed notehead, only listen.")
    )
    rows_of = [sheet.rows[i : i + _HARMONICS_PER_LINE] for i in range(0, len(sheet.rows), _HARMONICS_PER_LINE)]
    return Page(
        title=sheet.title,
        introduction=introduction,
        drawings=[
            Drawing(svg, f"Staff for {sheet.player.name}: {_described(rows)}.")
            for svg, rows in zip(lines, rows_of, strict=True)
        ],
        table_title="The harmonics in numbers",
        head=("Harmonic", "Ratio", "Sounds", "Written", "Hertz", "Cents from twelve", "Range"),
        rows=[
            (
                str(row.number),
                _fraction(row.ratio),
                str(row.sounding),
                str(row.written),
                f"{row.hertz:.2f}",
                aligned(row.cents),
                "in reach" if row.in_reach else "out of reach",
            )
            for row in sheet.rows
        ],
        cautions_title=CAUTIONS_TITLE,
        cautions=CAUTIONS,
    )


def _engraved(part: str, paper: str, lines_per_page: int | None = None) -> list[str]:
    return engrave_svg(
        part,
        page_width=round(10 / _STAFF_SCALE * paper_width(paper)),
        lines_per_page=lines_per_page,
        encoded_lines=True,
    )


def _described(rows: Sequence[SheetRow]) -> str:
    return "; ".join(f"harmonic {row.number}, written {row.written}, {signed(row.cents)} cents" for row in rows)


def _titled(svg: str, sheet: Sheet) -> str:
    """The drawing with a title, which a browser shows and a screen reader reads."""
    head, rest = svg.split(">", 1)
    return f'{head} role="img"><title>{escape(sheet.title)}</title>{rest}'


def _fraction(ratio: Fraction) -> str:
    return f"{ratio.numerator}/{ratio.denominator}"


def _in_runs(numbers: Sequence[int]) -> str:
    """Rising numbers with neighbours drawn together: ``"1-4_7"``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return "_".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)
