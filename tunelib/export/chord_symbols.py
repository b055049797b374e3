"""Chord symbols as they are printed, and as MusicXML 4.0 has them.

MusicXML gives a chord by one of its *kinds* and by *degrees* that are added to it, altered or taken away. Kinds know
nothing of thirty-one notes. A degree may be altered by a quarter-tone, says the standard, but readers that take whole
semitones alone stumble over that. So a chord here is the nearest kind with its degrees to the semitone, as a keyboard
would play it, under the text that says what it is; and the exact notes are on the staff.
"""

from __future__ import annotations

import math
from functools import lru_cache
from xml.etree import ElementTree

from tunelib.harmony import MUSICXML_KINDS, Chord, Degree, RetunedChord, RetunedTune, root_word, symbol_body
from tunelib.pitch import CENTS_PER_OCTAVE, Note, SpelledInterval, Tuning, signed

_ONE_WORD = len("harm")  # characters by which a symbol grows with a word of ours
_CENTS_A_KEY = 100
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


def marked_symbol(written: Chord, tuned: Chord, tuning: Tuning) -> tuple[str, str]:
    """The symbol that a tuned chord has for players, and the small mark that goes with it.

    Parameters
    ----------
    written : Chord
    tuned : Chord
        As it sounds. It is on its own root, and over its own bass.
    tuning : Tuning

    Returns
    -------
    symbol, mark : str
        The one rule: our own words are printed where they make the symbol longer by one of them at most, and it still
        has the degrees that were written. What was C7 is then Charm7, and the mark is empty. Any other chord keeps the
        symbol that it was written with, and the mark has its degrees that are tuned otherwise, each with its cents from
        the key of a piano that a player expects, the root being on its own: F7alt, and 7 −32.

    Raises ValueError for a chord that has no symbol, or as `Chord.steps` does.

    >>> from tunelib.pitch import equal
    >>> marked_symbol(Chord.parse("F7alt"), Chord.parse("Fharm7no5b9#9#11b13"), equal(31))
    ('F7alt', '7 −32')
    >>> marked_symbol(Chord.parse("C9"), Chord.parse("Charm9"), equal(31))
    ('Charm9', '')
    """
    before, after = (symbol_body(chord.degrees, printed=True) for chord in (written, tuned))
    same_numbers = _numbers(written) == _numbers(tuned)
    if same_numbers and len(after) - len(before) <= _ONE_WORD:
        return printed_symbol(tuned), ""
    marks = [f"{_degree_word(interval)} {signed(off)}" for interval, off in _retuned(written, tuned, tuning)]
    return printed_symbol(Chord(tuned.root, written.intervals, tuned.bass)), " ".join(marks)


def chart_symbol(chord: RetunedChord, tuning: Tuning) -> tuple[str, str]:
    """The symbol that a chord of a retuned tune has on a chart, and its mark.

    As it is written, if it sounds so, whatever note of the melody it is spelled after; else as `marked_symbol` has it.
    """
    if chord.changed:
        return marked_symbol(chord.written.chord, chord.chord, tuning)
    return printed_symbol(chord.written.chord), ""


def chart_bodies(tune: RetunedTune) -> dict[Chord, str]:
    """For the chords of a retuned tune that are not as written, what is between root and bass in their symbols."""
    others = {chord.chord: chord for chord in tune.chords if chord.chord != chord.written.chord}
    return {sounding: _chart_body(chord, tune.tuning) for sounding, chord in others.items()}


def _chart_body(chord: RetunedChord, tuning: Tuning) -> str:
    """With its mark in brackets."""
    if not chord.changed:
        return symbol_body(chord.written.chord.degrees, printed=True)
    symbol, mark = marked_symbol(chord.written.chord.over(None), chord.chord.over(None), tuning)
    body = symbol.removeprefix(root_word(chord.chord.root.name))
    return f"{body} ({mark})" if mark else body


def _numbers(chord: Chord) -> list[int]:
    return sorted(number for number, _ in chord.degrees)


def _retuned(written: Chord, tuned: Chord, tuning: Tuning) -> list[tuple[SpelledInterval, float]]:
    """The intervals of a chord that are tuned otherwise than they are written, each with its cents from the piano's.

    Each note that is new stands for the one of those gone that is on its key of the piano, or else nearest to it.
    """
    found = []
    gone = [interval for interval in written.intervals if interval not in tuned.intervals]
    for interval, step in zip(tuned.intervals, tuned.steps(tuning), strict=True):
        if interval in written.intervals:
            continue
        was = min(gone, key=lambda one: abs(_apart(one, interval)), default=interval)
        gone = [one for one in gone if one != was]
        key = was.quartertones // 2 if was.quartertones % 2 == 0 else round(interval.quartertones / 2)
        off = math.remainder(float(tuning.cents_of(step)) - _CENTS_A_KEY * key, CENTS_PER_OCTAVE)
        found.append((was, off))
    return found


def _apart(one: SpelledInterval, other: SpelledInterval) -> float:
    """Quarter-tones between two intervals, octaves set aside."""
    return math.remainder(one.quartertones - other.quartertones, 24)


def _degree_word(interval: SpelledInterval) -> str:
    """A degree as it is in symbols: 7, ♯9."""
    number = interval.letters + 1
    return f"{'' if number in (3, 7) else Note('C', interval.offset, 4).accidental}{number}"


def harmony_element(chord: Chord | None, text: str | None = None) -> ElementTree.Element:
    """A chord as MusicXML's element ``harmony``; None is the sign that no chord sounds, N.C.

    `text` is what is printed between root and bass, unless it is what the chord's own symbol has there. Raises
    ValueError for a chord that has no symbol.
    """
    harmony = ElementTree.Element("harmony")
    if chord is None:
        ElementTree.SubElement(ElementTree.SubElement(harmony, "root"), "root-step", text="").text = "C"
        ElementTree.SubElement(harmony, "kind", text="N.C.").text = "none"
        return harmony
    _add_note(harmony, "root", chord.root)
    kind, changes = _nearest_kind(chord.degrees)
    ElementTree.SubElement(harmony, "kind", text=text or symbol_body(chord.degrees, printed=True)).text = kind
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
