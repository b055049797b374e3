"""Chord symbols as they are printed, and as MusicXML 4.0 has them.

MusicXML gives a chord by one of its *kinds* and by *degrees* that are added to it, altered or taken away. Kinds know
nothing of thirty-one notes. A degree may be altered by a quarter-tone, says the standard, but readers that take whole
semitones alone stumble over that. So a chord here is the nearest kind with its degrees to the semitone, as a keyboard
would play it, under the text that says what it is; and the exact notes are on the staff.
"""

from __future__ import annotations

from functools import lru_cache
from xml.etree import ElementTree

from tunelib.harmony import MUSICXML_KINDS, Chord, Degree, root_word, symbol_body
from tunelib.pitch import Note

_DOMINANT = {7: -2}  # what a degree to be added is counted from, in half-sharps, where that is not major or perfect
_BY_A_HALF, _BY_MORE, _ADDED, _TAKEN = 0.5, 1.5, 1.0, 1.5  # how far a change takes a kind from its chord


def printed_symbol(chord: Chord) -> str:
    """A chord's symbol with printed accidentals.

    Raises ValueError for a chord that has no symbol.

    >>> printed_symbol(Chord.parse("Ebhbsub7hb9/Gb"))
    'E♭½♭sub7½♭9/G♭'
    """
    bass = f"/{root_word(chord.bass.name)}" if chord.bass else ""
    return f"{root_word(chord.root.name)}{symbol_body(chord.degrees, printed=True)}{bass}"


def harmony_element(chord: Chord | None) -> ElementTree.Element:
    """A chord as MusicXML's element ``harmony``; None is the sign that no chord sounds, N.C.

    Raises ValueError for a chord that has no symbol.
    """
    harmony = ElementTree.Element("harmony")
    if chord is None:
        ElementTree.SubElement(ElementTree.SubElement(harmony, "root"), "root-step", text="").text = "C"
        ElementTree.SubElement(harmony, "kind", text="N.C.").text = "none"
        return harmony
    _add_note(harmony, "root", chord.root)
    kind, changes = _nearest_kind(chord.degrees)
    ElementTree.SubElement(harmony, "kind", text=symbol_body(chord.degrees, printed=True)).text = kind
    if chord.bass:
        _add_note(harmony, "bass", chord.bass)
    for number, half_sharps, what in changes:
        degree = ElementTree.SubElement(harmony, "degree", {"print-object": "no"})
        ElementTree.SubElement(degree, "degree-value").text = str(number)
        ElementTree.SubElement(degree, "degree-alter").text = str(half_sharps // 2)
        ElementTree.SubElement(degree, "degree-type").text = what
    return harmony


def _add_note(harmony: ElementTree.Element, what: str, note: Note) -> None:
    element = ElementTree.SubElement(harmony, what)
    ElementTree.SubElement(element, f"{what}-step", text=root_word(note.name)).text = note.letter
    if note.half_sharps:
        alter = ElementTree.SubElement(element, f"{what}-alter", {"print-object": "no"})  # the text above holds it
        alter.text = f"{note.half_sharps / 2:g}"


_Change = tuple[int, int, str]  # the number, half-sharps and what is done


@lru_cache(maxsize=1024)
def _nearest_kind(degrees: frozenset[Degree]) -> tuple[str, tuple[_Change, ...]]:
    """The kind that has to be changed least to make a chord, and the changes, each to the whole semitone below."""
    found = []
    for kind, symbol in MUSICXML_KINDS.items():
        changes = _changes(Chord.parse(f"C{symbol}").degrees, degrees)
        found.append((sum(_weight(change) for change in changes), kind, changes))
    _, kind, changes = min(found, key=lambda one: one[0])
    whole = [(number, int(half_sharps / 2) * 2, what) for number, half_sharps, what in changes]
    return kind, tuple(dict.fromkeys(change for change in whole if change[1:] != (0, "alter")))


def _changes(kind: frozenset[Degree], degrees: frozenset[Degree]) -> tuple[_Change, ...]:
    changes = []
    for number in sorted({number for number, _ in kind | degrees} - {1}):
        has = [offset for n, offset in kind if n == number]
        wanted = sorted(offset for n, offset in degrees if n == number)
        if has and not wanted:
            changes.append((number, 0, "subtract"))
        elif has and has[0] not in wanted:
            nearest = min(wanted, key=lambda offset: abs(offset - has[0]))
            changes.append((number, nearest - has[0], "alter"))
            has = [nearest]
        changes += [(number, offset - _DOMINANT.get(number, 0), "add") for offset in wanted if offset not in has]
    return tuple(changes)


def _weight(change: _Change) -> float:
    _, half_sharps, what = change
    if what == "alter":
        return _BY_A_HALF if abs(half_sharps) == 1 else _BY_MORE
    return _ADDED if what == "add" else _TAKEN
