"""Engraving: MusicXML to a drawing of its staves, through Verovio.

The music font is Bravura, whose glyphs carry the names and code points of the Standard Music Font Layout (SMuFL).
Words on the staff are set in STIX General, a face in the manner of Times that comes with matplotlib, so that a sharp,
a flat or a minus sign is never an empty box. A page holds nothing but the music: titles and tables are left to
the caller.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree

from tunelib.export.stand_letters import stand_letters
from tunelib.pitch import drawn

TEXT_FONT = "STIXGeneral"
# SMuFL metNoteQuarterUp
_METRONOME_QUARTER = re.compile(r'<tspan font-family="Bravura" font-size="\d+px">\uECA5</tspan>')
_TALLEST = 60000
_MARGIN, _STAND_MARGIN = 20, 48  # the wider one has room for a bar number of three figures
_STEADY = {
    "adjustPageHeight": True,
    "font": "Bravura",
    "footer": "none",
    "header": "none",
    "lyricTopMinMargin": 0.0,
    "lyricWordSpace": 2.6,
    "minLastJustification": 0.5,
    "pageHeight": _TALLEST,
    "pageMarginBottom": 5,
    "pageMarginRight": _MARGIN,
    "pageMarginTop": 5,
    "smuflTextFont": "none",
    "svgViewBox": True,
}
# A label is set from a little before its note's left edge.
_LABEL = re.compile(r'(class="syl">\s*<text) x="(\d+)"')
_TO_MIDDLE = 210  # of the note, in the drawing's unit
# Labels are engraved from the second verse on: a first one touches the sign for an octave below.
_VERSE = re.compile(r'<lyric number="(\d+)">')
# A chord symbol is engraved as the text that the MusicXML gives for it, whatever kinds and degrees say.
_HARMONY = re.compile(r"<harmony>.*?</harmony>", re.DOTALL)
_SMALL_SIGN = re.compile(r'<tspan font-family="Bravura" font-size="\d+px">([\uEA64\uEA66])</tspan>')
_SMALL_SIGNS = {"\uea64": "♭", "\uea66": "♯"}  # SMuFL figbassFlat and figbassSharp
_TEXT_SIZE, _STAND_TEXT_SIZE = 4.5, 5.0  # of symbols and labels, in half spaces of the staff
_SPACING, _STAND_SPACING = 12, 9  # between staves, in half spaces
_LINE_SPACING, _STAND_LINE_SPACING = 4, 2  # between lines, at least, in the same
_HALF_SPACE = 90  # in the drawing's unit
# Digits and a space at the head of a label would be set apart from it, as the number of a verse.
_SPACE, _KEPT_SPACE = "\N{NO-BREAK SPACE}", "\N{FIGURE SPACE}"


def engrave_svg(
    musicxml: str,
    page_width: int | None = None,
    lines_per_page: int | None = None,
    encoded_lines: bool = False,
    stand: bool = False,
    larger: float = 1.0,
) -> list[str]:
    """MusicXML as engraved pages, one SVG document a page.

    Parameters
    ----------
    musicxml : str
    page_width : int, optional
        Where lines end, in tenths of a millimetre at a staff of 7.2 mm; one endless line if not given.
    lines_per_page : int, optional
        How many lines of music a page holds at most; all on one page if not given.
    encoded_lines : bool
        Take new lines from the MusicXML alone, instead of breaking where the width is full.
    stand : bool
        Letters as they are read from a music stand: chord symbols larger, with capitals of three eighths of the staff,
        figures smaller than those, and bar numbers upright.
    larger : float
        How many times as large as that chord symbols, section letters and names are, beside staves that are small.

    Pages are as high as their music. Raises ValueError if the text is not MusicXML that can be engraved, and
    ImportError, with what to install, where Verovio is missing.
    """
    breaks = "none" if page_width is None else "line" if encoded_lines else "auto"
    text_size = larger * (_STAND_TEXT_SIZE if stand else _TEXT_SIZE)
    toolkit = _toolkit()
    toolkit.setOptions(
        {
            "adjustPageWidth": page_width is None,
            "breaks": breaks,
            "lyricSize": text_size,
            "spacingStaff": _STAND_SPACING if stand else _SPACING,
            "spacingSystem": _STAND_LINE_SPACING if stand else _LINE_SPACING,
            "pageMarginLeft": _STAND_MARGIN if stand else _MARGIN,
            "pageWidth": page_width or 100000,
            "systemMaxPerPage": lines_per_page or 0,
            "xmlIdSeed": 1,  # the same music gives the same drawing
        }
    )
    prepared = musicxml.replace(_SPACE, _KEPT_SPACE)
    if not stand:
        prepared = _VERSE.sub(lambda verse: f'<lyric number="{int(verse[1]) + 1}">', prepared)
    if not toolkit.loadData(_HARMONY.sub(_as_text, prepared)):
        raise ValueError("the text cannot be engraved: it is not MusicXML with at least one part and one bar")
    drawn_pages = [_lettered(toolkit.renderToSVG(page), text_size) for page in range(1, toolkit.getPageCount() + 1)]
    return [stand_letters(svg, larger) for svg in drawn_pages] if stand else drawn_pages


@lru_cache(maxsize=1)
def _toolkit() -> Any:
    """Verovio's engraver, kept: to start one, or to name its font again, takes longer than to engrave a line."""
    try:
        import verovio
    except (ImportError, OSError) as error:
        raise ImportError("engraving a staff needs verovio, which is missing here: pip install verovio") from error
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_STEADY)
    return toolkit


def _as_text(harmony: re.Match[str]) -> str:
    """A chord symbol without all that an engraver would print beside its text: the text alone, after a letter."""
    whole = ElementTree.fromstring(harmony[0])
    root, kind, bass = whole.find("root/root-step"), whole.find("kind"), whole.find("bass/bass-step")
    if root is None or kind is None or kind.get("text") is None:
        return harmony[0]
    symbol = drawn(root.get("text", root.text or "") + kind.get("text", ""))
    if bass is not None:
        symbol += "/" + drawn(bass.get("text", bass.text or ""))
    alone = ElementTree.Element("harmony")
    ElementTree.SubElement(ElementTree.SubElement(alone, "root"), "root-step").text = symbol[0]
    ElementTree.SubElement(alone, "kind", text=f"{symbol[1:]}{_KEPT_SPACE}").text = "other"
    alone.extend(whole.iterfind("offset"))
    return ElementTree.tostring(alone, encoding="unicode")


def _lettered(svg: str, text_size: float) -> str:
    """The drawing in the text font, its labels centred on their notes, with a plain quarter note for the tempo."""
    symbol_size = round(_HALF_SPACE * text_size)
    svg = svg.replace(_KEPT_SPACE, _SPACE)
    svg = _LABEL.sub(lambda label: f'{label[1]} text-anchor="middle" x="{int(label[2]) + _TO_MIDDLE}"', svg)
    svg = _SMALL_SIGN.sub(lambda sign: f'<tspan font-size="{symbol_size}px">{_SMALL_SIGNS[sign[1]]}</tspan>', svg)
    svg = _METRONOME_QUARTER.sub('<tspan font-size="480px">♩</tspan>', svg)
    return svg.replace('font-family="Times, serif"', f'font-family="{TEXT_FONT}, Times, serif"')
