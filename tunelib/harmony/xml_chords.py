"""Chords as MusicXML has them, in ``<harmony>`` elements, and as other programs write them there.

Three things are decided here. Kinds of thirteenths are read without their eleventh, as players take the sign 13
(common practice; the standard lists the eleventh, "usually as the basis for alteration"). A degree that is to be
altered and is not in the chord is added. And an altered fifth, ninth, eleventh or thirteenth that is to be added takes
the place of the plain one: programs write a half-diminished chord as a minor seventh with a flat fifth added.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from xml.etree.ElementTree import Element

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import interval_of
from tunelib.harmony.symbols import Degree
from tunelib.harmony.tune import writable
from tunelib.harmony.xml_tree import half_sharps, text_of, whole
from tunelib.pitch import Note, SpelledInterval, look_up, shortened

MUSICXML_KINDS = {
    "major": "", "minor": "m", "augmented": "aug", "diminished": "dim",
    "dominant": "7", "major-seventh": "maj7", "minor-seventh": "m7", "diminished-seventh": "dim7",
    "augmented-seventh": "7#5", "half-diminished": "m7b5", "major-minor": "mmaj7",
    "major-sixth": "6", "minor-sixth": "m6",
    "dominant-ninth": "9", "major-ninth": "maj9", "minor-ninth": "m9",
    "dominant-11th": "11", "major-11th": "maj11", "minor-11th": "m11",
    "dominant-13th": "13", "major-13th": "maj13", "minor-13th": "m13",
    "suspended-second": "sus2", "suspended-fourth": "sus4", "power": "5",
}  # fmt: skip
"""The kinds of the standard that say which notes a chord has, and the symbols for them."""

_OTHER_KINDS = {
    "dominant-seventh": "7", "half-diminished-seventh": "m7b5", "seventh-flat-five": "7b5",
    "minor-major": "mmaj7", "minor-major-seventh": "mmaj7", "minor-major-ninth": "mmaj9",
    "augmented-major-seventh": "maj7#5", "augmented-major-ninth": "maj9#5", "augmented-dominant-ninth": "9#5",
    "augmented-ninth": "9#5", "augmented-dominant-13th": "13#5", "half-diminished-ninth": "m9b5",
    "suspended-fourth-seventh": "7sus4", "suspended-fourth-ninth": "9sus4", "suspended-second-seventh": "7sus2",
    "major-sixth-ninth": "69", "major-added-ninth": "add9", "minor-added-ninth": "madd9",
}  # fmt: skip
_NO_KIND = ("none", "other", "")
_NOT_CHORDS = ("Neapolitan", "Italian", "French", "German", "pedal", "Tristan")
_DEGREES = (2, 3, 4, 5, 6, 7, 9, 11, 13)
_ALTERED_ONCE = (5, 9, 11, 13)


def xml_chord(element: Element, transposition: SpelledInterval) -> Chord | None:
    """The chord of a ``<harmony>`` element as it sounds, or None where it says that none does.

    Raises ValueError for one that is not of one chord, that has no name, or that no symbol can say.
    """
    kinds = element.findall("kind")
    if len(kinds) != 1:
        raise ValueError(f"a chord symbol has one kind, and this has {len(kinds)}: write one chord over a bass")
    kind, degrees = (kinds[0].text or "").strip(), element.findall("degree")
    root, bass = element.find("root"), element.find("bass")
    of_kind = None
    if kind in _NO_KIND and root is not None and not degrees:
        of_kind = _said(kinds[0].get("text", ""))
    if kind == "none" and of_kind is None:
        return None
    if root is None:
        raise ValueError("the chord has no root but a numeral: write its name, such as Dm7")
    if kind in _NOT_CHORDS:
        raise ValueError(
            f"the kind {kind} says what a chord does, not what it is: write its root and a kind such as major"
        )
    if of_kind is None:
        body = _OTHER_KINDS.get(kind) or look_up(kind, MUSICXML_KINDS | {"other": ""}, "kind of chord")
        of_kind = frozenset({(1, 0)}) if kind == "other" else _degrees(body)
    intervals = (interval_of(degree) for degree in _changed(of_kind, degrees))
    chord = Chord(_named(root, "root", transposition), tuple(intervals))
    if bass is not None:
        return chord.over(_named(bass, "bass", transposition))
    inversion = whole(text_of(element, "inversion", "0"), "number of the inversion")
    if not 0 <= inversion < len(chord.notes):
        raise ValueError(f"{chord} has {len(chord.notes)} notes, and so no inversion {inversion}")
    return chord.over(chord.notes[inversion])


def _degrees(body: str) -> frozenset[Degree]:
    return Chord.parse(f"C{body}").degrees


def _said(body: str) -> frozenset[Degree] | None:
    """The degrees of a chord of no kind that is printed as a symbol all the same."""
    try:
        return _degrees(body.strip()) if body.strip() else None
    except ValueError:
        return None


def _named(element: Element, what: str, transposition: SpelledInterval) -> Note:
    """The root or the bass of a chord as it sounds."""
    alteration = half_sharps(text_of(element, f"{what}-alter", "0"), f"alteration of the {what}")
    return writable(replace(Note(text_of(element, f"{what}-step"), alteration, 4).transpose(transposition), octave=4))


def _changed(of_kind: Iterable[Degree], changes: list[Element]) -> set[Degree]:
    """The degrees of a kind with what is added, altered or taken away.

    What is added counts from a dominant chord, what is altered from the chord that the kind makes (MusicXML 4.0,
    degree-alter). A second or fourth beside a third is a ninth or an eleventh.
    """
    plain = dict(of_kind)
    found = set(plain.items())
    for element in changes:
        number = whole(text_of(element, "degree-value"), "degree")
        if number not in _DEGREES:
            raise ValueError(f"the degree {number} cannot be changed: 2 to 7, 9, 11 and 13 can")
        change = half_sharps(text_of(element, "degree-alter", "0"), "alteration of the degree")
        dominant = -2 if number == 7 else 0
        action = text_of(element, "degree-type")
        if action == "add":
            if change and number in _ALTERED_ONCE:
                found.discard((number, 0))
            found.add((number, dominant + change))
        elif action == "alter":
            found.discard((number, plain.get(number, dominant)))
            found.add((number, plain.get(number, dominant) + change))
        elif action == "subtract":
            found = {degree for degree in found if degree[0] != number}
        else:
            raise ValueError(f"a degree is to add, alter or subtract, not {shortened(action)}")
    if any(number == 3 for number, _ in found):
        return {({2: 9, 4: 11}.get(number, number), offset) for number, offset in found}
    return found
