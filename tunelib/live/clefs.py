"""Clefs as outlines, taken from the font that engraves the staves."""

from __future__ import annotations

import re
from functools import lru_cache

from tunelib.export import engrave_svg, middle_line, musicxml_text
from tunelib.pitch import INSTRUMENTS
from tunelib.score import Score, ScoreNote

CLEF_UNITS = 250  # to a space of the staff: an em of a music font is four (SMuFL)
_LINES = {"treble": -2, "treble 8vb": -2, "alto": 0, "bass": 2, "bass 8vb": 2}  # places from the middle line
_USED = re.compile(r'class="clef">\s*<use xlink:href="#([^"]+)"')


@lru_cache
def clef_outline(clef: str) -> tuple[str, int]:
    """A clef as the ``d`` of an SVG path, y upwards, and the place of its line, counted from the middle line.

    The outline is empty where the package that engraves is not installed. Raises ValueError for a clef that
    is not known.
    """
    note = middle_line(clef)
    reader = next(player for player in INSTRUMENTS.values() if player.clef == clef)
    sounding = reader.sounding(note)
    score = Score((ScoreNote(0, 4, sounding.hz(), name=sounding),))
    try:
        [svg] = engrave_svg(musicxml_text(score, reader))
    except ImportError:
        return "", _LINES[clef]
    name = re.escape(_USED.findall(svg)[0])
    [outline] = re.findall(rf'<g id="{name}">\s*<path[^>]* d="([^"]+)"', svg)
    return outline, _LINES[clef]
