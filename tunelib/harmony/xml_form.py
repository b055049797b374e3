"""The form of a tune as MusicXML has it: segno, coda, jumps and sections, from words, signs and sounds in directions.

A mark counts where it stands in its measure: *to coda* at the beginning of one leads away before it, and a segno at the
end of one is for the next. Where there are two bare coda signs, as some programs write, the first says *to coda*.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element

from tunelib.harmony.form import JUMPS, LONGEST_SECTION
from tunelib.harmony.form_words import form_mark, in_order
from tunelib.harmony.written_bars import WrittenBar

_SOUNDS = {
    "dacapo": "D.C.", "dalsegno": "D.S.", "tocoda": "to coda", "coda": "coda", "segno": "segno", "fine": "fine",
}  # fmt: skip
_AT_BEGINNING = ("segno", "coda")
_BRACKETS = re.compile(r"[\[\]|]")


@dataclass(frozen=True)
class XmlMark:
    """A mark of `tunelib.harmony.form` at a place in the music: the measure, counted from 0, and the beat in it."""

    measure: int
    beat: Fraction
    mark: str


def marks_of(element: Element) -> set[str]:
    """The marks that a direction or a barline has, or a sound by itself."""
    said = []
    for inner in element.iter():
        if inner.tag in ("words", "rehearsal"):
            said.append(" ".join((inner.text or "").split()))
        elif inner.tag in ("segno", "coda"):
            said.append(inner.tag)
    whole = form_mark(" ".join(said))
    found = {whole} if whole else {_mark_in(words) for words in said}
    for sound in element.iter("sound"):
        found |= {mark for name, mark in _SOUNDS.items() if sound.get(name, "no") != "no"}
    leads = found - {"", *_AT_BEGINNING}
    return leads or found - {""}  # a sign beside the words to coda or D.S. says the same


def _mark_in(words: str) -> str:
    """The mark for some words, or for the first of them if they are a jump, as in "D.S. al Coda (no repeats)"."""
    if mark := form_mark(words):
        return mark
    parts = words.split()
    begun = (form_mark(" ".join(parts[:count])) for count in range(len(parts) - 1, 0, -1))
    return next((mark for mark in begun if mark in JUMPS or mark == "to coda"), "")


def section_of(element: Element) -> str:
    """The rehearsal mark of a direction, without what text has its own use for; empty if it has none."""
    text = " ".join(" ".join(mark.itertext()) for mark in element.iter("rehearsal"))
    name = " ".join(_BRACKETS.sub(" ", text).split())
    return "" if form_mark(name) else name[:LONGEST_SECTION].strip()


def put_marks(bars: Sequence[WrittenBar], marks: Set[XmlMark]) -> None:
    """Give each bar the marks that belong to it."""
    if not any(found.mark == "to coda" for found in marks):
        codas = sorted((found.measure, found.beat) for found in marks if found.mark == "coda")
        if len(codas) > 1:
            marks = marks - {XmlMark(*codas[0], "coda")} | {XmlMark(*codas[0], "to coda")}
    leads = {(found.measure, found.beat, _target(found.mark)) for found in marks}
    placed: dict[int, set[str]] = {}
    for found in marks:
        place = found.measure
        if found.mark in _AT_BEGINNING:
            if (found.measure, found.beat, found.mark) in leads:
                continue  # it stands beside the words
            place += found.beat >= bars[place].beats
        elif found.mark == "to coda" and not found.beat and place:
            place -= 1
        if place < len(bars):
            placed.setdefault(place, set()).add(found.mark)
    for place, found_there in placed.items():
        bars[place].marks = in_order(found_there)


def _target(mark: str) -> str:
    """The sign to which a mark leads, and which is drawn beside it by some."""
    return "coda" if mark == "to coda" else "segno" if mark.startswith("D.S.") else ""
