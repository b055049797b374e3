"""What a learner typed, made plain before it is read.

``typed.js`` beside this file does the same in a page without Python; a test holds the two beside each other.
"""

from __future__ import annotations

import re

from tunelib.pitch import cut

_MINUS_SIGNS = str.maketrans(dict.fromkeys("−–—‒‐‑﹣－", "-"))
_SIGNS = str.maketrans(
    {**dict.fromkeys("×·⋅∙", "*"), **dict.fromkeys("÷∕⁄", "/"), "∶": ":", "＋": "+", "√": "sqrt", "₂": "2"}
)
_GROUPS = re.compile(r"(?<=\d)[ '’](?=\d{3}(?!\d))")
_PARTS_AS_SIGNS = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_PART_AS_SIGN = re.compile(f"([{''.join(_PARTS_AS_SIGNS)}])")
_WHOLE_AND_PART = re.compile(r"(?<![0-9.,*/^+-])(?<![*/^+-] )([0-9]+) ([0-9]+/[0-9]+)(?![0-9.,])", re.ASCII)
_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_PARTS = {"half": "2", "third": "3", "quarter": "4"}
_POWERS = {"hundred": "100", "thousand": "1000", "million": "1000000"}


def _words(form: str) -> re.Pattern[str]:
    return re.compile(form, re.ASCII | re.IGNORECASE)


_WHOLE = _words(rf"\b(?:({'|'.join(_TENS)})(?:[ -]?({'|'.join(_ONES[1:10])}))?|({'|'.join(_ONES)}))\b")
_HALF = _words(r"\bhalf an? ")
_PART = _words(rf"\b(an?|[0-9]+) ({'|'.join(_PARTS)})s?(?![- ]?(?:steps?|tones?))\b(?: of (?:an?|the)\b)?")
_ONE_POWER = _words(rf"\ban? (?={'|'.join(_POWERS)})")
_POWER = _words(rf"(?<=[0-9]) ({'|'.join(_POWERS)})\b")
# Where a function may come from in Python, and a number right before it.
_PLACE = _words(r"\b(?:math|np|numpy)\.(?=log2|sqrt)")
_TIMES = _words(r"(?<=[0-9)]) ?(?=log2|sqrt)")
# Words for signs between two numbers, "5/4 of 440", and two stars for a power.
_BETWEEN = tuple(
    (re.compile(rf"(?<=[0-9)]) ?(?:{words}) ?(?=[0-9(.,]|log2|sqrt)", re.IGNORECASE), sign)
    for words, sign in (
        ("x|times|multiplied by|of", "*"),
        ("divided by|over", "/"),
        ("plus", "+"),
        ("minus", "-"),
        (r"\*\*", "^"),
    )
)


def tidy(text: object) -> str:
    """One line with single spaces, plain minus signs, and the digits 0 to 9 for those of any script."""
    line = " ".join(str(text).translate(_MINUS_SIGNS).split())
    return re.sub(r"\d", lambda digit: str(int(digit[0])), line)


def gist(text: object) -> str:
    """Words without those that say nothing, an ordinal as its number: what two ways to say one thing have in common.

    >>> gist("In the second."), gist("the 2nd one"), gist("3, 1 and 2")
    ('2', '2', '3 1 2')
    """
    words = re.split(r"[ ,.;]+", tidy(text).lower())
    kept = [word for word in words if word not in _SAYING_NOTHING]
    return " ".join(_ORDINALS.get(word) or re.sub(r"(?<=[0-9])(?:st|nd|rd|th)$", "", word) for word in kept)


_SAYING_NOTHING = ("", "in", "the", "a", "one", "and")
_ORDINALS = {
    word: str(number) for number, word in enumerate(("first", "second", "third", "fourth", "fifth", "sixth"), start=1)
}


def in_digits(line: str) -> str:
    """Numbers in words as figures: whole ones below a hundred, parts, and a hundred, a thousand or a million of them.

    >>> in_digits("thirty-one steps"), in_digits("a third of a comma"), in_digits("ten million")
    ('31 steps', '1/3 comma', '10*1000000')
    """

    def whole(found: re.Match[str]) -> str:
        tens, one, alone = (word and word.lower() for word in found.groups())
        return str(_ONES.index(alone) if alone else 10 * _TENS.index(tens) + 20 + (_ONES.index(one) if one else 0))

    def part(found: re.Match[str]) -> str:
        return f"{found[1] if found[1].isdigit() else 1}/{_PARTS[found[2].lower()]}"

    line = _PART.sub(part, _HALF.sub("1/2 ", _WHOLE.sub(whole, line)))
    return _POWER.sub(lambda found: f"*{_POWERS[found[1].lower()]}", _ONE_POWER.sub("1 ", line))


def tidy_numbers(text: object) -> str:
    """The same without what separates thousands, with figures for words, and with one sign for each kind of sum.

    >>> tidy_numbers("1 000 Hz"), tidy_numbers("5/4 of 440"), tidy_numbers("65.4 × 5"), tidy_numbers("10½")
    ('1000 Hz', '5/4*440', '65.4 * 5', '(10+1/2)')
    """
    parts = _PART_AS_SIGN.sub(lambda found: f" {_PARTS_AS_SIGNS[found[1]]}", tidy(text).translate(_SIGNS))
    line = in_digits(_GROUPS.sub("", _WHOLE_AND_PART.sub(r"(\1+\2)", " ".join(parts.split()))))
    line = _TIMES.sub("*", _PLACE.sub("", line))
    for words, sign in _BETWEEN:
        line = words.sub(sign, line)
    return line


def quoted(text: object) -> str:
    """What was typed, as a reply repeats it: on one line, in full, or its beginning if it is long.

    >>> quoted(" ba  nana ")
    '“ba nana”'
    """
    return f"“{cut(' '.join(str(text).split()))}”"
