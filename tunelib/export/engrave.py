"""Engraving: MusicXML to a drawing of its staves, through Verovio.

The music font is Bravura, whose glyphs carry the names and code points of the Standard Music Font Layout (SMuFL).
Words on the staff are set in STIX General, a face in the manner of Times that comes with matplotlib, so that a sharp,
a flat or a minus sign is never an empty box. A page holds nothing but the music: titles and tables are the business of
whoever places it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import verovio

TEXT_FONT = "STIXGeneral"
# SMuFL metNoteQuarterUp
_METRONOME_QUARTER = re.compile(r'<tspan font-family="Bravura" font-size="\d+px">\uECA5</tspan>')
_STEADY = {
    "adjustPageHeight": True,
    "font": "Bravura",
    "footer": "none",
    "header": "none",
    "lyricTopMinMargin": 0.0,
    "lyricWordSpace": 2.0,
    "minLastJustification": 0.5,
    "pageMarginBottom": 5,
    "pageMarginLeft": 20,
    "pageMarginRight": 20,
    "pageMarginTop": 5,
    "smuflTextFont": "none",
    "svgViewBox": True,
    "xmlIdSeed": 1,  # the same music gives the same drawing
}
# A label is set from a little before its note's left edge.
_LABEL = re.compile(r'(class="syl">\s*<text) x="(\d+)"')
_TO_MIDDLE = 210  # of the note, in the drawing's unit
_TALLEST = 60000
# Labels are engraved as a second verse: a first one touches the sign for an octave below.
_FIRST_VERSE, _SECOND_VERSE = '<lyric number="1">', '<lyric number="2">'
# Digits and a space at the head of a label would be set apart from it, as the number of a verse.
_SPACE, _KEPT_SPACE = "\N{NO-BREAK SPACE}", "\N{FIGURE SPACE}"


def engrave_svg(
    musicxml: str,
    page_width: int | None = None,
    lines_per_page: int | None = None,
    encoded_lines: bool = False,
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

    Pages are as high as their music. Raises ValueError if the text is not MusicXML that can be engraved.
    """
    breaks = "none" if page_width is None else "line" if encoded_lines else "auto"
    toolkit = _toolkit()
    toolkit.setOptions(
        _STEADY
        | {
            "adjustPageWidth": page_width is None,
            "breaks": breaks,
            "pageHeight": _TALLEST,
            "pageWidth": page_width or 100000,
            "systemMaxPerPage": lines_per_page or 0,
        }
    )
    if not toolkit.loadData(musicxml.replace(_FIRST_VERSE, _SECOND_VERSE).replace(_SPACE, _KEPT_SPACE)):
        raise ValueError("the text cannot be engraved: it is not MusicXML with at least one part and one bar")
    return [_lettered(toolkit.renderToSVG(page)) for page in range(1, toolkit.getPageCount() + 1)]


@lru_cache(maxsize=1)
def _toolkit() -> Any:
    """Verovio's engraver, kept: to start one takes longer than to engrave a line."""
    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def _lettered(svg: str) -> str:
    """The drawing in the text font, its labels centred on their notes, with a plain quarter note for the tempo."""
    svg = svg.replace(_KEPT_SPACE, _SPACE)
    svg = _LABEL.sub(lambda label: f'{label[1]} text-anchor="middle" x="{int(label[2]) + _TO_MIDDLE}"', svg)
    svg = _METRONOME_QUARTER.sub('<tspan font-size="480px">♩</tspan>', svg)
    return svg.replace('font-family="Times, serif"', f'font-family="{TEXT_FONT}, Times, serif"')
