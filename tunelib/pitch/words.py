"""Numbers and names as sentences and labels print them."""

from __future__ import annotations

import re
from collections.abc import Iterable

MINUS = "−"


def plain(value: float, decimals: int = 1) -> str:
    """A number with up to a given number of decimals, no trailing zeros, and a true minus sign.

    >>> plain(440.0), plain(-31.174, 1), plain(0.25, 2)
    ('440', '−31.2', '0.25')
    """
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", MINUS)


def signed(value: float, decimals: int = 0) -> str:
    """A number with its sign always shown, and a plain 0 for nothing.

    >>> signed(1.955), signed(-31.17), signed(0.2)
    ('+2', '−31', '0')
    """
    text = plain(value, decimals)
    return text if text == "0" or text.startswith(MINUS) else f"+{text}"


def aligned(value: float, decimals: int = 1) -> str:
    """A number with its sign and a fixed number of decimals, for columns; zero has no sign.

    >>> aligned(1.955), aligned(-31.0), aligned(-0.01)
    ('+2.0', '−31.0', '0.0')
    """
    rounded = round(value, decimals)
    return f"{rounded:+.{decimals}f}".replace("-", MINUS) if rounded else f"{0:.{decimals}f}"


def in_hertz(frequency: float, decimals: int = 1) -> str:
    """A frequency with its unit.

    >>> in_hertz(440.0), in_hertz(65.406, 2)
    ('440 Hz', '65.41 Hz')
    """
    return f"{plain(frequency, decimals)} Hz"


def clock(seconds: float, tenths: bool = False) -> str:
    """A time in minutes and the whole seconds that have passed, or the nearest tenth of a second.

    >>> clock(127.98), clock(127.98, tenths=True)
    ('2:07', '2:08.0')
    """
    whole, tenth = divmod(round(10 * seconds) if tenths else 10 * int(seconds), 10)
    return f"{whole // 60}:{whole % 60:02}" + (f".{tenth}" if tenths else "")


_NO_SUCH_SIGN = {"𝄪": "♯♯", "𝄫": "♭♭"}  # which the plotting font does not have


def drawn(name: str) -> str:
    """A note's name as a figure can draw it.

    >>> drawn("C𝄪4"), drawn("E½♭4")
    ('C♯♯4', 'E½♭4')
    """
    for sign, instead in _NO_SUCH_SIGN.items():
        name = name.replace(sign, instead)
    return name


_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufdd0-\ufdef\ufeff"
    + "".join(f"{chr(plane + 0xFFFE)}{chr(plane + 0xFFFF)}" for plane in range(0, 0x110000, 0x10000))
    + "]"
)


def printable(text: str) -> str:
    """A text without the characters that no page and no file can show.

    Those are control characters, halves of characters, and code points that are not characters (XML 1.0, 2.2, with its
    note on what to avoid; a byte order mark is one where it is not at the beginning).

    >>> printable("Saw\\x07dust\\ufffe")
    'Sawdust'
    """
    return _UNPRINTABLE.sub("", text)


def unprintable(text: str) -> tuple[int, str] | None:
    """Where a text first has a character that `printable` takes away, from 0, and what it is called; None if nowhere.

    >>> unprintable("Saw\\x07dust")
    (3, 'the character U+0007')
    """
    found = _UNPRINTABLE.search(text)
    return (found.start(), f"the character U+{ord(found.group()):04X}") if found else None


def cut(text: str, longest: int = 60) -> str:
    """A text as an error message repeats it: on one line; in full, or its beginning if it is long.

    >>> cut("abc " * 3, longest=5)
    'abc a …'
    """
    shown = re.sub(r"\s*\n\s*", " ", text[: 2 * longest])
    return shown if len(shown) <= longest and len(text) <= 2 * longest else f"{shown[:longest]} …"


def ordinal(n: int) -> str:
    """A place in a row, in figures.

    >>> ordinal(1), ordinal(12), ordinal(22)
    ('1st', '12th', '22nd')
    """
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()


def number_in_words(n: int) -> str:
    """A number from 0 to 99 in words, and any other in figures.

    >>> number_in_words(12), number_in_words(31), number_in_words(50)
    ('twelve', 'thirty-one', 'fifty')
    """
    if not 0 <= n < 100:
        return str(n)
    tens, units = divmod(n, 10)
    if tens < 2:
        return _SMALL[n]
    return f"{_TENS[tens - 2]}-{_SMALL[units]}" if units else _TENS[tens - 2]


_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")


def ordinal_in_words(n: int) -> str:
    """A place in a row, in a word up to the sixth and in figures from there.

    >>> ordinal_in_words(3), ordinal_in_words(7)
    ('third', '7th')
    """
    return _ORDINALS[n - 1] if 1 <= n <= len(_ORDINALS) else ordinal(n)


def every(n: int) -> str:
    """How often, in words.

    >>> every(1), every(2), every(7)
    ('every', 'every second', 'every 7th')
    """
    return "every" if n == 1 else f"every {ordinal_in_words(n)}"


_SHARPS = {
    1: "half-sharp", 2: "sharp", 3: "one-and-a-half-sharp", 4: "double sharp", 5: "two-and-a-half-sharp",
    6: "triple sharp",
}  # fmt: skip


def sign_name(half_sharps: int) -> str:
    """What an accidental is called; ``"no sign"`` for that of a natural.

    >>> sign_name(1), sign_name(-3), sign_name(0)
    ('half-sharp', 'one-and-a-half-flat', 'no sign')
    """
    if not half_sharps:
        return "no sign"
    sharp = _SHARPS.get(abs(half_sharps), f"{abs(half_sharps) / 2:g}-fold sharp")
    return sharp if half_sharps > 0 else sharp.replace("sharp", "flat")


def times(n: float, thing: str, decimals: int = 1) -> str:
    """So many of a thing.

    >>> times(1, "beat"), times(2.5, "beat"), times(0.996, "second", 2)
    ('1 beat', '2.5 beats', '1 second')
    """
    count = plain(n, decimals)
    return f"{count} {thing}" if count == "1" else f"{count} {thing}s"


def flat_or_sharp(off: float, decimals: int = 1) -> str:
    """How many cents a note is off, and to which side, as players say it.

    >>> flat_or_sharp(-17.95), flat_or_sharp(0.96, 0), flat_or_sharp(0.04)
    ('17.9 cents flat', '1 cent sharp', 'in tune')
    """
    said = times(abs(off), "cent", decimals)
    return "in tune" if said == "0 cents" else f"{said} {'sharp' if off > 0 else 'flat'}"


def in_runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """Rising whole numbers as runs without a gap: the first and the last of each.

    >>> in_runs([1, 2, 3, 4, 7])
    [(1, 4), (7, 7)]
    """
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1] = runs[-1][0], number
        else:
            runs.append((number, number))
    return runs


def listed(things: Iterable[object], word: str = "and") -> str:
    """One thing or more in a row, with a word before the last.

    >>> listed(["G"]), listed([24, 25, 30], "or")
    ('G', '24, 25 or 30')
    """
    *others, last = map(str, things)
    return f"{', '.join(others)} {word} {last}" if others else last
