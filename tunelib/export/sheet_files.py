"""The files of a play-along sheet: a printed page, its staff, MusicXML, MIDI and a recording.

The part shows the bar in which a harmonic sounds small, as a cue, and the player's bar full size, at the player's
pitch: the nearest note of twelve, over it how many cents the true harmonic is from it, under it the
harmonic's number and its ratio to the octave of the fundamental at or below it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape

from tunelib.arrange import Sheet, SheetRow
from tunelib.export.cautions import CAUTIONS_TITLE, LOW_VOLUME, RINGING
from tunelib.export.engrave import engrave_svg
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import musicxml_text
from tunelib.export.typeset import Drawing, Page, page_pdf, paper_width
from tunelib.files import FileSet, Tell
from tunelib.pitch import Instrument, aligned, signed
from tunelib.sound import has_even_sound, play_along_timbres, render_to

SHEET_SUFFIXES = (".pdf", ".svg", ".musicxml", ".mid", ".wav")

SHEET_CAUTIONS = (
    LOW_VOLUME,
    RINGING,
    "Rest lips, voice and hands often. Strain or pain means stop; ask a teacher before you go on.",
    "At work and in class, keep to the local rules on noise.",
)

_HARMONICS_PER_LINE = 4
_STAFF_SCALE = 0.93  # of 7.2 mm: a staff of 6.7 mm, as parts are printed
_WOODBLOCK, _DRAWBAR_ORGAN, _STRINGS = 115, 16, 48  # General MIDI programs, counted from 0


def sheet_files(sheet: Sheet, paper: str = "a4") -> FileSet:
    """The files of a sheet, to be written by `tunelib.files.write_set`: PDF, SVG, MusicXML, MIDI and WAV.

    `paper` is ``"a4"`` or ``"letter"``; raises ValueError for another. Making them raises ImportError, with what to
    install, where Typst is missing.
    """
    paper_width(paper)  # refuses one that is not known
    names = tuple(sheet.slug + suffix for suffix in SHEET_SUFFIXES)

    def make(folder: Path, tell: Tell) -> None:
        pdf, svg, musicxml, midi, wav = (folder / name for name in names)
        tell("writing the notes")
        part = part_musicxml(sheet)
        musicxml.write_bytes(part.encode())
        tell("engraving the staff")
        [whole] = _engraved(part, paper)
        svg.write_bytes(_titled(whole, sheet).encode())
        tell("setting the page")
        pdf.write_bytes(page_pdf(sheet_page(sheet, paper), paper))
        tell("writing the MIDI file")
        midi.write_bytes(play_along_midi(sheet))
        tell("rendering the sound")
        write_play_along(sheet, wav)

    return FileSet(names, make)


def part_musicxml(sheet: Sheet) -> str:
    """The player's part as MusicXML: the guide as cues, the player's notes full size, four harmonics a line."""
    bars = range(2, 2 + 2 * len(sheet.rows), 2 * _HARMONICS_PER_LINE)
    part = sheet.score.only("guide", "player")
    return musicxml_text(part, sheet.player, cues=("guide",), new_lines=bars[1:])


def play_along_midi(sheet: Sheet, together: bool = False) -> bytes:
    """What to play along with, as a MIDI file; `together` for a band, to whom an organ gives the notes."""
    return midi_bytes(sheet.score, program_of=_programs(None if together else sheet.player))


def write_play_along(sheet: Sheet, wav: Path, together: bool = False) -> None:
    """Write the same as a recording into a new WAV file."""
    render_to(wav, sheet.score, play_along_timbres(None if together else sheet.player))


def _programs(player: Instrument | None) -> dict[str, int]:
    guide = player.midi_program if player and has_even_sound(player) else _DRAWBAR_ORGAN
    return {"count": _WOODBLOCK, "guide": guide, "player": guide, "drone": _STRINGS}


def sheet_page(sheet: Sheet, paper: str = "a4") -> Page:
    """The printed page of a sheet, engraved to the width of a paper; ValueError for one that is not known."""
    lines = _engraved(part_musicxml(sheet), paper, lines_per_page=1)
    drone = " over a drone" if "drone" in sheet.score.voices else ""
    answer = "sing" if sheet.player.family == "voice" else "play"
    introduction = (
        f"A bar of four ticks, then two bars for each harmonic{drone}: listen to the small note, {answer} the large "
        "one. Above it, in cents (hundredths of a semitone), how far the true harmonic is from the written note; "
        "below it, the harmonic's number and its ratio to the octave of the fundamental at or below it. "
        f"{sheet.reached} of {len(sheet.rows)} harmonics are in comfortable range"
        + ("." if sheet.reached == len(sheet.rows) else "; just listen to those with a crossed notehead.")
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
        head=("Harmonic", "Ratio", "Sounds", "Written", "Hertz", "Cents from twelve", *_another(sheet), "Range"),
        rows=[
            (
                str(row.number),
                row.written_ratio,
                str(row.sounding),
                str(row.written),
                f"{row.hertz:.2f}",
                aligned(row.cents),
                *((row.nearest, aligned(row.cents_from_nearest)) if row.nearest else ()),
                "in range" if row.in_reach else "out of range",
            )
            for row in sheet.rows
        ],
        cautions_title=CAUTIONS_TITLE,
        cautions=SHEET_CAUTIONS,
    )


def _another(sheet: Sheet) -> tuple[str, ...]:
    """The heads of what the table says about a division other than twelve."""
    return () if sheet.division == 12 else (f"Nearest of {sheet.division}", f"Cents from {sheet.division}")


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
