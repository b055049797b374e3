"""Letters and figures of engraved staves as they are read from a music stand.

Figures over and under notes and the marks of chord symbols are smaller than the symbols, section letters larger, and
bar numbers upright. Sizes are in the drawing's unit, of which a staff has 720.
"""

from __future__ import annotations

import re

FIGURE_SIZE, LETTER_SIZE = 370, 500
"""Of what is said of one note or chord, and of section letters."""

_FIGURE = re.compile(r'<tspan font-size="\d+px">((?:[A-G][½♯♭]* )?[+−]\d+)</tspan>')
_MARK = re.compile(r'(<tspan font-size="\d+px">[^<]*?) (\([^()<]*[+−]\d+\))')
_HINT = re.compile(r'(class="syl">(?:(?!</g>).)*?<tspan font-size=")\d+px', re.DOTALL)
_LETTER = re.compile(
    r'(class="reh".*?<rect [^>]*?x="(-?\d+)" y="(-?\d+)" height="(\d+)" width="(\d+)" />.*?font-size=")\d+px(".*?</g>)',
    re.DOTALL,
)
_BESIDE = 70  # from the box of a letter to a bar number
_ITALIC_NUMBERS = re.compile(r", #\w+ g\.mNum(?= \{font-style:italic)")


def stand_letters(svg: str) -> str:
    """An engraved drawing with the sizes for a stand."""
    svg = _ITALIC_NUMBERS.sub("", svg)
    svg = _LETTER.sub(rf"\g<1>{LETTER_SIZE}px\6", svg)
    svg = _MARK.sub(rf'\1</tspan><tspan font-size="{FIGURE_SIZE}px"> \2', svg)
    svg = _HINT.sub(rf"\g<1>{FIGURE_SIZE}px", svg)
    return _FIGURE.sub(rf'<tspan font-size="{FIGURE_SIZE}px">\1</tspan>', svg)


def numbered(svg: str, number: int) -> str:
    """A line for the stand with the number of its first bar beside the section letter, where it has one.

    The engraver leaves that number out. Nothing is added to a line that has its number, or for the bars 0 and 1.
    """
    if number <= 1 or 'class="mNum' in svg.split('class="measure"', 2)[1]:
        return svg

    def with_number(letter: re.Match[str]) -> str:
        x, bottom = int(letter[2]) + int(letter[5]) + _BESIDE, int(letter[3]) + int(letter[4])
        return f'{letter[0]}<text x="{x}" y="{bottom}" font-size="{FIGURE_SIZE}px">{number}</text>'

    return _LETTER.sub(with_number, svg, count=1)
