"""Letters and figures of engraved staves as they are read from a music stand.

Figures over and under notes and the marks of chord symbols are smaller than the symbols, section letters larger, and
bar numbers upright. Sizes are in the drawing's unit, of which a staff has 720.
"""

from __future__ import annotations

import re

FIGURE_SIZE, LETTER_SIZE = 370, 500
"""Of what is said of one note or chord, and of section letters."""

_FIGURE = re.compile(r'<tspan font-size="\d+px">((?:[A-G][½♯♭]* )?[+−]\d+)</tspan>')
_SYMBOL = re.compile(r'(<g [^>]*class="harm">(?:(?!</g>).)*?>[^<>]*) (\((?:(?!</g>).)*[+−].*?</g>)', re.DOTALL)
_SIZE = re.compile(r'font-size="\d+px"')
_HINT = re.compile(r'(class="syl">(?:(?!</g>).)*?<tspan font-size=")\d+px', re.DOTALL)
_LETTER = re.compile(
    r'(class="reh".*?<rect [^>]*?x="(-?\d+)" y="(-?\d+)" height="(\d+)".*?<tspan font-size=")\d+px(".*?</g>)',
    re.DOTALL,
)
_BESIDE = 40  # from a bar number to the box of a letter
_ITALIC_NUMBERS = re.compile(r", #\w+ g\.mNum(?= \{font-style:italic)")


def stand_letters(svg: str, larger: float = 1.0) -> str:
    """An engraved drawing with the sizes for a stand, its section letters so many times as large."""
    svg = _ITALIC_NUMBERS.sub("", svg)
    svg = _LETTER.sub(rf"\g<1>{round(larger * LETTER_SIZE)}px\5", svg)
    svg = _SYMBOL.sub(_with_small_mark, svg)
    svg = _HINT.sub(rf"\g<1>{FIGURE_SIZE}px", svg)
    return _FIGURE.sub(rf'<tspan font-size="{FIGURE_SIZE}px">\1</tspan>', svg)


def _with_small_mark(symbol: re.Match[str]) -> str:
    small = f'font-size="{FIGURE_SIZE}px"'
    return f"{symbol[1]}</tspan><tspan {small}> {_SIZE.sub(small, symbol[2])}"


def numbered(svg: str, number: int, larger: float = 1.0) -> str:
    """A line for the stand with the number of its first bar before the section letter, where it has one.

    The engraver leaves that number out. Nothing is added to a line that has its number, or for the bars 0 and 1.
    """
    if number <= 1 or 'class="mNum' in svg.split('class="measure"', 2)[1]:
        return svg

    size = round(larger * FIGURE_SIZE)

    def with_number(letter: re.Match[str]) -> str:
        x, y = int(letter[2]) - _BESIDE, int(letter[3]) + int(letter[4])
        return f'{letter[0]}<text text-anchor="end" x="{x}" y="{y}" font-size="{size}px">{number}</text>'

    return _LETTER.sub(with_number, svg, count=1)
