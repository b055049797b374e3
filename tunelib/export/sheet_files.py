"""The files of a play-along sheet: two printed pages, the staff of the first, MusicXML, MIDI and a recording.

The part shows the bar in which a harmonic sounds small, as a cue, and the player's bar full size, at the player's
pitch: the nearest note of twelve. The first page is to be played blind: under each note is the harmonic's number and
nothing else, and below the staff is room for what is heard. The second, for afterwards, has over each note how many
cents the true harmonic is from it, and under it the ratio too, to the octave of the fundamental at or below it; so has
the MusicXML.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.sax.saxutils import escape

from tunelib.arrange import Sheet, SheetRow
from tunelib.export.cautions import CAUTIONS_TITLE, LOW_VOLUME, RINGING
from tunelib.export.engrave import engrave_svg
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import musicxml_text
from tunelib.export.typeset import Drawing, Page, paper_width, parts_pdf
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
        musicxml.write_bytes(sheet_musicxml(sheet).encode())
        tell("engraving the staff")
        [whole] = _engraved(sheet_musicxml(sheet, blind=True), paper)
        svg.write_bytes(_titled(whole, sheet).encode())
        tell("setting the pages")
        pdf.write_bytes(parts_pdf(sheet.title, [sheet_pages(sheet, paper)], paper))
        tell("writing the MIDI file")
        midi.write_bytes(play_along_midi(sheet))
        tell("rendering the sound")
        write_play_along(sheet, wav)

    return FileSet(names, make)


def sheet_musicxml(sheet: Sheet, blind: bool = False) -> str:
    """The player's part as MusicXML: the guide as cues, the player's notes full size, four harmonics a line.

    A `blind` part has numbers under the notes, and neither cents nor ratios.
    """
    bars = range(2, 2 + 2 * len(sheet.rows), 2 * _HARMONICS_PER_LINE)
    part = sheet.score.only("guide", "player")
    if blind:
        numbers = {row.label: str(row.number) for row in sheet.rows}
        bare = tuple(replace(note, label=numbers.get(note.label, note.label)) for note in part.notes)
        part = replace(part, notes=bare)
    return musicxml_text(part, sheet.player, cues=("guide",), new_lines=bars[1:], cents=not blind)


def play_along_midi(sheet: Sheet, together: bool = False) -> bytes:
    """What to play along with, as a MIDI file; `together` for a band, to whom an organ gives the notes."""
    return midi_bytes(sheet.score, program_of=_programs(None if together else sheet.player))


def write_play_along(sheet: Sheet, wav: Path, together: bool = False) -> None:
    """Write the same as a recording into a new WAV file."""
    render_to(wav, sheet.score, play_along_timbres(None if together else sheet.player))


def _programs(player: Instrument | None) -> dict[str, int]:
    guide = player.midi_program if player and has_even_sound(player) else _DRAWBAR_ORGAN
    return {"count": _WOODBLOCK, "guide": guide, "player": guide, "drone": _STRINGS}


def sheet_pages(sheet: Sheet, paper: str = "a4") -> list[Page]:
    """The printed pages of a sheet, engraved to the width of a paper: one to play from, and one for afterwards.

    Printed on both sides, the second is on the back of the first, unless that has very many harmonics. Raises
    ValueError for a paper that is not known.
    """
    return [_blind_page(sheet, paper), _page_of_figures(sheet, paper)]


def _blind_page(sheet: Sheet, paper: str) -> Page:
    drone = " over a drone" if "drone" in sheet.score.voices else ""
    answer = "sing" if sheet.player.family == "voice" else "play"
    heard = [row for row in sheet.rows if row.in_reach] or sheet.rows
    return Page(
        title=sheet.title,
        introduction=(
            f"A bar of four ticks, then two bars for each harmonic{drone}: listen to the small note, {answer} the "
            "large one, and then hold it against the small one. The number of the harmonic is below. How far it is "
            "from the written note is on the next page: leave that until you have found out by ear. "
            f"{sheet.reached} of {len(sheet.rows)} harmonics are in comfortable range"
            + ("." if sheet.reached == len(sheet.rows) else "; just listen to those with a crossed notehead.")
        ),
        drawings=_drawings(
            sheet, sheet_musicxml(sheet, blind=True), paper, lambda row: f"harmonic {row.number}, written {row.written}"
        ),
        table_title="What I hear",
        head=("Harmonic", "Written", "It is calm", "It beats", "The small note is higher", "The small note is lower"),
        rows=[(str(row.number), str(row.written), "", "", "", "") for row in heard],
        cautions_title=CAUTIONS_TITLE,
        cautions=SHEET_CAUTIONS,
    )


def _page_of_figures(sheet: Sheet, paper: str) -> Page:
    return Page(
        title=f"After you have played: {sheet.title[0].lower()}{sheet.title[1:]}",
        introduction=(
            "Above each note, in cents (hundredths of a semitone), how far the true harmonic is from the written note; "
            "below it, the harmonic's number and its ratio to the octave of the fundamental at or below it. Did your "
            "ear pick out the same ones?"
        ),
        drawings=_drawings(
            sheet,
            sheet_musicxml(sheet),
            paper,
            lambda row: f"harmonic {row.number}, written {row.written}, {signed(row.cents)} cents",
        ),
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
    )


def _drawings(sheet: Sheet, part: str, paper: str, said: Callable[[SheetRow], str]) -> list[Drawing]:
    """The lines of a part, each with its notes in words."""
    lines = _engraved(part, paper, lines_per_page=1)
    rows_of = [sheet.rows[i : i + _HARMONICS_PER_LINE] for i in range(0, len(sheet.rows), _HARMONICS_PER_LINE)]
    return [
        Drawing(svg, f"Staff for {sheet.player.name}: {'; '.join(map(said, rows))}.")
        for svg, rows in zip(lines, rows_of, strict=True)
    ]


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


def _titled(svg: str, sheet: Sheet) -> str:
    """The drawing with a title, which a browser shows and a screen reader reads."""
    head, rest = svg.split(">", 1)
    return f'{head} role="img"><title>{escape(sheet.title)}</title>{rest}'
