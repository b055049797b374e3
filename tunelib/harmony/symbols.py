"""Chord symbols: what jazz players write (common practice), and a few words of our own for what those signs cannot say.

A chord is a root and *degrees*: numbers counted from 1 in letters, each with the half-sharps by which it is wider than
the major or perfect interval of its number. A minor third is (3, -2), a harmonic seventh (7, -3). The whole grammar:

    symbol      root  third  seventh  suspension  fifth and additions  "/" bass
    root, bass  a letter and its accidentals: C, F#, Bb, Ehb; in brackets steps of the tuning beside them: E[-1]
    third       nothing for major; m minor; sub subminor; neu neutral; sup supermajor; dim, aug; 5 for no third at all
    seventh     7 minor; maj7; harm7 the harmonic seventh; mid7 neutral; wide7 supermajor; dim7; 6 and 69 sixths;
                9, 11 or 13 in place of 7 add what comes between (a 13 leaves the 11 out)
    suspension  sus4, sus2, also with a sign: susb2, sush#4; the third goes
    additions   b5 #5 b9 #9 #11 b13 and their kind, in place of the plain note; add9, addb13, ... beside it;
                b10 a minor third above a major one, where the melody has that and no #9;
                no3, no5, ... take a note out; hb and h# move by half a sharp, bhb and #h# by one and a half, bb and x
                by two sharps
    7alt        a 7 without fifth, and with b9 #9 #11 b13

Also read, and printed in the plain way:

    for maj7    M7, Maj7, MAJ7, ma7, Ma7, MA7, mj7, j7, 7M, Δ, Δ7, △, △7, ^, ^7
    for 7       dom7
    for major   M, maj, Maj, MAJ, ma, Ma, MA
    for m       min, Min, MIN, mi, MI, -
    for dim     o, °, DIM
    for aug     +, AUG, which is also #5
    for m7b5    ø
    for mmaj9   m9(maj7)
    for sus4    sus, SUS
    for 7sus4   sus7
    for 69      6/9
    for 7#5     7aug
    for 7b9     7/b9
    for 9       7/9
    for 7alt    alt, 7(alt), 7alt(b9)
    for 7no3    7omit3, 7NO3, 7OMIT3
    for signs   ♯, ♭, ½ and 𝄪 for #, b, h and x; before a number + and - for # and b
    for add9    2, ADD9, add2, and #4 for #11, and their kind

and what is of a kind with these: m11(maj7), sus9, 7/#11. A #5 or b5 named beside 7alt takes the place of its b13 or
#11. Signs that look alike are one: a minus or a dash is a hyphen, Ø is ø, ∆ is Δ, a raised 7 is a 7. Additions may have
brackets, commas and spaces around them. A fifth that alone is altered is printed in brackets, C(b5): Cb5 is a fifth on
C flat, and C#5 one on C sharp. What others write and is not read here, such as Ch7, H7 or Cphryg, is refused with what
to type instead. The words are kept in one table, `tunelib.harmony.symbol_words`.
"""

from __future__ import annotations

import difflib
import re
from typing import NoReturn

from tunelib.harmony.symbol_words import (
    ACCIDENTAL,
    ALSO,
    ALTERED,
    ALTERED_INSTEAD,
    ALTERED_WORDS,
    BESIDE,
    DEGREE_NUMBERS,
    HALF_DIMINISHED,
    IN_PLACE_OF_7,
    PRINTED_SIGNS,
    SAME_SIGNS,
    SIXTH_AND_NINTH,
    SIXTHS,
    SUSPENDED,
    SUSPENSIONS,
    TYPE_INSTEAD,
    WITHOUT,
    WORDS,
    WRITTEN_LOW,
    Degree,
    Triad,
)
from tunelib.pitch import MINUS, Note, listed, shortened

__all__ = ["ALTERED", "Degree", "has_word", "note_of_root", "read_symbol", "root_word", "symbol_body"]

_ROOT = re.compile(rf"[A-G](?:{ACCIDENTAL})*(?:\[[+{MINUS}-][1-9]\d{{0,3}}\])?")
_ENDING = re.compile(rf"[+{MINUS}-]\d+$")
_ONE_SIGN = str.maketrans(SAME_SIGNS)
_LONGEST = 100  # characters
_MINOR = -2  # half-sharps of a third; before maj7 its m is set off by brackets in print, as players have it
_UNBRACKETED = str.maketrans("", "", "[]")


def read_symbol(symbol: str) -> tuple[Note, frozenset[Degree], Note | None]:
    """Root, degrees and bass of a chord symbol; the grammar is at the head of this module.

    Raises ValueError that points at the character from which it cannot be read, with the nearest symbol.

    >>> root, degrees, bass = read_symbol("Ebm7/Db")
    >>> root.name, sorted(degrees), bass.name
    ('E♭', [(1, 0), (3, -2), (5, 0), (7, -2)], 'D♭')
    """
    text = symbol.rstrip().translate(_ONE_SIGN)
    if len(text.lstrip()) > _LONGEST:
        raise ValueError(f"{shortened(symbol)} is not a chord symbol: it has more than {_LONGEST} characters")
    start = len(text) - len(text.lstrip())
    match = _ROOT.match(text, start)
    if match is None:
        raise ValueError(f"{shortened(symbol)} is not a chord symbol: {_begins_with(text.lstrip())}")
    root = _named(match.group(), text, start)
    slash = text.rfind("/", match.end())
    is_sixth = text.startswith(SIXTH_AND_NINTH, slash - SIXTH_AND_NINTH.index("/"))
    if slash >= 0 and (is_sixth or WORDS.a_number_after.match(text, slash)):
        slash = -1
    bass = None
    if slash >= 0:
        bass_text = text[slash + 1 :].strip()
        if not _ROOT.fullmatch(bass_text):
            after = shortened(bass_text) if bass_text else "nothing"
            hint = _type_instead(match.group(), text[match.end() :])
            raise ValueError(
                f"{shortened(symbol)} cannot be read from character {slash + 2} on: after the slash comes a bass "
                f"note, as in {match.group()}/E, not {after}{hint and f'; {hint}'}"
            )
        bass = _named(bass_text, text, slash + 1)
    return root, _Reader(symbol.rstrip(), text, match.end(), len(text) if slash < 0 else slash).degrees(), bass


def root_word(name: str) -> str:
    """A note's name, typed or printed, as it is in a symbol: its steps are in brackets, or C−1 and 7 would be C−17.

    >>> root_word("Eb"), root_word("E−1")
    ('Eb', 'E[−1]')
    """
    return _ENDING.sub(lambda steps: f"[{steps.group()}]", name)


def note_of_root(word: str) -> Note:
    """The note of a root as it is in a symbol: the inverse of `root_word`.

    Raises ValueError if it is none.

    >>> note_of_root("E[−1]"), note_of_root("D½♯")
    (Note('E4-1'), Note('Dh#4'))
    """
    return Note.named(word.translate(_UNBRACKETED))


def _named(name: str, text: str, place: int) -> Note:
    try:
        return note_of_root(name)
    except ValueError:
        raise ValueError(
            f"{shortened(text)} cannot be read from character {place + 1} on: {shortened(name)} mixes sharps and flats"
        ) from None


def _begins_with(text: str) -> str:
    """What is right where a symbol begins with none of the letters of roots."""
    if text.startswith("H"):
        return f"H is the German name of B, so type {text.replace('H', 'B', 1)}; and Bb for what is B there"
    if _ROOT.match(text[:1].upper()):
        return f"it begins with a capital; did you mean {text[0].upper()}{text[1:]}?"
    return "it begins with a letter from A to G, as in Cm7"


def _type_instead(root: str, body: str) -> str:
    """The hint for what is written elsewhere; empty if there is none."""
    meant = [f"{root}{other}" for other in TYPE_INSTEAD.get(body, ())]
    return f"did you mean {' or '.join(meant)}?" if meant else ""


class _Reader:
    """Reads what comes between root and bass, from left to right."""

    def __init__(self, symbol: str, text: str, start: int, end: int) -> None:
        self._symbol = symbol  # as it was given: of the same length as the text
        self._text, self._start, self._at, self._end = text, start, start, end
        self._found: set[Degree] = {(1, 0)}
        self._fifth: Degree = (5, 0)  # which an altered one replaces
        self._plain_seventh = WORDS.seventh_of[""]  # what a 7 with no word before it is
        self._altered = False  # whether it is a 7alt
        self._may_add_2 = -1  # where a 2 is an addition
        self._implied = False  # whether the seventh is there only because a 9, 11 or 13 is
        self._open: list[int] = []  # where brackets are that are not closed yet

    def degrees(self) -> frozenset[Degree]:
        if self._take(*ALTERED_WORDS):
            self._altered, self._found = True, set(ALTERED)
        else:
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
        word = self._first_word()
        triad = WORDS.triad_of[word]
        self._at += len(word)
        self._fifth = (5, triad.fifth)
        self._found.add(self._fifth)
        if triad.third is not None:
            self._found.add((3, triad.third))
        if triad.seventh is not None:
            self._plain_seventh = triad.seventh
        if word == HALF_DIMINISHED:
            self._found.add((7, self._plain_seventh))
        self._may_add_2 = self._at

    def _first_word(self) -> str:
        """The word for the third, or for third and fifth: the longest after which the symbol can go on.

        It is none where a word for the seventh comes first, as in Cmaj7 and Cmid7.
        """
        match = self._match(WORDS.a_seventh)
        if match and match[1] and not _names_a_triad(match[1]):
            return ""
        words = [word for word in WORDS.triad_of if word and self._text.startswith(word, self._at, self._end)]
        going_on = (word for word in words if WORDS.a_way_on.match(self._text, self._at + len(word), self._end))
        nothing = not words or WORDS.a_way_on.match(self._text, self._at, self._end)
        return next(going_on, "" if nothing else words[0])

    def _seventh(self) -> None:
        if match := self._match(WORDS.a_sixth):
            word = match.group()
            self._found |= {(number, 0) for number in SIXTHS.get(word, (6, 9))}
        elif match := self._match(WORDS.a_seventh_alone):
            self._found.add((7, 0))
        elif match := self._match(WORDS.a_seventh):
            self._stacked(match)
        if match:
            if len(self._numbered(7)) > 1:  # that of a half-diminished chord and another
                self._refuse()
            if match.group().startswith("("):
                self._open.append(self._at)
            self._at = match.end()

    def _stacked(self, match: re.Match[str]) -> None:
        """A seventh, and what a 9, 11 or 13 in its place adds."""
        offset = WORDS.seventh_of[match[1]] if match[1] else self._plain_seventh
        self._found |= {(7, offset), *((number, 0) for number in IN_PLACE_OF_7[int(match[2])])}
        self._implied = match[1] is None and int(match[2]) > 7

    def _addition(self) -> None:
        apart = self._text[self._at - 1] in "(, /"
        if self._take(" ", ",") or (self._match(WORDS.a_number_after) and self._take("/")):
            return
        if self._take("("):
            self._open.append(self._at - 1)
            return
        if self._open and self._take(")"):
            self._open.pop()
            return
        if self._altered and not self._match(WORDS.an_addition):
            self._refuse()
        if match := self._match(WORDS.a_suspension):
            self._suspended(match)
        elif match := self._match(WORDS.an_added_seventh):
            if self._numbered(7) and not self._implied:
                self._refuse()
            self._found = (self._found - self._numbered(7)) | {(7, 0)}
            self._implied = False
        elif match := self._match(WORDS.an_augmented_fifth):
            self._added("", "+", 5, apart)
        elif match := self._match(WORDS.an_addition):
            self._added(match[1], match[2], int(match[3]), apart)
        else:
            self._refuse()
        self._at = match.end()

    def _suspended(self, match: re.Match[str]) -> None:
        self._found -= self._numbered(3)
        self._found.add((int(match[2] or SUSPENSIONS[0]), WORDS.half_sharps(match[1] or "")))
        if match[3]:
            if self._numbered(7):
                self._refuse()
            self._found |= {(7, self._plain_seventh), *((number, 0) for number in IN_PLACE_OF_7[int(match[3])])}

    def _added(self, word: str, sign: str, number: int, apart: bool) -> None:
        if word in (WITHOUT, *ALSO[WITHOUT]):
            if sign or not self._numbered(number):
                self._refuse()
            self._found -= self._numbered(number)
            return
        if self._altered:
            self._altered_by(word, (number, WORDS.half_sharps(sign)))
            return
        is_2 = number == 2 and self._at == self._may_add_2
        number = WRITTEN_LOW.get(number, number)
        may_be_plain = number != 10 and (word or is_2 or (apart and number > 7))
        if number in (3, 7) or not (sign or may_be_plain):
            self._refuse()
        if not word:
            self._found -= {self._fifth} if number == 5 else {(number, 0)}
        self._found.add((number, WORDS.half_sharps(sign)))

    def _altered_by(self, word: str, degree: Degree) -> None:
        """What is named beside 7alt: one of its own notes, or a fifth that takes the place of one."""
        if word or not (degree in ALTERED or degree in ALTERED_INSTEAD):
            self._refuse()
        self._found = (self._found - {ALTERED_INSTEAD.get(degree)}) | {degree}

    def _numbered(self, number: int) -> set[Degree]:
        return {degree for degree in self._found if degree[0] == number}

    def _refuse(self) -> NoReturn:
        body = self._text[self._start : self._end]
        rest = self._symbol[self._at : self._end]
        root, near = self._text[: self._start].lstrip(), _nearest(body)
        hint = _type_instead(root, body) or (f"did you mean {root}{near}?" if near else WORDS.examples)
        raise ValueError(
            f"{shortened(self._symbol)} cannot be read from character {self._at + 1} on, {shortened(rest)}; {hint}"
        )


def _nearest(body: str) -> str | None:
    """What was probably meant; a usual symbol rather than one with a rare sign, if both are as near."""
    near = difflib.get_close_matches(body, WORDS.usual, n=1, cutoff=0.4)
    near += difflib.get_close_matches(body, WORDS.rare, n=1, cutoff=0.6)
    return max(near, key=lambda one: difflib.SequenceMatcher(None, one, body).ratio(), default=None)


def _names_a_triad(word: str) -> bool:
    """Whether a word alone is read as another triad than the major one."""
    return word in WORDS.triad_of and WORDS.triad_of[word].printed != ""


def has_word(degree: Degree) -> bool:
    """Whether a symbol has a word for a degree.

    >>> has_word((3, -1)), has_word((3, 2))
    (True, False)
    """
    number, offset = degree
    words = {3: WORDS.third, 7: WORDS.seventh}.get(number, WORDS.sign)
    return number in DEGREE_NUMBERS and offset in words


def symbol_body(degrees: frozenset[Degree], *, printed: bool = False) -> str:
    """What comes after the root in the symbol of a chord of these degrees, with typed or with printed signs.

    Raises ValueError for a chord that the grammar has no symbol for, such as one with two thirds.

    >>> degrees = frozenset({(1, 0), (3, 0), (5, 0), (7, -3), (9, 0), (11, 1)})
    >>> symbol_body(degrees), symbol_body(degrees, printed=True)
    ('harm9h#11', 'harm9½♯11')
    """
    if degrees == ALTERED:
        return ALTERED_WORDS[0]
    by_number = {number: sorted(offset for n, offset in degrees if n == number) for number in DEGREE_NUMBERS}
    _refuse_unsayable(degrees, by_number)
    third, seventh = next(iter(by_number[3]), None), next(iter(by_number[7]), None)
    plain = {number: 0 in offsets for number, offsets in by_number.items()}
    sixth = plain[6] and seventh is None
    suspensions = [f"{SUSPENDED}{_sign(offset, printed)}{n}" for n in (2, 4) for offset in by_number[n]]
    triad = _triad(by_number[5], third, seventh, sixth or bool(suspensions))
    words, said = triad.printed, {(1, 0)}
    if seventh is not None:
        number = max(n for n in IN_PLACE_OF_7 if n == 7 or (plain[n] and all(by_number[m] for m in IN_PLACE_OF_7[n])))
        word = f"{'' if seventh == triad.seventh else WORDS.seventh[seventh]}{number}"
        words += f"({word})" if printed and third == _MINOR and seventh == 0 else word
        said |= {(n, 0) for n in IN_PLACE_OF_7[number]}
    elif sixth:
        word = max((word for word in SIXTHS if all(plain[n] for n in SIXTHS[word])), key=len)
        words += word
        said |= {(n, 0) for n in SIXTHS[word]}
    words += "".join(suspensions)
    if third is None and not suspensions and not triad.printed:
        words += f"{WITHOUT}3"
    additions = _fifths(by_number[5], triad.fifth, printed)
    for number, offset in sorted(degrees - said):
        if number in (6, 9, 10, 11, 13):
            replaces = seventh is not None and offset and number > 7 and not plain[number]
            additions.append(f"{'' if replaces else BESIDE}{_sign(offset, printed)}{number}")
    if not words and additions and _is_an_accidental(additions[0]):
        additions[0] = f"({additions[0]})"
    return words + "".join(additions)


def _is_an_accidental(addition: str) -> bool:
    """Whether an addition, written straight after the root, would be taken for the root's accidental."""
    root = _ROOT.match(f"C{addition}")
    return root is not None and root.group() != "C"


def _sign(offset: int, printed: bool) -> str:
    typed = WORDS.sign[offset]
    return "".join(PRINTED_SIGNS.get(letter, letter) for letter in typed) if printed else typed


def _triad(fifths: list[int], third: int | None, seventh: int | None, more: bool) -> Triad:
    """The word for third and fifth where the two have one together, or else for the third."""
    for triad in WORDS.triads:
        usual = seventh == triad.seventh if seventh is not None else not more
        if usual and third == triad.third and triad.fifth in fifths:
            return triad
    return Triad("" if third is None else WORDS.third[third], third, 0)


def _fifths(fifths: list[int], implied: int, printed: bool) -> list[str]:
    """Words for the fifths, where the word of the triad implies one already."""
    if not fifths:
        return [f"{WITHOUT}5"]
    if implied in fifths:
        return [f"{BESIDE}{_sign(offset, printed)}5" for offset in fifths if offset != implied]
    return [f"{_sign(offset, printed)}5" for offset in fifths]


def _refuse_unsayable(degrees: frozenset[Degree], by_number: dict[int, list[int]]) -> None:
    wrong = None
    thirds, sevenths = by_number[3], by_number[7]
    strange = sorted(degree for degree in degrees if degree != (1, 0) and degree[0] not in DEGREE_NUMBERS)
    unsigned = sorted(degree for degree in degrees if degree[0] not in (3, 7) and degree[1] not in WORDS.sign)
    if strange:
        wrong = f"it has a {strange[0][0]}, and the numbers known are {', '.join(map(str, DEGREE_NUMBERS))}"
    elif unsigned:
        wrong = f"its {unsigned[0][0]} is altered by {unsigned[0][1]} half-sharps, and no sign does that"
    elif (10, 0) in degrees:
        wrong = "a tenth without a sign is a third an octave up"
    elif len(thirds) > 1 or len(sevenths) > 1:
        wrong = f"it has two {'thirds' if len(thirds) > 1 else 'sevenths'}"
    elif thirds and (by_number[2] or by_number[4]):
        wrong = "a second or fourth beside a third is written as a ninth or eleventh"
    elif thirds and thirds[0] not in WORDS.third:
        wrong = f"its third is none of {listed(word or 'the major' for word in WORDS.third.values())}"
    elif sevenths and sevenths[0] not in WORDS.seventh:
        wrong = f"its seventh is none of {listed(f'{word}7' for word in WORDS.seventh.values())}"
    elif sevenths and _names_a_triad(WORDS.seventh[sevenths[0]]) and not (thirds and WORDS.third[thirds[0]]):
        wrong = f"{WORDS.seventh[sevenths[0]]}7 with a major third, or none, would be read as another chord"
    if wrong:
        raise ValueError(f"no symbol can say such a chord: {wrong}")
