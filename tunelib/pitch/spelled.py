"""Spelled intervals: a number of letters and a size, with the names that the trade gives them, neutral ones included.

An interval between two notes is counted in *letters* (a third spans two) and in *quarter-tones* of a keyboard that has
24 of them. Both add up when intervals do, and together they say what is written: C to E♭ and C to D♯ are as many
quarter-tones, and differ by a letter. In a tuning that is spelled by its fifths the pair gives the step, whatever the
tuning: a fifth is 4 letters and 14 quarter-tones, an octave 7 and 24. In thirty-one equal steps the sum is plain:
letters plus quarter-tones.

Names: perfect, major, minor, augmented and diminished as everybody has them. Between them come the neutral
intervals, halfway from minor to major, and beyond them the subminor and supermajor ones, half a sharp outside (common
practice, the last two after Ellis 1885). What is half a sharp wider or narrower than a perfect interval is called super
or sub, after A. D. Fokker (*New Music with 31 Notes*, 1975; from memory) and later writers. Beware: Ellis's "subminor
fifth" is 7/5, an augmented fourth here, and not the sub fifth.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from tunelib.pitch.counts import is_whole
from tunelib.pitch.intervals import shortened
from tunelib.pitch.tunings import Tuning
from tunelib.pitch.words import ordinal

NATURAL_QUARTERTONES = (0, 4, 8, 10, 14, 18, 22)
"""Quarter-tones from C up to each letter, and so the size of the major and perfect intervals."""

_NUMBERS = (
    "unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave", "ninth", "tenth", "eleventh",
    "twelfth", "thirteenth", "fourteenth", "fifteenth",
)  # fmt: skip
_PERFECT = (0, 3, 4)  # letters within the octave whose intervals are perfect
_IMPERFECT_NAMES = {1: "supermajor", 0: "major", -1: "neutral", -2: "minor", -3: "subminor"}
_PERFECT_NAMES = {1: "super", 0: "perfect", -1: "sub"}
_FOLDS = {1: "", 2: "doubly ", 3: "triply "}
_MOST_FOLDS = 5  # as between notes with double sharps and flats: F𝄫 to B𝄪 is a 5-fold augmented fourth
_SHORT = re.compile(r"(-?)(P|M|m|A{1,2}|d{1,2})([1-9]\d{0,2})")
_RANKS = {"perfect": 0, "major": 0, "minor": 0, "neutral": 1, "supermajor": 1, "subminor": 1, "super": 1, "sub": 1}


@dataclass(frozen=True)
class SpelledInterval:
    """An interval as it is written: a number of letters, and a number of quarter-tones of 24 to the octave.

    Both are negative for an interval down. Raises ValueError unless both are whole numbers.

    >>> from tunelib.pitch import equal
    >>> SpelledInterval(2, 7).name, SpelledInterval.parse("subminor seventh").step(equal(31))
    ('neutral third', 25)
    """

    letters: int
    quartertones: int

    def __post_init__(self) -> None:
        for what, value in (("letters", self.letters), ("quarter-tones", self.quartertones)):
            if not is_whole(value):
                raise ValueError(f"the {what} of an interval are a whole number, not {shortened(value)}")

    @classmethod
    def parse(cls, text: str) -> SpelledInterval:
        """Read an interval: in short, such as ``"M3"`` or ``"-P5"``, or in words, such as ``"neutral third"``.

        The short form has P perfect, M major, m minor, A augmented, d diminished (AA and dd doubly so), and a number
        counted from 1; a minus sign, or the word ``down``, makes it go down.

        Raises ValueError, with the text and what would be right, if it is neither.
        """
        if not isinstance(text, str):
            raise ValueError(f"{shortened(text)} is not an interval: {_HELP}")
        return _parsed(text)

    @property
    def _down(self) -> bool:
        return self.letters < 0 or (self.letters == 0 and self.quartertones < 0)

    @property
    def offset(self) -> int:
        """Quarter-tones by which it is wider than the major or perfect interval of its number."""
        rising = -self if self._down else self
        return rising.quartertones - _natural(rising.letters)

    @property
    def quality(self) -> str:
        """Its quality in words, such as ``"neutral"`` or ``"augmented"``."""
        perfect = abs(self.letters) % 7 in _PERFECT
        names = _PERFECT_NAMES if perfect else _IMPERFECT_NAMES
        if self.offset in names:
            return names[self.offset]
        if self.offset > 0:
            folds, half = divmod(self.offset, 2)
            return f"{'super-' if half else ''}{_fold(folds)}augmented"
        folds, half = divmod(-self.offset - (0 if perfect else 2), 2)
        return f"{'sub-' if half else ''}{_fold(folds)}diminished"

    @property
    def number(self) -> str:
        """Its number in words: ``"third"``, ``"ninth"``."""
        letters = abs(self.letters)
        return _NUMBERS[letters] if letters < len(_NUMBERS) else ordinal(letters + 1)

    @property
    def name(self) -> str:
        """Quality and number in words, such as ``"neutral third"``, with ``down`` behind them if it goes down."""
        return f"{self.quality} {self.number}{' down' if self._down else ''}"

    @property
    def fifths(self) -> float:
        """How far along the chain of fifths it leads: 1 for a fifth, 4 for a major third, 0.5 for a neutral one."""
        return (7 * self.quartertones - 24 * self.letters) / 2

    @property
    def plainness(self) -> tuple[float, ...]:
        """By what plainer names are sorted first: no "augmented" or "diminished", then few fifths, then few letters."""
        return _RANKS.get(self.quality, 2), abs(self.fifths), self.letters

    def step(self, tuning: Tuning) -> int:
        """How many steps of a tuning it spans.

        Raises ValueError if letters mean nothing in the tuning, or if it falls between the steps.
        """
        if tuning.fifth is None:
            raise ValueError(f"the notes of {tuning.name} have no letters; ask for a step by number")
        doubled = (7 * self.quartertones - 24 * self.letters) * tuning.fifth
        if doubled % 2:
            raise ValueError(f"a {self.name} falls between the steps of {tuning.name}, which has no half-sharps")
        return int(doubled // 2 + (7 * self.letters - 2 * self.quartertones) * len(tuning))

    def __add__(self, other: SpelledInterval) -> SpelledInterval:
        return SpelledInterval(self.letters + other.letters, self.quartertones + other.quartertones)

    def __neg__(self) -> SpelledInterval:
        return SpelledInterval(-self.letters, -self.quartertones)

    def __sub__(self, other: SpelledInterval) -> SpelledInterval:
        return self + -other

    def __str__(self) -> str:
        return self.name


_HELP = "write it in short, such as M3, -m6, P5 or A4, or in words, such as neutral third"


def _natural(letters: int) -> int:
    octaves, letter = divmod(letters, 7)
    return 24 * octaves + NATURAL_QUARTERTONES[letter]


def _fold(times: int) -> str:
    return _FOLDS.get(times, f"{times}-fold ")


@lru_cache(maxsize=1024)
def _parsed(text: str) -> SpelledInterval:
    plain = text.strip()
    match = _SHORT.fullmatch(plain)
    if match:
        return _from_short(text, *match.groups())
    words = " ".join(plain.lower().split())
    downwards = words.endswith(" down")
    found = _by_name().get(words.removesuffix(" down"))
    if found is None:
        raise ValueError(f"{shortened(text)} is not an interval: {_HELP}")
    return -found if downwards else found


def _from_short(text: str, sign: str, quality: str, number: str) -> SpelledInterval:
    letters = int(number) - 1
    perfect = letters % 7 in _PERFECT
    if (quality in ("M", "m") and perfect) or (quality == "P" and not perfect):
        right = "P, A or d" if perfect else "M, m, A or d"
        raise ValueError(
            f"{shortened(text)} is not an interval: a {ordinal(int(number))} takes {right}, "
            f"such as {'P' if perfect else 'M'}{number}"
        )
    size = _natural(letters)
    if quality == "m":
        size -= 2
    elif quality[0] == "A":
        size += 2 * len(quality)
    elif quality[0] == "d":
        size -= 2 * len(quality) + (0 if perfect else 2)
    found = SpelledInterval(letters, size)
    return -found if sign else found


@lru_cache(maxsize=1)
def _by_name() -> dict[str, SpelledInterval]:
    """Every interval of up to two octaves by its name in words."""
    found: dict[str, SpelledInterval] = {}
    for letters in range(len(_NUMBERS)):
        for offset in range(-2 * _MOST_FOLDS - 3, 2 * _MOST_FOLDS + 2):
            interval = SpelledInterval(letters, _natural(letters) + offset)
            found.setdefault(interval.name, interval)
    for number in ("unison", "fourth", "fifth", "octave", "eleventh", "twelfth", "fifteenth"):  # as everybody says
        found[number] = found[f"perfect {number}"]
    return found


def interval_names(step: int, tuning: Tuning) -> tuple[SpelledInterval, ...]:
    """The spelled intervals that span a number of steps, the plainest first.

    Of simple names (nothing doubly augmented or diminished) those without "augmented" and "diminished" come first. In
    thirty-one equal steps the first names part the octave into families: five seconds, five thirds, and so on.

    Parameters
    ----------
    step : int
        0 or more.
    tuning : Tuning
        One whose notes have letters.

    Raises ValueError for a negative step, or a tuning without letters.

    >>> from tunelib.pitch import equal
    >>> [interval.name for interval in interval_names(11, equal(31))]
    ['supermajor third', 'diminished fourth']
    """
    if not is_whole(step) or step < 0:
        raise ValueError(f"an interval spans a whole number of steps, 0 or more, not {shortened(step)}")
    octaves, degree = divmod(int(step), len(tuning))
    within = _names_within(tuning)
    return tuple(
        SpelledInterval(near.letters + 7 * octaves, near.quartertones + 24 * octaves) for near in within.get(degree, ())
    )


@lru_cache(maxsize=64)
def _names_within(tuning: Tuning) -> dict[int, tuple[SpelledInterval, ...]]:
    ranked: dict[int, list[tuple[tuple[float, ...], SpelledInterval]]] = {}
    for letters in range(8):
        perfect = letters % 7 in _PERFECT
        for offset in range(-2 if perfect else -4, 3):
            interval = SpelledInterval(letters, _natural(letters) + offset)
            try:
                step = interval.step(tuning)
            except ValueError:
                if tuning.fifth is None:
                    raise
                continue
            if 0 <= step < len(tuning) and interval.quartertones >= 0:
                ranked.setdefault(step, []).append((interval.plainness, interval))
    return {
        step: tuple(interval for _, interval in sorted(pairs, key=lambda pair: pair[0]))
        for step, pairs in ranked.items()
    }
