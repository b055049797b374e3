"""Numbers in a text, as digits or as words: 21.5, 5/4, eleven, a fifth of, twice."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_WORDS = dict(zip(_SMALL, range(20), strict=True)) | dict(zip(_TENS, range(20, 100, 10), strict=True))
_WORDS |= {"hundred": 100, "thousand": 1000, "twice": 2}
_PARTS = {
    "half": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "ninth": 9,
    "tenth": 10, "eleventh": 11, "twelfth": 12, "thirteenth": 13, "hundredth": 100, "hundred-and-tenth": 110,
}  # fmt: skip
_CARDINAL = "|".join(word for word in _WORDS if word not in ("zero", "one"))  # "one" is mostly a pronoun
_PART = "|".join(_PARTS)
_NUMBER = re.compile(
    rf"""
      (?<![\w.½♭♯]) (?<![a-z]-) (?P<digits> \d+(?:\.\d+)? (?:/\d+)? )                   # 5/4, 21.5, 2nd; not C4
          (?: st|nd|rd|th|s )? (?![\w½])
    | \b (?P<ordinal> {_PART} ) \b (?= \ harmonic | \ root )                             # the seventh harmonic
    | (?<= every\ ) (?P<every> second | third ) (?= \ peak | [,.] )                      # every second peak
    | \b (?P<part> an?\ (?:{_PART}) \b (?= \ of\b | \ as\b | ,\ a\ quarter )             # a third of, a fifth as
                 | quarter \b (?! s | - ) | half \b (?! - ) )
    | \b (?: a\ )? (?P<cardinal> (?:{_CARDINAL}) (?: [ -] (?: one | {_CARDINAL} ) )* ) \b
    | \b (?P<one> one ) (?= \ (?: step | vibration | cent | semitone )s? \b )
    """,
    re.VERBOSE | re.IGNORECASE,
)
# The two tunings are called by their numbers. Where things are counted it is a number all the same.
_TUNING = re.compile(
    r"\b(?:twelve|thirty-one)\b"
    r"(?!\W*(?:equal|keys|notes|steps|fifths|frets|pitches|rungs|times|such|of them|to the octave))",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Number:
    """A number in a text: where it is, how it is written, and its value with half a unit of its last digit."""

    start: int
    end: int
    text: str
    value: float
    leeway: float


def _in_words(text: str) -> int:
    total = 0
    for word in re.split(r"[ -]", text.lower()):
        total = max(total, 1) * _WORDS[word] if word in ("hundred", "thousand") else total + _WORDS[word]
    return total


def numbers(words: str) -> list[Number]:
    """All numbers of a text, in order."""
    names = {match.start() for match in _TUNING.finditer(words)}
    found = []
    for match in _NUMBER.finditer(words):
        kind, text = match.lastgroup, match[match.lastgroup or 0]
        leeway = 0.0
        if kind == "digits":
            value = float(Fraction(text))
            leeway = 0.0 if "/" in text else 0.5 * 10.0 ** -len(text.partition(".")[2])
        elif kind == "part":
            value = 1 / _PARTS[text.lower().split()[-1]]
        elif kind in ("ordinal", "every"):
            value = float(_PARTS.get(text.lower(), 2))
        else:
            value, leeway = float(_in_words(text)), 0.5
        if match.start() not in names:
            found.append(Number(match.start(), match.end(), match[0], value, leeway))
    return found
