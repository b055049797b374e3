"""Clefs, and the signs for an octave that keep notes near to the staff."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from xml.etree import ElementTree

from tunelib.export.elements import add
from tunelib.pitch import Note, look_up

OCTAVE_SIGNS = {1: "8", 2: "15", 3: "22"}
"""The sizes that an octave sign can have, by octaves."""

_CLEFS = {
    "treble": ("G", 2, 0, "B4"),
    "treble 8vb": ("G", 2, -1, "B3"),
    "alto": ("C", 3, 0, "C4"),
    "bass": ("F", 4, 0, "D3"),
    "bass 8vb": ("F", 4, -1, "D2"),
}  # sign, line, octave change, and the note on the middle line
_READABLE = 9  # places from the middle line to the third ledger line, and the space beyond


@lru_cache(maxsize=len(_CLEFS))
def middle_line(clef: str) -> Note:
    """The note on the middle line of a staff. Raises ValueError for a clef that is not known."""
    return Note.parse(look_up(clef, _CLEFS, "clef")[3])


def octave_sign(written: Note, clef: str) -> int:
    """How many octaves up (8va, 15ma) or, negative, down (8vb, 15mb) bring a note near enough to the staff.

    0 for a note within three ledger lines and a space of the staff; a note too far for 22ma gets that. Raises
    ValueError for a clef that is not known.

    >>> octave_sign(Note.parse("C7"), "treble"), octave_sign(Note.parse("G2"), "treble")
    (1, -1)
    """
    places = written.diatonic - middle_line(clef).diatonic
    octaves = max(0, -((_READABLE + 1 - abs(places)) // 7))
    return min(octaves, max(OCTAVE_SIGNS)) * (1 if places > 0 else -1)


def clef_for(names: Iterable[Note]) -> str:
    """Treble or bass, whichever keeps the notes nearer to the staff."""
    places = [name.diatonic for name in names]
    return min(("treble", "bass"), key=lambda clef: sum(abs(place - middle_line(clef).diatonic) for place in places))


def write_clef(attributes: ElementTree.Element, clef: str) -> None:
    """A clef. Raises ValueError for one that is not known."""
    sign, line, octave_change, _ = look_up(clef, _CLEFS, "clef")
    shape = add(attributes, "clef")
    add(shape, "sign", sign)
    add(shape, "line", line)
    if octave_change:
        add(shape, "clef-octave-change", octave_change)
