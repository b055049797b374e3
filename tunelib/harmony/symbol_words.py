"""The words of chord symbols: one table, for all that is read, printed and proposed.

What each word means to a reader is told at the head of `tunelib.harmony.symbols`. A new word for a third or a seventh,
or a new sign, is one entry in `WORDS` and one word on that page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import NamedTuple, TypeAlias

Degree: TypeAlias = "tuple[int, int]"


class Word(NamedTuple):
    """A word as it is printed, its half-sharps from the major or perfect interval, and how else it is written."""

    printed: str
    half_sharps: int
    also: tuple[str, ...] = ()


class Triad(NamedTuple):
    """A word for third and fifth together, the seventh that a 7 then is (minor if None), and how else it is written."""

    printed: str
    third: int | None
    fifth: int
    seventh: int | None = None
    also: tuple[str, ...] = ()


DEGREE_NUMBERS = (2, 3, 4, 5, 6, 7, 9, 10, 11, 13)
HALF_DIMINISHED = "ø"  # third, fifth and seventh in one sign
SEVENTHS_ALONE = ("Δ", "△", "^")  # other signs for the major seventh, which need no 7
SEVENTH_FIRST = "7M"  # the major seventh, the number before its word
IN_PLACE_OF_7 = {7: (), 9: (9,), 11: (9, 11), 13: (9, 13)}  # and the numbers of the plain degrees that each adds
SIXTHS = {"6": (6,), "69": (6, 9)}  # and the numbers of their plain degrees
SIXTH_AND_NINTH = "6/9"  # for 69: its slash is followed by no bass
SUSPENDED, SUSPENSIONS = "sus", (4, 2)  # the number of the first is not always written
BESIDE, WITHOUT = "add", "no"
ALSO = {SUSPENDED: ("SUS",), BESIDE: ("ADD",), WITHOUT: ("omit", "NO", "OMIT")}  # how else these words are written
WRITTEN_LOW = {2: 9, 4: 11}  # additions an octave above their number
ALTERED = frozenset({(1, 0), (3, 0), (7, -2), (9, -2), (9, 2), (11, 2), (13, -2)})
ALTERED_WORDS = ("7alt", "alt", "7(alt)")
ALTERED_INSTEAD = {(5, 2): (13, -2), (5, -2): (11, 2)}  # a fifth named beside 7alt, and what it takes the place of
AUGMENTED_AFTER = ("+", "aug", "AUG")  # for #5, behind a seventh
PRINTED_SIGNS = {"b": "♭", "#": "♯", "h": "½", "x": "𝄪"}  # each letter of a typed sign, and how it is printed
SHORTHAND = {"-": "b", "+": "#"}  # before a number
ACCIDENTAL = "h#|hb|½♯|½♭|[#bx♯♭𝄪𝄫]"  # of a root: a pattern
SAME_SIGNS = {  # signs that are taken for one another, since they look alike
    "∆": "Δ", "º": "°", "˚": "°", "⁰": "°", "Ø": "ø", "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-",
    **dict(zip("¹²³⁴⁵⁶⁷⁹", "12345679", strict=True)),
}  # fmt: skip
TYPE_INSTEAD = {  # what is written elsewhere and not read here, and what may be meant
    "h": ("m7b5",), "h7": ("m7b5",), "%": ("m7b5",), "%7": ("m7b5",), "7dim": ("dim7",), "dom": ("7",),
    "4": ("sus4", "add11"), "7/4": ("7sus4",), "7/6": ("13",), "7/11": ("11",), "7/13": ("13",), "9/13": ("13",),
    "sus24": ("sus2sus4",), "sus2/4": ("sus2sus4",), "sus47": ("7sus4",), "sus4/7": ("7sus4",), "4sus": ("sus4",),
    "phr": ("7sus4b9",), "phryg": ("7sus4b9",), "phrygian": ("7sus4b9",), "lyd": ("maj7#11",), "lydian": ("maj7#11",),
    "7lyd": ("7#11",), "loc": ("m7b5",), "dor": ("m13", "m6"),
}  # fmt: skip
OFTEN = ("m7b5", "11", "m11", "maj7#11", "add9", "madd9", "add11", "no5", "7no5", "7b9#9")  # often written


@dataclass(frozen=True)
class Words:
    """The words for thirds and triads, those before a 7, and the signs before a number.

    The third of no word is major, the seventh of no word minor, and the note of no sign is the plain one. Raises
    ValueError where a word has two meanings, or a meaning two words, or where a word begins like an accidental.
    """

    thirds: tuple[Word, ...]
    triads: tuple[Triad, ...]
    sevenths: tuple[Word, ...]
    signs: tuple[Word, ...]

    def __post_init__(self) -> None:
        for what, words in (("third", self.thirds), ("seventh", self.sevenths), ("sign", self.signs)):
            _refuse_twice(f"the {what} of", [(f"{word.half_sharps} half-sharps", word.printed) for word in words])
        spellings: list[list[Word | Triad]] = [[*self.thirds, *self.triads], [*self.sevenths], [*self.signs]]
        for family in spellings:
            _refuse_twice("the word", [(repr(way), word.printed) for word in family for way in _ways(word)])
        for way in (way for word in [*spellings[0], *spellings[1]] for way in _ways(word)):
            if sign := re.match(ACCIDENTAL, way):
                raise ValueError(f"the word {way!r} begins like an accidental: C{way} would be read as C{sign[0]}")

    @cached_property
    def third(self) -> dict[int, str]:
        """The word for each third, by its half-sharps."""
        return {word.half_sharps: word.printed for word in self.thirds}

    @cached_property
    def seventh(self) -> dict[int, str]:
        """The word before the 7, by the half-sharps of the seventh."""
        return {word.half_sharps: word.printed for word in self.sevenths}

    @cached_property
    def sign(self) -> dict[int, str]:
        """The typed sign before a number, by its half-sharps."""
        return {word.half_sharps: word.printed for word in self.signs}

    @cached_property
    def seventh_of(self) -> dict[str, int]:
        """The half-sharps of each word before a 7, in whichever way it is written."""
        return {way: word.half_sharps for word in self.sevenths for way in _ways(word)}

    @cached_property
    def triad_of(self) -> dict[str, Triad]:
        """What a symbol can begin with after its root, in whichever way it is written, the longest first."""
        found = {way: Triad(word.printed, word.half_sharps, 0) for word in self.thirds for way in _ways(word)}
        found |= {way: triad for triad in self.triads for way in _ways(triad)}
        found[HALF_DIMINISHED] = Triad(HALF_DIMINISHED, -2, -2, -2)
        return {way: found[way] for way in sorted(found, key=len, reverse=True)}

    def half_sharps(self, sign: str) -> int:
        """How far a sign that a pattern has found moves a note."""
        typed = {printed: letter for letter, printed in PRINTED_SIGNS.items()} | SHORTHAND
        letters = "".join(typed.get(letter, letter) for letter in sign)
        return next(word.half_sharps for word in self.signs if word.printed == letters)

    @cached_property
    def a_sixth(self) -> re.Pattern[str]:
        """The number of a sixth."""
        return re.compile(rf"(?:{_any([*SIXTHS, SIXTH_AND_NINTH])})(?!\d)")

    @cached_property
    def a_seventh(self) -> re.Pattern[str]:
        """A word, if there is one, perhaps after a bracket, and a number in place of 7."""
        return re.compile(rf"(?:\(?({_any(filter(None, self.seventh_of))}))?({_any(IN_PLACE_OF_7)})(?!\d)")

    @cached_property
    def a_seventh_alone(self) -> re.Pattern[str]:
        """A sign that needs no 7, perhaps after a bracket."""
        return re.compile(rf"\(?(?:{_any([*SEVENTHS_ALONE, SEVENTH_FIRST])})(?!\d)")

    @cached_property
    def an_added_seventh(self) -> re.Pattern[str]:
        """A seventh that comes after other additions: the major one, which has a word."""
        words = [way for way, half_sharps in self.seventh_of.items() if half_sharps == 0]
        return re.compile(rf"(?:{_also(BESIDE)})?(?:(?:{_any(words)})7|{_any(SEVENTHS_ALONE)})(?!\d)")

    @cached_property
    def a_suspension(self) -> re.Pattern[str]:
        """Its word, and perhaps a sign and a number, or the number of a seventh."""
        return re.compile(
            rf"(?:{_also(SUSPENDED)})(?:({self._any_sign({})})({_any(SUSPENSIONS)})(?!\d)|(7|9|13)(?!\d))?"
        )

    @cached_property
    def an_addition(self) -> re.Pattern[str]:
        """A word or none, a sign or none, and a number."""
        return re.compile(
            rf"({_also(BESIDE)}|{_also(WITHOUT)}|)({self._any_sign(SHORTHAND)})({_any(DEGREE_NUMBERS)})(?!\d)"
        )

    @cached_property
    def an_augmented_fifth(self) -> re.Pattern[str]:
        """A word for it that stands behind others."""
        return re.compile(rf"(?:{_any(AUGMENTED_AFTER)})(?!\d)")

    @cached_property
    def a_number_after(self) -> re.Pattern[str]:
        """A slash that is followed by no bass but by an addition: by a sign and a number, or a 9."""
        return re.compile(rf"/(?:9|(?!\d)(?:{self._any_sign(SHORTHAND)})(?:{_any(DEGREE_NUMBERS)}))(?!\d)")

    @cached_property
    def a_way_on(self) -> re.Pattern[str]:
        """What can come after the word for a third."""
        more = (self.a_seventh, self.a_seventh_alone, self.an_addition)
        words = (*(way for word, others in ALSO.items() for way in (word, *others)), "+")
        return re.compile("|".join([r"\Z", r"[ ,()\d]", _any(words), *(pattern.pattern for pattern in more)]))

    def _any_sign(self, shorthand: dict[str, str]) -> str:
        """A pattern of any sign or none, each letter as it is typed or printed, or in shorthand."""

        def letter_or(letter: str) -> str:
            short = [other for other, typed in shorthand.items() if typed == letter]
            return f"[{re.escape(''.join([letter, PRINTED_SIGNS.get(letter, ''), *short]))}]"

        longest_first = sorted(self.sign.values(), key=len, reverse=True)
        return "|".join("".join(map(letter_or, sign)) for sign in longest_first)

    @cached_property
    def usual(self) -> tuple[str, ...]:
        """What often comes after a root, to propose when a symbol cannot be read."""
        triads = [triad.printed for triad in self.triads]
        sevenths = [f"{word.printed}7" for word in self.sevenths if word.printed not in triads]
        after_thirds = ("", *sevenths, *SIXTHS, "9", f"{self.seventh[0]}9", "13")
        found = [
            *map("".join, product(self.third.values(), after_thirds)),
            *(f"7{sign}{number}" for sign, number in product(self._signs(far=False), (5, 9, 11, 13))),
            *triads,
            *(f"{triad.printed}7" for triad in self.triads if triad.seventh is not None),
            *(f"{number}{SUSPENDED}{other}" for number, other in product(("", "7", "9", "13"), SUSPENSIONS)),
            ALTERED_WORDS[0],
            *OFTEN,
        ]
        return tuple(body for body in found if body)

    @cached_property
    def rare(self) -> tuple[str, ...]:
        """The same with signs that move a note by more than a sharp or flat."""
        return tuple(f"7{sign}{number}" for sign, number in product(self._signs(far=True), (5, 9, 11, 13)))

    def _signs(self, *, far: bool) -> list[str]:
        return [word.printed for word in self.signs if word.printed and (abs(word.half_sharps) > 2) == far]

    @cached_property
    def examples(self) -> str:
        """What is said where no symbol is near."""
        minor, neutral, major_seventh = self.third[-2], self.third[-1], self.seventh[0]
        return f"a symbol is built like C{minor}7, C{neutral}, C7{self.sign[-2]}9 or C{major_seventh}7/E"


def _ways(word: Word | Triad) -> tuple[str, ...]:
    return (word.printed, *word.also)


def _refuse_twice(what: str, pairs: Iterable[tuple[str, str]]) -> None:
    found: dict[str, str] = {}
    for key, printed in pairs:
        if key in found:
            raise ValueError(f"{what} {key} is in the table twice, as {found[key]!r} and {printed!r}")
        found[key] = printed


def _also(word: str) -> str:
    """A pattern of one of the words for additions, in whichever way it is written."""
    return _any([word, *ALSO[word]])


def _any(words: Iterable[object]) -> str:
    """A pattern of any of some words, the longest first."""
    return "|".join(re.escape(word) for word in sorted(map(str, words), key=len, reverse=True))


WORDS = Words(
    thirds=(
        Word("", 0, ("maj", "Maj", "MAJ", "ma", "Ma", "MA", "M")),
        Word("m", -2, ("min", "Min", "MIN", "mi", "MI", "-")),
        Word("sub", -3),
        Word("neu", -1),
        Word("sup", 1),
    ),
    triads=(
        Triad("dim", -2, -2, seventh=-4, also=("°", "o", "DIM")),
        Triad("aug", 0, 2, also=("+", "AUG")),
        Triad("5", None, 0),
    ),
    sevenths=(
        Word("", -2, ("dom",)),
        Word("maj", 0, ("Maj", "MAJ", "ma", "Ma", "MA", "M", "mj", "j", *SEVENTHS_ALONE)),
        Word("harm", -3),
        Word("mid", -1),
        Word("wide", 1),
        Word("dim", -4),
    ),
    signs=(
        Word("bb", -4),
        Word("bhb", -3),
        Word("b", -2),
        Word("hb", -1),
        Word("", 0),
        Word("h#", 1),
        Word("#", 2),
        Word("#h#", 3),
        Word("x", 4),
    ),
)
"""The table."""
