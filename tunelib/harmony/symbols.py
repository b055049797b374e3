"""Chord symbols: what jazz players write (common practice), and a few words of our own for what those signs cannot say.

A chord is a root and *degrees*: numbers counted from 1 in letters, each with the half-sharps by which it is wider than
the major or perfect interval of its number. A minor third is (3, -2), a harmonic seventh (7, -3). The whole grammar:

    symbol      root  third  seventh  suspension  fifth and additions  "/" bass
    root, bass  a letter and its accidentals: C, F#, Bb, Ehb
    third       nothing for major; m minor; sub subminor; neu neutral; sup supermajor; dim, aug; 5 for no third at all
    seventh     7 minor; maj7; harm7 the harmonic seventh; mid7 neutral; wide7 supermajor; dim7; 6 and 69 sixths;
                9, 11 or 13 in the place of 7 add what lies between (a 13 leaves the 11 out)
    suspension  sus4, sus2, also with a sign: susb2, sush#4; the third goes
    additions   b5 #5 b9 #9 #11 b13 and their kind, in the place of the plain note; add9, addb13, ... beside it;
                no3, no5, ... take a note out; hb and h# move by half a sharp, bhb and #h# by one and a half
    alt         a 7 without fifth, and with b9 #9 #11 b13

Also read, and printed in the plain way: M7, Δ, Δ7, ma7, Maj7 for maj7; M, maj for major; min, mi, - for m; o or ° for
dim; ø for m7b5; + for aug and for #5; sus for sus4; 6/9 for 69; + and - for # and b before a number; ♯ and ♭; add2 and
#4 for add9 and #11; brackets, commas and spaces around additions. A fifth that alone is altered is printed in brackets,
C(b5), since Cb5 is another chord.
"""

from __future__ import annotations

import difflib
import re
from itertools import product
from typing import NoReturn, TypeAlias

from tunelib.pitch.intervals import shortened
from tunelib.pitch.notes import Note

Degree: TypeAlias = "tuple[int, int]"

THIRDS = {"": 0, "m": -2, "sub": -3, "neu": -1, "sup": 1}
"""Words for the third, and its half-sharps."""
SEVENTHS = {"": -2, "maj": 0, "harm": -3, "mid": -1, "wide": 1, "dim": -4}
"""Words before the 7, and its half-sharps."""
SIGNS = {"bb": -4, "bhb": -3, "b": -2, "hb": -1, "": 0, "h#": 1, "#": 2, "#h#": 3, "x": 4}
"""Signs before a number, and their half-sharps."""

_THIRD_WORD = {offset: word for word, offset in THIRDS.items()}
_SEVENTH_WORD = {offset: word for word, offset in SEVENTHS.items()}
_SIGN = {offset: sign for sign, offset in SIGNS.items()}
ALTERED = frozenset({(1, 0), (3, 0), (7, -2), (9, -2), (9, 2), (11, 2), (13, -2)})
"""The degrees of a 7alt."""
_NUMBERS = (2, 3, 4, 5, 6, 7, 9, 11, 13)

_ROOT = re.compile(r"[A-G](?:h#|hb|½♯|½♭|[#bx♯♭𝄪𝄫])*")
_MAJOR = re.compile(r"[Mm]aj|[Mm]a(?!d)|M(?!in)|[Δ△]")
_MINOR = re.compile(r"[Mm]in|mi(?!d)|m(?!id)|-")
_SEVENTH = re.compile(r"(?:\(?([Mm]aj|[Mm]a|M|Δ|△|harm|mid|wide|dim))?(13|11|9|7)(?!\d)")
_SIXTH = re.compile(r"6(/9|9)?(?!\d)")
_SUSPENSION = re.compile(r"sus(?:([#bhx♯♭½]*)([24])(?!\d))?")
_ADDITION = re.compile(r"(add|no|)((?:h#|hb|½[#b♯♭]|[#bx♯♭+-])*)(13|11|9|7|6|5|4|3|2)(?!\d)")
_AUGMENTED = re.compile(r"\+(?!\d)")
_TRIANGLE = re.compile(r"\(?[Δ△](?!\d)")
_ADDED_SEVENTH = re.compile(r"(?:add)?(?:[Mm]aj7|[Mm]a7|M7|[Δ△]7?)(?!\d)")
_SPELLINGS = str.maketrans({"♯": "#", "♭": "b", "½": "h", "+": "#", "-": "b"})
_LONGEST = 100  # characters
_HELP = "a symbol is built like Cm7, Cneu, C7b9 or Cmaj7/E"


def read_symbol(symbol: str) -> tuple[Note, frozenset[Degree], Note | None]:
    """Root, degrees and bass of a chord symbol; the grammar stands at the head of this module.

    Raises ValueError that points at the character from which it cannot be read, with the nearest symbol.

    >>> root, degrees, bass = read_symbol("Ebm7/Db")
    >>> root.name, sorted(degrees), bass.name
    ('E♭', [(1, 0), (3, -2), (5, 0), (7, -2)], 'D♭')
    """
    text = symbol.rstrip()
    if len(text.lstrip()) > _LONGEST:
        raise ValueError(f"{shortened(symbol)} is not a chord symbol: it has more than {_LONGEST} characters")
    start = len(text) - len(text.lstrip())
    match = _ROOT.match(text, start)
    if match is None:
        raise ValueError(f"{shortened(symbol)} is not a chord symbol: it begins with a letter from A to G, as in Cm7")
    root = _named(match.group(), text, start)
    slash = text.rfind("/", match.end())
    if slash >= 0 and text.startswith("6/9", slash - 1):  # a sixth and a ninth, not a bass
        slash = -1
    bass = None
    if slash >= 0:
        bass_text = text[slash + 1 :].strip()
        if not _ROOT.fullmatch(bass_text):
            after = shortened(bass_text) if bass_text else "nothing"
            raise ValueError(
                f"{shortened(symbol)} cannot be read from character {slash + 2} on: after the slash comes a bass "
                f"note, as in {match.group()}/E, not {after}"
            )
        bass = _named(bass_text, text, slash + 1)
    return root, _Reader(text, match.end(), len(text) if slash < 0 else slash).degrees(), bass


def _named(name: str, text: str, place: int) -> Note:
    try:
        return Note.named(name)
    except ValueError:
        raise ValueError(
            f"{shortened(text)} cannot be read from character {place + 1} on: {shortened(name)} mixes sharps and flats"
        ) from None


class _Reader:
    """Reads what stands between root and bass, from left to right."""

    def __init__(self, text: str, start: int, end: int) -> None:
        self._text, self._start, self._at, self._end = text, start, start, end
        self._found: set[Degree] = {(1, 0)}
        self._fifth: Degree = (5, 0)  # which an altered one replaces
        self._plain_seventh = -2  # what a 7 with no word before it is
        self._open: list[int] = []  # where brackets stand that are not closed yet

    def degrees(self) -> frozenset[Degree]:
        if self._text[self._at : self._end] in ("alt", "7alt", "7(alt)"):
            return ALTERED
        self._triad()
        self._seventh()
        while self._at < self._end:
            self._addition()
        if self._open:
            self._at = self._open[-1]
            self._refuse()
        return frozenset(self._found)

    def _match(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        return pattern.match(self._text, self._at, self._end)

    def _take(self, *words: str) -> bool:
        for word in words:
            if self._text.startswith(word, self._at, self._end):
                self._at += len(word)
                return True
        return False

    def _triad(self) -> None:
        third: int | None = 0
        if self._take("ø"):
            third, self._fifth = -2, (5, -2)
            self._found.add((7, -2))
        elif self._take("dim", "°", "o"):
            third, self._fifth, self._plain_seventh = -2, (5, -2), -4
        elif self._take("aug", "+"):
            self._fifth = (5, 2)
        elif self._take("5"):
            third = None
        elif match := self._match(_MAJOR):
            if not self._match(_SEVENTH) and match.group() not in "Δ△":
                self._at = match.end()
        elif match := self._match(_MINOR):
            self._at, third = match.end(), -2
        else:
            third = next((THIRDS[word] for word in ("sub", "neu", "sup") if self._take(word)), 0)
        self._found.add(self._fifth)
        if third is not None:
            self._found.add((3, third))

    def _seventh(self) -> None:
        if match := self._match(_SIXTH):
            self._found |= {(6, 0), (9, 0)} if match[1] else {(6, 0)}
        elif match := self._match(_SEVENTH):
            word, number = match[1], int(match[2])
            offset = SEVENTHS.get(word, 0) if word else self._plain_seventh  # the other words all mean maj
            self._found |= {(7, offset), *((n, 0) for n in {7: (), 9: (9,), 11: (9, 11), 13: (9, 13)}[number])}
        elif match := self._match(_TRIANGLE):
            self._found.add((7, 0))
        if match:
            if match.group().startswith("("):
                self._open.append(self._at)
            self._at = match.end()

    def _addition(self) -> None:
        apart = self._text[self._at - 1] in "(, "
        if self._take(" ", ","):
            return
        if self._take("("):
            self._open.append(self._at - 1)
            return
        if self._open and self._take(")"):
            self._open.pop()
            return
        if match := self._match(_SUSPENSION):
            self._suspended(match)
        elif (match := self._match(_ADDED_SEVENTH)) and not self._numbered(7):
            self._found.add((7, 0))
        elif match := self._match(_AUGMENTED):  # as in C7+
            self._added("", "#", 5, apart)
        elif match := self._match(_ADDITION):
            self._added(match[1], match[2], int(match[3]), apart)
        else:
            self._refuse()
        self._at = match.end()

    def _suspended(self, match: re.Match[str]) -> None:
        offset = self._offset(match[1] or "")
        self._found -= self._numbered(3)
        self._found.add((int(match[2] or 4), offset))

    def _added(self, word: str, sign: str, number: int, apart: bool) -> None:
        if word == "no":
            if sign or not self._numbered(number):
                self._refuse()
            self._found -= self._numbered(number)
            return
        offset = self._offset(sign)
        number = {2: 9, 4: 11}.get(number, number)
        if number in (3, 7) or not (word or sign or (apart and number > 7)):
            self._refuse()
        if not word:
            self._found -= {self._fifth} if number == 5 else {(number, 0)}
        self._found.add((number, offset))

    def _numbered(self, number: int) -> set[Degree]:
        return {degree for degree in self._found if degree[0] == number}

    def _offset(self, sign: str) -> int:
        offset = SIGNS.get(sign.translate(_SPELLINGS))
        if offset is None:
            self._refuse()
        return offset

    def _refuse(self) -> NoReturn:
        body = self._text[self._start : self._end]
        rest = self._text[self._at : self._end]
        near = difflib.get_close_matches(body, _ordinary_bodies(), n=1, cutoff=0.4)
        hint = f"did you mean {self._text[: self._start].lstrip()}{near[0]}?" if near else _HELP
        raise ValueError(
            f"{shortened(self._text)} cannot be read from character {self._at + 1} on, {shortened(rest)}; {hint}"
        )


def _ordinary_bodies() -> list[str]:
    """What often stands after a root, to find the nearest among."""
    sevenths = [f"{word}7" for word in SEVENTHS if word != "dim"]
    thirds = [f"{third}{seventh}" for third, seventh in product(THIRDS, ["", *sevenths, "6", "69", "9", "maj9", "13"])]
    signs = [f"7{sign}{number}" for sign, number in product(("b", "#", "h#", "hb"), (5, 9, 11, 13))]
    others = (
        "dim dim7 aug 5 sus4 sus2 7sus4 9sus4 13sus4 m7b5 11 m11 maj7#11 7alt add9 madd9 add11 no5 7no5 7b9#9".split()
    )
    return [body for body in (*thirds, *signs, *others) if body]


def symbol_body(degrees: frozenset[Degree]) -> str:
    """What stands after the root in the symbol of a chord of these degrees.

    Raises ValueError for a chord that the grammar has no symbol for, such as one with two thirds.

    >>> symbol_body(frozenset({(1, 0), (3, 0), (5, 0), (7, -3), (9, 0), (11, 1)}))
    'harm9h#11'
    """
    if degrees == ALTERED:
        return "7alt"
    by_number = {number: sorted(offset for n, offset in degrees if n == number) for number in _NUMBERS}
    _refuse_unsayable(degrees, by_number)
    third, seventh = next(iter(by_number[3]), None), next(iter(by_number[7]), None)
    plain = {number: 0 in offsets for number, offsets in by_number.items()}
    sixth = plain[6] and seventh is None
    suspended = bool(by_number[2] or by_number[4])
    words, fifth = _triad_word(by_number[5], third, seventh, sixth or suspended), 0
    said: set[Degree] = {(1, 0)}
    if words == "5":
        said.add((5, 0))
    elif words in ("dim", "aug"):
        fifth = -2 if words == "dim" else 2
    if seventh is not None:
        number = next((n for n in (13, 11) if plain[n] and by_number[9]), 9 if plain[9] else 7)
        words += f"{'' if words == 'dim' else _SEVENTH_WORD[seventh]}{number}"
        said |= {(n, 0) for n in (9, number)}
    elif sixth:
        words += "69" if plain[9] else "6"
        said |= {(6, 0), (9, 0)}
    for number, offset in ((n, offset) for n in (2, 4) for offset in by_number[n]):
        words += f"sus{_SIGN[offset]}{number}"
    if third is None and not suspended and words != "5":
        words += "no3"
    additions = _fifth_words(by_number[5], fifth)
    for number, offset in sorted(degrees - said):
        if number in (6, 9, 11, 13):
            stands_alone = seventh is not None and offset and number > 7 and not plain[number]
            additions.append(f"{'' if stands_alone else 'add'}{_SIGN[offset]}{number}")
    if not words and additions and additions[0][0] in "#bhx":  # which would be taken for the root's accidental
        additions[0] = f"({additions[0]})"
    return words + "".join(additions)


def _refuse_unsayable(degrees: frozenset[Degree], by_number: dict[int, list[int]]) -> None:
    wrong = None
    strange = sorted(degree for degree in degrees if degree != (1, 0) and degree[0] not in _NUMBERS)
    unsigned = sorted(degree for degree in degrees if degree[1] not in _SIGN)
    if strange:
        wrong = f"it has a {strange[0][0]}, and the numbers known are {', '.join(map(str, _NUMBERS))}"
    elif unsigned:
        wrong = f"its {unsigned[0][0]} is altered by {unsigned[0][1]} half-sharps, more than two sharps or flats"
    elif len(by_number[3]) > 1 or len(by_number[7]) > 1:
        wrong = f"it has two {'thirds' if len(by_number[3]) > 1 else 'sevenths'}"
    elif by_number[3] and (by_number[2] or by_number[4]):
        wrong = "a second or fourth beside a third is written as a ninth or eleventh"
    elif by_number[3] and by_number[3][0] not in _THIRD_WORD:
        wrong = "its third is none of the five"
    elif by_number[7] and by_number[7][0] not in _SEVENTH_WORD:
        wrong = "its seventh is none of the six"
    elif by_number[7] == [-4] and by_number[3] not in ([-1], [-2], [-3], [1]):
        wrong = "a diminished seventh stands over a third that is not major"
    if wrong:
        raise ValueError(f"no symbol says such a chord: {wrong}")


def _triad_word(fifths: list[int], third: int | None, seventh: int | None, more: bool) -> str:
    """The word for the third, or for third and fifth where the two have one together."""
    if third is None:
        return "5" if 0 in fifths and seventh is None and not more else ""
    if third == -2 and -2 in fifths and (seventh == -4 or (seventh is None and not more)):
        return "dim"
    if third == 0 and 2 in fifths and seventh is None and not more:
        return "aug"
    return _THIRD_WORD[third]


def _fifth_words(fifths: list[int], implied: int) -> list[str]:
    """Words for the fifths, where the word of the triad implies one already."""
    if not fifths:
        return ["no5"]
    if implied in fifths:
        return [f"add{_SIGN[offset]}5" for offset in fifths if offset != implied]
    return [f"{_SIGN[offset]}5" for offset in fifths]
